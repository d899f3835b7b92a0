"""Values put into words for the voice, into digits for the second reading, into signs for the screen.

Rounded for the ear and the eye only; what is computed with is never rounded.
"""

from __future__ import annotations

from collections.abc import Callable

from intents.meaning import QuantityKind
from intents.numbers import say_digits, say_number
from intents.units import METRE, Unit, edge_unit

_DECIMALS: dict[QuantityKind, int] = {
    "temperature": 1, "temperature_difference": 1, "duration": 0, "pressure": 2, "length": 2, "ratio": 2,
    "voltage": 1, "current": 2, "mass": 2, "section": 2, "count": 0, "tension": 2,
}  # fmt: skip
_SIGNS: dict[QuantityKind, str] = {
    "temperature": " °C", "temperature_difference": " K", "duration": " s", "pressure": " bar", "length": " mm",
    "ratio": " %", "voltage": " V", "current": " A", "mass": " kg", "section": " mm²", "count": "", "tension": " N/mm",
}  # fmt: skip


def edge_value(value_si: float, kind: QuantityKind, unit: str = "") -> float:
    """The number in the unit we answer in (°C, bar, mm, s, %, ... or `unit`), rounded as it is shown."""
    edge = edge_unit(kind, unit)
    rounded = round((value_si - edge.after) / edge.scale - edge.before, _decimals(kind, edge))
    return rounded or 0.0  # no 'minus zero'


def speak_quantity(value_si: float, kind: QuantityKind, unit: str = "") -> str:
    """'one hundred and eighty five degrees', 'four minutes thirty seconds'; in `unit` ('m') if given."""
    return _with_unit(value_si, kind, unit, say_number)


def speak_digits(value_si: float, kind: QuantityKind, unit: str = "") -> str:
    """'one eight five degrees', 'four minutes three zero seconds'; in `unit` ('m') if given."""
    return _with_unit(value_si, kind, unit, say_digits)


def written(value_si: float, kind: QuantityKind, unit: str = "") -> str:
    """'185 °C', '4 min 30 s'; in `unit` ('m'), written as given, if given."""
    value = edge_value(value_si, kind, unit)
    if kind == "duration" and abs(value) >= 60:
        sign, minutes, seconds = _minutes(value)
        return f"{sign}{minutes} min" + (f" {seconds} s" if seconds else "")
    number = f"{value:.{_decimals(kind, edge_unit(kind, unit))}f}"
    return (number.rstrip("0").rstrip(".") if "." in number else number) + (
        f" {unit}" if unit else _SIGNS[kind]
    )


def said_in(value: float, unit: Unit) -> str:
    """A number with its unit's name, in words: 'three hundred and sixty five degrees fahrenheit'."""
    return f"{say_number(value)} {unit.one if abs(value) == 1 and unit.one else unit.name}".strip()


def _decimals(kind: QuantityKind, unit: Unit) -> int:
    return 3 if unit is METRE else _DECIMALS[kind]


def _with_unit(value_si: float, kind: QuantityKind, in_unit: str, name: Callable[[float], str]) -> str:
    value = edge_value(value_si, kind, in_unit)
    if kind == "duration" and abs(value) >= 60:
        sign, minutes, seconds = _minutes(value)
        said = f"{'minus ' if sign else ''}{name(minutes)} {'minute' if minutes == 1 else 'minutes'}"
        return said + (f" {name(seconds)} {'second' if seconds == 1 else 'seconds'}" if seconds else "")
    unit = edge_unit(kind, in_unit)
    return f"{name(value)} {unit.one if abs(value) == 1 and unit.one else unit.name}".strip()


def _minutes(value_s: float) -> tuple[str, int, int]:
    minutes, seconds = divmod(round(abs(value_s)), 60)
    return ("-" if value_s < 0 else ""), minutes, seconds
