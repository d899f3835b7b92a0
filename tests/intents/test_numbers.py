"""Number words read and said, against a reference library and in every way people say them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from intents.canonical import canonical
from intents.numbers import readings, say_digits, say_number


def sure(text: str) -> set[float]:
    return {r.value for r in readings(text) if r.sure and r.way != "clock"}


def pairs(n: int) -> str:
    """185 -> 'one eighty five'."""
    tail = n % 100
    return f"{say_number(n // 100)} {'oh ' if tail < 10 else ''}{say_number(tail)}"


@pytest.mark.parametrize("n", range(401))
def test_numbers_to_four_hundred_are_said_as_the_reference_says_them(n: int) -> None:
    # class: peer library -- num2words, British English
    assert say_number(n) == canonical(num2words(n, lang="en_GB"))
    assert sure(num2words(n, lang="en_GB")) == {n}
    assert sure(num2words(n).replace(" and ", " ")) == {n}


@given(st.integers(0, 999_999))
def test_larger_numbers_too(n: int) -> None:
    # class: peer library -- num2words, British English
    assert say_number(n) == canonical(num2words(n, lang="en_GB"))
    assert sure(num2words(n, lang="en_GB")) == {n}


@given(st.integers(0, 40_000))
def test_decimals_are_said_as_the_reference_says_them(hundredths: int) -> None:
    value = hundredths / 100
    words = canonical(num2words(value if hundredths % 100 else hundredths // 100, lang="en_GB"))
    # class: peer library -- num2words, British English
    assert say_number(value) == words
    assert sure(words) == {value}


@given(st.integers(1, 999_999), st.sampled_from([1, 10, 100, 1000]), st.booleans())
def test_what_is_said_is_read_as_the_same(n: int, divided_by: int, negative: bool) -> None:
    value = (-n if negative else n) / divided_by
    assert sure(say_number(value)) == {value}
    if n / divided_by >= 10 or divided_by > 1:
        assert value in {r.value for r in readings(say_digits(value))}


@given(st.integers(101, 999).filter(lambda n: n % 100))
def test_hundreds_in_pairs_are_hundreds(n: int) -> None:
    assert n in sure(pairs(n))


@pytest.mark.parametrize(
    ("said", "value"),
    [
        # class: analytic
        ("one eight five", 185),
        ("one eighty five", 185),
        ("a hundred and eighty five", 185),
        ("hundred and five", 105),
        ("one oh five", 105),
        ("one point eight two", 1.82),
        ("one point oh five", 1.05),
        ("oh point five", 0.5),
        ("nought point five", 0.5),
        ("point five", 0.5),
        ("one eight five point five", 185.5),
        ("one eighty five point five", 185.5),
        ("two and a half", 2.5),
        ("2 and a half", 2.5),
        ("two and three quarters", 2.75),
        ("quarter", 0.25),
        ("a quarter", 0.25),
        ("three quarters", 0.75),
        ("half", 0.5),
        ("two thirds", 2 / 3),
        ("three eighths", 0.375),
        ("two and three eighths", 2.375),
        ("three sixteenths", 0.1875),
        ("two tenths", 0.2),
        ("double two", 22),
        ("one double eight", 188),
        ("triple two", 222),
        ("minus five", -5),
        ("minus oh point five", -0.5),
        ("eighteen hundred and fifty", 1850),
        ("two thousand four hundred", 2400),
        ("1 8 5", 185),
        ("1,6,0", 160),
        ("2 1/2", 2.5),
        ("1/4", 0.25),
        ("2 hundred", 200),
        ("twenty-five", 25),
    ],
)
def test_ways_of_saying_a_number(said: str, value: float) -> None:
    assert list(sure(said)) == pytest.approx([value])


@pytest.mark.parametrize(
    "said",
    ["", "oh", "a", "a couple", "a few", "two and a bit", "third", "one hundred and", "point", "one point", "two point five point one",
     "2.68, 4.694", "1.2.3", "hundred hundred", "twenty eleven hundred", "one and", "double", "double eight double",
     "185 or 190", "three five halves", "1/7", "5/2", "4:75", "1st", "about two", "minus", "minus minus five", "four minus two"],
)  # fmt: skip
def test_what_is_no_number_has_no_reading(said: str) -> None:
    assert sure(said) == set()


def test_a_number_without_its_point_is_only_a_hint() -> None:
    found = {(r.value, r.way) for r in readings("one eighty two")}
    # class: analytic
    assert (1.82, "no point") in found
    assert (182.0, "pairs") in found
    assert not next(r for r in readings("one eighty two") if r.way == "no point").sure


def test_a_comma_can_stand_for_thousands_or_a_point() -> None:
    # class: analytic
    assert sure("1,000") == {1000.0, 1.0}
    assert sure("1,82") == {1.82}


def test_four_thirty_can_be_a_time() -> None:
    # class: analytic
    assert {r.value for r in readings("four thirty") if r.way == "clock"} == {4.5}
    assert {r.value for r in readings("4:30") if r.way == "clock"} == {4.5}
    assert not [r for r in readings("four ninety") if r.way == "clock"]


@given(st.text(max_size=60))
def test_any_text_is_read_without_an_error(text: str) -> None:
    assert isinstance(readings(text), tuple)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1e9])
def test_what_cannot_be_said_is_refused_in_words(value: float) -> None:
    with pytest.raises(ValueError, match="give a finite number"):
        say_number(value)
