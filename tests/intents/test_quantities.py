"""Values with their units: every way of saying one gives it back, and doubt becomes a question."""

from __future__ import annotations

import math
from typing import get_args

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from intents.meaning import QuantityKind
from intents.numbers import say_digits, say_number
from intents.quantities import (
    Ambiguous,
    OutOfRange,
    Parsed,
    edge_value,
    parse_quantity,
    speak_digits,
    speak_quantity,
    written,
)
from intents.units import EDGE

ZERO_C_K = 273.15
UNITS = pint.UnitRegistry()
PIECES = (
    "one", "two", "five", "eighty", "thirty", "hundred", "and", "a", "half", "point", "oh", "minus", "bar", "mm", "degrees",
    "c", "f", "minutes", "seconds", "m", "of", "an", "inch", "185", "1.8", "4:30", "double", "quarter", "thousand", "psi",
)  # fmt: skip
PINT = {
    "temperature": "degC", "temperature_difference": "kelvin", "duration": "second", "pressure": "bar", "length": "mm",
    "ratio": "percent", "voltage": "volt", "current": "ampere", "mass": "kg", "section": "mm**2", "count": "",
    "tension": "N/mm",
}  # fmt: skip


def value_of(text: str, kind: QuantityKind, low: float = -math.inf, high: float = math.inf) -> float:
    found = parse_quantity(text, kind, low, high)
    assert isinstance(found, Parsed), found
    return found.value_si


@pytest.mark.parametrize(
    ("said", "kind", "value_si"),
    [
        # class: printed -- definitions of the inch, pound and standard gravity (BIPM SI brochure, NIST SP 811)
        ("375 fahrenheit", "temperature", 190.555555556 + ZERO_C_K),
        ("365 fahrenheit", "temperature", 185 + ZERO_C_K),
        ("212 degrees fahrenheit", "temperature", 100 + ZERO_C_K),
        ("minus forty fahrenheit", "temperature", -40 + ZERO_C_K),
        ("minus forty", "temperature", -40 + ZERO_C_K),
        ("50 fahrenheit warmer", "temperature_difference", 27.777777778),
        ("quarter of an inch", "length", 0.00635),
        ("47 thou", "length", 0.0011938),
        ("0.0944882 inches", "length", 0.0024),
        ("29 psi", "pressure", 199948.0),
        ("200 kilopascals", "pressure", 2e5),
        ("0.2 MPa", "pressure", 2e5),
        ("100 pounds per inch", "tension", 17512.684),
        ("100 lbf/in", "tension", 17512.684),
        ("one kgf/cm²", "pressure", 98066.5),
        ("20 degrees fahrenheit", "temperature_difference", 11.111111111),
        ("four minutes thirty", "duration", 270),
    ],
)
def test_units_convert_as_published(said: str, kind: QuantityKind, value_si: float) -> None:
    assert value_of(said, kind) == pytest.approx(value_si, rel=1e-6)


@pytest.mark.parametrize(
    ("unit", "kind", "theirs"),
    [
        ("celsius", "temperature", "degC"), ("fahrenheit", "temperature", "degF"), ("kelvin", "temperature", "kelvin"),
        ("kelvin", "temperature_difference", "kelvin"), ("fahrenheit", "temperature_difference", "delta_degF"),
        ("bar", "pressure", "bar"), ("psi", "pressure", "psi"), ("millibar", "pressure", "millibar"),
        ("kilopascals", "pressure", "kPa"), ("megapascals", "pressure", "MPa"), ("pascals", "pressure", "Pa"),
        ("kgf/cm²", "pressure", "kgf/cm**2"), ("millimetres", "length", "mm"), ("centimetres", "length", "cm"),
        ("metres", "length", "m"), ("inches", "length", "inch"), ("thou", "length", "thou"), ("feet", "length", "foot"),
        ("microns", "length", "micron"), ("seconds", "duration", "s"), ("minutes", "duration", "min"),
        ("hours", "duration", "hour"), ("percent", "ratio", "percent"), ("volts", "voltage", "V"),
        ("kilovolts", "voltage", "kV"), ("amps", "current", "A"), ("milliamps", "current", "mA"), ("kilos", "mass", "kg"),
        ("grams", "mass", "g"), ("pounds", "mass", "pound"), ("tonnes", "mass", "tonne"),
        ("square millimetres", "section", "mm**2"), ("newtons per millimetre", "tension", "N/mm"),
        ("kilonewtons per metre", "tension", "kN/m"), ("pounds per inch", "tension", "lbf/inch"),
    ],
)  # fmt: skip
@given(tenths=st.integers(1, 5000))
def test_every_unit_agrees_with_the_reference(
    unit: str, kind: QuantityKind, theirs: str, tenths: int
) -> None:
    number = tenths / 10
    # class: peer library -- pint
    wanted = UNITS.Quantity(number, theirs).to_base_units().m
    assert value_of(f"{say_number(number)} {unit}", kind) == pytest.approx(wanted, rel=1e-9)
    assert value_of(f"{number} {unit}", kind) == pytest.approx(wanted, rel=1e-9)


