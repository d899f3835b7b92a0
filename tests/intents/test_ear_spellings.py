"""Numbers in every spelling that an ear gives them: the same value, or a question; never another one."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words
from text_to_num import alpha2digit, text2num

from intents.canonical import canonical
from intents.meaning import QuantityKind
from intents.number_words import say_digits, say_number
from intents.numbers import readings
from intents.quantities import Ambiguous, OutOfRange, Parsed, parse_quantity
from intents.units import EDGE

ZERO_C_K = 273.15
RANGES: dict[QuantityKind, tuple[float, float, int]] = {
    "temperature": (60, 300, 1), "temperature_difference": (-50, 50, 1), "pressure": (0.1, 10, 2), "length": (0.3, 60, 2),
    "ratio": (0.1, 10, 2), "voltage": (100, 500, 0), "current": (1, 63, 1), "mass": (1, 200, 1), "section": (0.5, 16, 2),
    "count": (1, 999, 0), "tension": (1, 50, 1),
}  # fmt: skip
"""By kind: least and most, and how many decimals people give, in the unit that it is spoken of in."""


def sure(text: str) -> set[float]:
    return {r.value for r in readings(text) if r.sure and r.way != "clock"}


def spellings(value: float) -> list[str]:
    """As recognisers write it: digits, words, words with hyphens, digit by digit, and between other words."""
    words, digits = say_number(value), say_digits(value)
    written = f"{value:g}"
    spaced = " ".join(written).replace(" . ", " point ").replace("- ", "minus ")
    found = [
        written, f"{written}.", f"Enter {written}.", f"It's {written}", f" {written} ", f"uh, {written}", f"{written} please",
        words, words.capitalize() + ".", words.replace(" and ", " "), re.sub(r"(ty) (\w)", r"\1-\2", words), words.replace(" ", "-"),
    ]  # fmt: skip
    if "." in written:
        found += [
            written.replace(".", " point "),
            written.replace(".", ",") if "." in written[-3:] else written,
        ]
        found += [
            f"0{written}"[1:],
            digits,
            spaced,
            words.replace("zero point", "oh point"),
            words.replace("point", "comma"),
        ]
        found += [words.replace("zero point", "point"), words.replace("zero point", "nought point")]
    elif len(written) > 1 and "-" not in written:
        found += [
            digits,
            digits.replace("zero", "oh"),
            spaced,
            spaced + ".",
            ", ".join(written),
            "-".join(written),
            "-".join(digits.split()),
        ]
    return found


@given(data=st.data())
def test_every_spelling_of_a_value_is_that_value(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(sorted(RANGES)))
    low, high, decimals = RANGES[kind]
    value = data.draw(st.integers(int(low * 10**decimals), int(high * 10**decimals))) / 10**decimals
    unit = EDGE[kind]
    for said in spellings(value):
        for tail in ("",) if "please" in said else ("", f" {unit.name}"):
            found = parse_quantity(
                said.rstrip(" .") + tail if tail else said, kind, unit.to_si(low), unit.to_si(high)
            )
            # class: analytic
            if isinstance(found, Parsed):
                assert found.value_si == pytest.approx(unit.to_si(value), rel=1e-9, abs=1e-9), said
            else:  # asked at most, with the value among what is asked for
                assert isinstance(found, Ambiguous), (said, found)
                assert any(
                    o.value_si == pytest.approx(unit.to_si(value), rel=1e-9, abs=1e-9) for o in found.options
                ), said


@given(data=st.data())
def test_a_unit_run_into_its_number_is_read(data: st.DataObject) -> None:
    signs: dict[QuantityKind, tuple[str, ...]] = {
        "temperature": ("°C", "C", "°", " °C", "℃", "c", " deg C"), "pressure": ("bar", " bar."), "length": ("mm", " mm"), "ratio": ("%", " %"),
        "voltage": ("V", " V"), "current": ("A", " A"), "mass": ("kg", " kg"), "section": ("mm²", " mm2"), "tension": ("N/mm", " N/mm"),
    }  # fmt: skip
    kind = data.draw(st.sampled_from(sorted(signs)))
    low, high, decimals = RANGES[kind]
    value = data.draw(st.integers(int(low * 10**decimals), int(high * 10**decimals))) / 10**decimals
    found = parse_quantity(f"{value:g}{data.draw(st.sampled_from(signs[kind]))}", kind)
    assert isinstance(found, Parsed)
    # class: analytic
    assert found.value_si == pytest.approx(EDGE[kind].to_si(value), rel=1e-9)


@given(st.integers(1, 29), st.integers(0, 59), st.data())
def test_every_spelling_of_a_time_is_that_time(minutes: int, seconds: int, data: st.DataObject) -> None:
    m, s = say_number(minutes), say_number(seconds)
    ways = [
        f"{minutes}:{seconds:02}", f"{minutes} min {seconds} s", f"{minutes}m{seconds}s", f"{minutes}m {seconds}s", f"{minutes} min {seconds}",
        f"{minutes}min{seconds}", f"{minutes} minutes, {seconds} seconds.", f"{m} minutes {s}", f"{m} minutes and {s} seconds",
        f"{minutes * 60 + seconds} s", f"{minutes * 60 + seconds} seconds", f"{minutes:02}:{seconds:02}", f"0:{minutes:02}:{seconds:02}",
    ]  # fmt: skip
    if seconds == 30:
        ways += [
            f"{m} and a half minutes",
            f"{minutes}.5 minutes",
            f"{minutes} 1/2 min",
            f"{minutes}½ minutes",
            f"{m} minutes and a half",
        ]
    if 0 < seconds < 10:
        ways += [f"{m} minutes oh {s}"]
    said = data.draw(st.sampled_from(ways))
    found = parse_quantity(said, "duration", 0, 3600)
    assert isinstance(found, Parsed), said
    assert found.value_si == 60 * minutes + seconds, said  # class: analytic


@settings(max_examples=1000)
@given(st.integers(1, 999_999))
def test_words_are_read_as_the_reference_reads_them(n: int) -> None:
    for said in (say_number(n), num2words(n), num2words(n, lang="en_GB")):
        theirs = text2num(said.replace(",", "").replace("-", " "), "en")
        assert sure(said) == {float(theirs)}  # class: peer library -- text2num, English


@pytest.mark.slow
@settings(max_examples=1000)
@given(st.integers(1, 99_999))
def test_decimals_are_read_as_the_reference_reads_them(hundredths: int) -> None:
    said = say_number(hundredths / 100)
    theirs = alpha2digit(said, "en") if hundredths % 100 else text2num(said, "en")
    assert sure(said) == {float(theirs)}  # class: peer library -- text2num, English


@given(st.integers(11, 999_999), st.sampled_from([" ", "-", ", "]))
def test_digits_read_one_by_one_are_the_number_with_these_digits(n: int, between: str) -> None:
    # Two digits with a hyphen may be a range as well.
    assert sure(between.join(str(n))) == (
        set() if between == "-" and n < 100 else {float(n)}
    )  # class: analytic
    assert sure(say_digits(n)) == {float(n)}  # class: analytic


@pytest.mark.parametrize(
    ("heard", "kind", "asked"),
    [
        # class: analytic
        ("2.68, 4.694", "length", [0.00268, 0.004694]),
        ("1.52, 13", "length", [0.0015213, 0.00152, 0.013]),
        ("1.8 2", "length", [0.00182, 0.0018, 0.002]),
        ("18 5", "temperature", [458.15]),
        ("18-5", "temperature", [458.15]),
        ("4-5 minutes", "duration", [240, 300]),
        ("4 – 5 minutes", "duration", [240, 300]),
        ("4...5 minutes", "duration", [240, 300]),
        ("5 - 3 bar", "pressure", [5e5, 3e5]),
        ("2-3 bar", "pressure", [2e5, 3e5]),
        ("10-12 mm", "length", [0.01, 0.012]),
        ("1-2 mm", "length", [0.001, 0.002, 0.012]),
        ("185-190", "temperature", [458.15, 463.15]),
        ("four-five minutes", "duration", [240, 300]),
        ("- 185", "temperature", [458.15]),
        ("180 5", "temperature", [458.15]),
        ("100 85", "temperature", [458.15]),
        ("185, 185", "temperature", [458.15]),
        ("one eight five, one eight five", "temperature", [458.15]),
        ("2. 5", "pressure", [2.5e5]),
        ("two five", "pressure", [2.5e5]),
        ("one eighty two", "length", [0.00182]),
        ("182", "length", [0.0046228]),
        ("430", "duration", [270, 430]),
        ("4.30", "duration", [258, 270]),
        ("four and a half", "duration", [4.5, 270]),
    ],
)  # fmt: skip
def test_a_doubtful_spelling_is_asked_about(heard: str, kind: QuantityKind, asked: list[float]) -> None:
    limits = {
        "temperature": (ZERO_C_K + 60, ZERO_C_K + 230),
        "length": (3e-4, 0.03),
        "pressure": (1e4, 1e6),
        "duration": (0.0, 900.0),
    }
    found = parse_quantity(heard, kind, *limits[kind])
    assert isinstance(found, Ambiguous), found
    assert sorted(o.value_si for o in found.options) == pytest.approx(sorted(asked), rel=1e-9)


@pytest.mark.parametrize(
    ("heard", "kind", "low", "high"),
    [
        ("661-5064", "temperature", ZERO_C_K + 60, ZERO_C_K + 230),
        ("1850", "temperature", ZERO_C_K + 60, ZERO_C_K + 230),
        ("one eight", "temperature", ZERO_C_K + 60, ZERO_C_K + 230),
        ("18", "temperature", ZERO_C_K + 60, ZERO_C_K + 230),
        ("1 8 5 5", "temperature", ZERO_C_K + 60, ZERO_C_K + 230),
        ("12", "pressure", 1e4, 1e6),
        ("2 3 0 0", "voltage", 100, 500),
    ],
)
def test_a_digit_too_many_or_too_few_is_never_taken(
    heard: str, kind: QuantityKind, low: float, high: float
) -> None:
    assert isinstance(parse_quantity(heard, kind, low, high), OutOfRange | Ambiguous)


@pytest.mark.parametrize(
    "heard", ["to hundred", "100 hundred", "1:85", "185 or so", "1.2.3", "a 1/7", "185 to 190", "about 185"]
)
def test_what_is_no_single_number_is_none(heard: str) -> None:
    assert parse_quantity(heard, "temperature") is None


@given(
    st.lists(st.integers(0, 9999), min_size=2, max_size=2),
    st.sampled_from([" ", ", ", "-", "; ", " and ", " or "]),
)
def test_two_numbers_are_never_taken_as_either(pair: list[int], between: str) -> None:
    """What is taken is all that was said: its digits are those of both numbers, in order."""
    said = f"{pair[0]}{between}{pair[1]}"
    digits = re.sub(r"\D", "", canonical(said))
    for reading in readings(said):
        if reading.sure and reading.way not in ("clock", "cardinal"):
            assert f"{reading.value:.0f}" == digits  # class: analytic
