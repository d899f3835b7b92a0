"""Numbers that sound alike are asked for again when both are possible."""

from __future__ import annotations

import pytest

from intents.meaning import QuantityKind
from intents.quantities import Parsed, parse_quantity
from intents.sounds import like_numbers, sound_alike

ZERO_C_K = 273.15
DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
LOW, HIGH = ZERO_C_K, ZERO_C_K + 250


def doubles(
    words: str, kind: QuantityKind = "temperature", low: float = LOW, high: float = HIGH
) -> str | None:
    found = parse_quantity(words, kind, low, high)
    assert isinstance(found, Parsed), found
    asked = sound_alike(words, found.value_si, kind, low, high)
    return asked.question if asked else None


@pytest.mark.parametrize("tail", range(13, 20))
def test_teens_and_tens_are_told_apart_by_digits(tail: int) -> None:
    ten = (tail - 10) * 10
    digits = {n: " ".join(DIGITS[int(d)] for d in str(n)) for n in (tail, ten)}
    assert doubles(str(tail)) == f"{digits[tail]} degrees or {digits[ten]} degrees?"
    assert doubles(str(ten)) == f"{digits[ten]} degrees or {digits[tail]} degrees?"
    assert doubles(str(100 + tail)) is not None
    assert doubles(f"1{ten}") is not None


@pytest.mark.parametrize(
    "words",
    [
        "185",
        "112",
        "121",
        "one five",
        "one five zero",
        "twenty five",
        "one hundred",
        "21",
        "20",
    ],
)
def test_other_numbers_are_not_asked_for(words: str) -> None:
    assert doubles(words) is None


def test_a_double_out_of_range_is_no_doubt() -> None:
    assert doubles("fifteen", low=ZERO_C_K, high=ZERO_C_K + 40) is None
    assert doubles("one eighty", low=ZERO_C_K + 150, high=ZERO_C_K + 230) is None


@pytest.mark.parametrize("words", ["two two", "22", "double two", "two two two", "222"])
def test_a_repeated_digit_may_have_been_lost(words: str) -> None:
    if words == "double two":
        assert doubles(words) is None  # 'double' is clear
    else:
        assert doubles(words) is not None


def test_times_in_steps_of_five_seconds_only() -> None:
    assert doubles("four minutes fifteen", "duration", 0, 900) is not None
    assert doubles("four minutes thirty", "duration", 0, 900) is None
    assert doubles("fifteen minutes", "duration", 0, 900) is None


@pytest.mark.parametrize(
    ("heard", "value"),
    [
        # class: analytic
        ("one ate five", 185),
        ("won eight five", 185),
        ("one for two", 142),
        ("One eighty fife.", 185),
        ("to hundred", 200),
        ("one tree nine degrees", 139),
        ("one hundred and too", 102),
        ("one sicks oh", 160),
    ],
)
def test_words_that_sound_like_numbers_are_asked_for(heard: str, value: float) -> None:
    asked = like_numbers(heard, "temperature", LOW, HIGH)
    assert asked is not None
    assert [o.value_si for o in asked.options] == pytest.approx([value + ZERO_C_K])
    assert parse_quantity(heard, "temperature", LOW, HIGH) is None  # never taken unasked


@pytest.mark.parametrize("heard", ["for you", "to the left", "one eight five", "about one ate five"])
def test_other_words_sound_like_no_number(heard: str) -> None:
    assert like_numbers(heard, "length", 0.0003, 0.03) is None