@given(st.sampled_from([k for k in get_args(QuantityKind) if k != "duration"]), st.integers(1, 4000))
def test_whatever_way_a_value_is_said_it_comes_back(kind: QuantityKind, n: int) -> None:
    number = float(n) if kind == "count" else n / 10
    value = UNITS.Quantity(number, PINT[kind]).to_base_units().m
    unit = EDGE[kind].name
    ways = [
        f"{say_number(number)} {unit}", f"{say_digits(number)} {unit}", f"{number:g} {unit}", f"it is {number:g} {unit} now",
        speak_quantity(value, kind), speak_digits(value, kind), written(value, kind),
    ]  # fmt: skip
    for way in ways:
        # class: peer library -- pint
        assert value_of(way, kind) == pytest.approx(value, rel=1e-9), way


@given(st.integers(1, 3599))
def test_whatever_way_a_time_is_said_it_comes_back(seconds: int) -> None:
    minutes, rest = divmod(seconds, 60)
    ways = [f"{seconds} seconds", f"{say_number(seconds)} seconds", speak_quantity(seconds, "duration"),
            speak_digits(seconds, "duration"), written(seconds, "duration"), f"{minutes} minutes {rest} seconds",
            f"{say_number(minutes)} minutes and {say_number(rest)} seconds"]  # fmt: skip
    if minutes:
        ways += [f"{minutes}:{rest:02}", f"{say_number(minutes)} minutes {say_number(rest)}"]
    for way in ways:
        # class: analytic
        assert value_of(way, "duration") == seconds, way


@given(st.integers(1, 59), st.integers(10, 59))
def test_minutes_and_seconds_without_a_unit_are_a_time_or_a_question(minutes: int, seconds: int) -> None:
    found = parse_quantity(f"{say_number(minutes)} {say_number(seconds)}", "duration", 0, 3600)
    # class: analytic
    as_time, as_seconds = 60 * minutes + seconds, 100 * minutes + seconds
    if as_seconds > 300:  # nobody counts so far in seconds
        assert isinstance(found, Parsed), found
        assert found.value_si == as_time
    else:
        assert isinstance(found, Ambiguous), found
        assert {o.value_si for o in found.options} == {as_time, as_seconds}


@pytest.mark.parametrize(
    ("said", "kind", "low", "high", "options"),
    [
        # class: analytic
        ("365", "temperature", ZERO_C_K + 60, ZERO_C_K + 230, [185 + ZERO_C_K]),
        ("30", "pressure", 0, 6e5, [206842.72, 30000]),
        ("0.08", "length", 0.0003, 0.03, [0.002032]),
        ("four", "duration", 0, 900, [4, 240]),
        ("two forty", "duration", 0, 900, [160, 240]),
        ("4.30", "duration", 0, 900, [258, 270]),
        ("40 mil", "length", 0.0001, 0.1, [0.04, 0.001016]),
        ("two metres forty", "length", 0.1, 50, [2.4, 2.04]),
        ("two bar five", "pressure", 0, 6e5, [2.5e5]),
        ("one eighty", "pressure", 0, 6e5, [1.8e5]),
        ("2,400", "length", 0.001, 50, [2.4, 0.0024]),
        ("2.4", "length", 0.1, 50, [2.4]),
    ],
)
def test_doubt_becomes_a_question(
    said: str, kind: QuantityKind, low: float, high: float, options: list[float]
) -> None:
    found = parse_quantity(said, kind, low, high)
    assert isinstance(found, Ambiguous), found
    assert sorted(o.value_si for o in found.options) == pytest.approx(sorted(options), rel=1e-6)
    assert found.question.endswith("?")


@pytest.mark.parametrize(
    ("said", "kind", "low", "high", "value"),
    [
        # class: analytic
        ("four", "duration", 30, 900, 240),
        ("two forty", "duration", 0, 200, 160),
        ("four thirty", "duration", 0, 900, 270),
        ("one eighty five", "temperature", ZERO_C_K, ZERO_C_K + 250, 185 + ZERO_C_K),
        ("40 mil", "length", 0.01, 4, 0.04),
        ("40 mil", "length", 0.0003, 0.03, 0.001016),
        ("1,000", "length", 0.0003, 0.03, 0.001),
    ],
)
def test_the_one_reading_in_range_is_taken(
    said: str, kind: QuantityKind, low: float, high: float, value: float
) -> None:
    assert value_of(said, kind, low, high) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("said", "kind", "low", "high", "words"),
    [
        ("210", "temperature", ZERO_C_K + 60, ZERO_C_K + 200, "two hundred degrees is the most"),
        ("50", "temperature", ZERO_C_K + 60, ZERO_C_K + 200, "sixty degrees is the least"),
        ("minus three hundred", "temperature", -math.inf, math.inf, "absolute zero"),
        ("minus one bar", "pressure", -math.inf, 6e5, "zero bar is the least"),
        ("31 mm", "length", 0.0003, 0.03, "thirty millimetres is the most"),
        ("twenty minutes", "duration", 0, 900, "fifteen minutes is the most"),
        ("2.5", "count", 0, 100, "not a whole number"),
        ("four thirty", "temperature", ZERO_C_K, ZERO_C_K + 250, "too high"),
    ],
)
def test_a_value_out_of_range_is_refused_in_words(
    said: str, kind: QuantityKind, low: float, high: float, words: str
) -> None:
    found = parse_quantity(said, kind, low, high)
    assert isinstance(found, OutOfRange), found
    assert words in found.sentence


