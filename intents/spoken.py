"""Values put into words for the voice, into digits for the second reading, into signs for the screen.

Rounded for the ear and the eye only; what is computed with is never rounded.
"""

from __future__ import annotations

from collections.abc import Callable

from intents.meaning import QuantityKind
from intents.numbers import say_digits, say_number
from intents.units import EDGE, Unit

_DECIMALS: dict[QuantityKind, int] = {
    "temperature": 1, "temperature_difference": 1, "duration": 0, "pressure": 2, "length": 2, "ratio": 2,
    "voltage": 1, "current": 2, "mass": 2, "section": 2, "count": 0, "tension": 2,
}  # fmt: skip
_SIGNS: dict[QuantityKind, str] = {
    "temperature": " °C", "temperature_difference": " K", "duration": " s", "pressure": " bar", "length": " mm",
    "ratio": " %", "voltage": " V", "current": " A", "mass": " kg", "section": " mm²", "count": "", "tension": " N/mm",
}  # fmt: skip


def edge_value(value_si: float, kind: QuantityKind) -> float:
    """The number in the unit we answer in (°C, bar, mm, s, %, ...), rounded as it is shown."""
    unit = EDGE[kind]
    rounded = round((value_si - unit.after) / unit.scale - unit.before, _DECIMALS[kind])
    return rounded or 0.0  # no 'minus zero'


def speak_quantity(value_si: float, kind: QuantityKind) -> str:
    """'one hundred and eighty five degrees', 'four minutes thirty seconds'."""
    return _with_unit(value_si, kind, say_number)


def speak_digits(value_si: float, kind: QuantityKind) -> str:
    """'one eight five degrees', 'four minutes three zero seconds'."""
    return _with_unit(value_si, kind, say_digits)


def written(value_si: float, kind: QuantityKind) -> str:
    """'185 °C', '4 min 30 s'."""
    value = edge_value(value_si, kind)
    if kind == "duration" and abs(value) >= 60:
        sign, minutes, seconds = _minutes(value)
        return f"{sign}{minutes} min" + (f" {seconds} s" if seconds else "")
    number = f"{value:.{_DECIMALS[kind]}f}"
    return (number.rstrip("0").rstrip(".") if "." in number else number) + _SIGNS[kind]


def said_in(value: float, unit: Unit) -> str:
    """A number with its unit's name, in words: 'three hundred and sixty five degrees fahrenheit'."""
    return f"{say_number(value)} {unit.one if abs(value) == 1 and unit.one else unit.name}".strip()


def _with_unit(value_si: float, kind: QuantityKind, name: Callable[[float], str]) -> str:
    value = edge_value(value_si, kind)
    if kind == "duration" and abs(value) >= 60:
        sign, minutes, seconds = _minutes(value)
        said = f"{'minus ' if sign else ''}{name(minutes)} {'minute' if minutes == 1 else 'minutes'}"
        return said + (f" {name(seconds)} {'second' if seconds == 1 else 'seconds'}" if seconds else "")
    unit = EDGE[kind]
    return f"{name(value)} {unit.one if abs(value) == 1 and unit.one else unit.name}".strip()


def _minutes(value_s: float) -> tuple[str, int, int]:
    minutes, seconds = divmod(round(abs(value_s)), 60)
    return ("-" if value_s < 0 else ""), minutes, seconds