@pytest.mark.parametrize(
    ("said", "usual", "options"),
    [
        # class: analytic
        ("1.82", (0.0003, 0.012), [0.00182]),
        ("0.08", (0.0003, 0.012), [0.002032, 0.00008]),
        ("47", (0.0003, 0.012), [0.0011938, 0.047]),
        ("60", (0.0003, 0.012), [0.001524, 0.06]),
        ("0.08 mm", (0.0003, 0.012), [0.00008]),
        ("4.2", (0.2, 60.0), [4.2, 0.0042]),
        ("4200", (0.2, 60.0), [4.2]),
        ("99000", (0.2, 60.0), [99.0]),
    ],
)
def test_a_bare_number_that_is_unusual_is_asked_about(
    said: str, usual: tuple[float, float], options: list[float]
) -> None:
    found = parse_quantity(said, "length", 0, 10_000, usual)
    values = (
        [found.value_si] if isinstance(found, Parsed) else [o.value_si for o in getattr(found, "options", ())]
    )
    assert values == pytest.approx(options, rel=1e-9)


def test_a_lead_is_spoken_of_in_metres() -> None:
    # class: analytic
    assert parse_quantity("twenty five", "length", 0, 1000, unit="m") == Parsed(
        25.0, "", "twenty five metres"
    )
    assert value_of("40 mm", "length") == 0.04
    assert speak_quantity(7.5, "length", "m") == "seven point five metres"
    assert speak_digits(25.0, "length", "m") == "two five metres"
    assert written(7.5, "length", "m") == "7.5 m"
    assert edge_value(7.5, "length", "m") == 7.5


@pytest.mark.parametrize("limit_degC", range(20, 260))
def test_the_limits_themselves_are_allowed_and_just_outside_is_not(limit_degC: int) -> None:
    low, high = ZERO_C_K + limit_degC, ZERO_C_K + limit_degC + 5
    assert isinstance(parse_quantity(f"{limit_degC}", "temperature", low, high), Parsed)
    assert isinstance(parse_quantity(f"{limit_degC + 5} celsius", "temperature", low, high), Parsed)
    assert isinstance(parse_quantity(f"{limit_degC - 0.1:.1f} celsius", "temperature", low, high), OutOfRange)
    assert isinstance(parse_quantity(f"{limit_degC + 5.1:.1f} celsius", "temperature", low, high), OutOfRange)


@given(st.text(max_size=50), st.sampled_from(get_args(QuantityKind)))
def test_any_text_is_taken_without_an_error(text: str, kind: QuantityKind) -> None:
    found = parse_quantity(text, kind)
    assert found is None or isinstance(found, Parsed | Ambiguous | OutOfRange)


@given(
    st.lists(
        st.sampled_from(PIECES),
        min_size=1,
        max_size=7,
    ).map(" ".join),
    st.sampled_from(["temperature", "duration", "pressure", "length"]),
)
def test_what_is_taken_lies_in_range(text: str, kind: QuantityKind) -> None:
    low, high = {
        "temperature": (333.15, 503.15), "duration": (10.0, 900.0), "pressure": (1e4, 6e5), "length": (3e-4, 0.03),
    }[kind]  # fmt: skip
    found = parse_quantity(text, kind, low, high)
    values = (
        [found.value_si] if isinstance(found, Parsed) else [o.value_si for o in getattr(found, "options", ())]
    )
    assert all(low * (1 - 1e-8) <= v <= high * (1 + 1e-8) for v in values)


def test_values_are_rounded_for_the_ear_only() -> None:
    # class: analytic
    assert edge_value(190.5555556 + ZERO_C_K, "temperature") == 190.6
    assert written(190.5555556 + ZERO_C_K, "temperature") == "190.6 °C"
    assert speak_quantity(185 + ZERO_C_K, "temperature") == "one hundred and eighty five degrees"
    assert speak_digits(185 + ZERO_C_K, "temperature") == "one eight five degrees"
    assert speak_quantity(270, "duration") == "four minutes thirty seconds"
    assert written(270, "duration") == "4 min 30 s"
    assert speak_quantity(0.00182, "length") == "one point eight two millimetres"
    assert written(100, "count") == "100"
    assert written(-0.00001, "temperature_difference") == "0 K"
