"""Units as people at a press say them, and how each becomes SI.

Factors are the exact definitions: inch 25.4 mm, pound 0.45359237 kg, standard gravity
9.80665 m/s2 (so psi 6894.757 Pa, lbf/in 175.1268 N/m).
"""

from __future__ import annotations

from dataclasses import dataclass

from intents.canonical import canonical
from intents.meaning import QuantityKind

_INCH_M = 0.0254
_POUND_KG = 0.45359237
_GRAVITY = 9.80665
_PSI_PA = _POUND_KG * _GRAVITY / _INCH_M**2


@dataclass(frozen=True)
class Unit:
    """SI = (said + before) * scale + after. `name` is how we say the unit; `one` for a single one."""

    name: str
    scale: float
    before: float = 0.0
    after: float = 0.0
    one: str = ""

    def to_si(self, said: float) -> float:
        return (said + self.before) * self.scale + self.after


CELSIUS = Unit("degrees", 1.0, after=273.15, one="degree")
FAHRENHEIT = Unit("degrees fahrenheit", 1 / 1.8, before=-32.0, after=273.15, one="degree fahrenheit")
KELVIN = Unit("kelvin", 1.0)
DEGREE_STEP = Unit("degrees", 1.0, one="degree")
FAHRENHEIT_STEP = Unit("degrees fahrenheit", 1 / 1.8, one="degree fahrenheit")
BAR = Unit("bar", 1e5)
PSI = Unit("psi", _PSI_PA)
KILOPASCAL = Unit("kilopascals", 1e3)
MILLIMETRE = Unit("millimetres", 1e-3, one="millimetre")
INCH = Unit("inches", _INCH_M, one="inch")
THOU = Unit("thou", _INCH_M / 1000)
METRE = Unit("metres", 1.0, one="metre")
SECOND = Unit("seconds", 1.0, one="second")
MINUTE = Unit("minutes", 60.0, one="minute")
HOUR = Unit("hours", 3600.0, one="hour")
PERCENT = Unit("percent", 0.01)
VOLT = Unit("volts", 1.0, one="volt")
AMP = Unit("amps", 1.0, one="amp")
KILO = Unit("kilos", 1.0, one="kilo")
SQUARE_MILLIMETRE = Unit("square millimetres", 1e-6, one="square millimetre")
COUNT = Unit("", 1.0)
NEWTON_PER_MM = Unit("newtons per millimetre", 1e3, one="newton per millimetre")

EDGE: dict[QuantityKind, Unit] = {
    "temperature": CELSIUS, "temperature_difference": DEGREE_STEP, "duration": SECOND, "pressure": BAR,
    "length": MILLIMETRE, "ratio": PERCENT, "voltage": VOLT, "current": AMP, "mass": KILO,
    "section": SQUARE_MILLIMETRE, "count": COUNT, "tension": NEWTON_PER_MM,
}  # fmt: skip
"""The unit meant when none is said, and in which we answer."""

ASKED: dict[QuantityKind, tuple[Unit, ...]] = {
    "temperature": (FAHRENHEIT,), "pressure": (PSI, KILOPASCAL), "length": (INCH, THOU, METRE),
}  # fmt: skip
"""Units to ask about when a bare number cannot be in the edge unit."""

LOWEST: dict[QuantityKind, float] = {
    "temperature": 0.0, "duration": 0.0, "pressure": 0.0, "length": 0.0, "ratio": 0.0, "voltage": 0.0,
    "current": 0.0, "mass": 0.0, "section": 0.0, "count": 0.0, "tension": 0.0,
}  # fmt: skip
"""What nature allows (SI; pressure is gauge): nothing lower is ever taken."""


def _said(table: dict[Unit, str]) -> dict[str, tuple[Unit, ...]]:
    """'a, b' -> each saying with its unit; a saying given to two units is ambiguous and keeps both."""
    said: dict[str, tuple[Unit, ...]] = {}
    for unit, sayings in table.items():
        for saying in sayings.split(", "):
            said[saying] = (*said.get(saying, ()), unit)
    return said


_MILLIMETRES = "mm, millimetre, millimetres, millimeter, millimeters, milli metres, mil, mils, mills"

SAID: dict[QuantityKind, dict[str, tuple[Unit, ...]]] = {
    "temperature": _said(
        {
            CELSIUS: "c, celsius, centigrade, degrees c, degrees celsius, degrees centigrade, degree celsius, "
            "degree c, deg c, celsius degrees, centigrade degrees",
            FAHRENHEIT: "f, fahrenheit, degrees f, degrees fahrenheit, degree fahrenheit, degree f, deg f",
            KELVIN: "k, kelvin, kelvins, degrees kelvin, degrees k",
        }
    ),
    "temperature_difference": _said(
        {
            DEGREE_STEP: "k, kelvin, kelvins, degree, degrees, deg, c, celsius, centigrade, degrees c, "
            "degrees celsius, degrees centigrade, degrees kelvin",
            FAHRENHEIT_STEP: "f, fahrenheit, degrees f, degrees fahrenheit, degree fahrenheit",
        }
    ),
    "duration": _said(
        {
            SECOND: "s, sec, secs, second, seconds",
            MINUTE: "m, min, mins, minute, minutes",
            HOUR: "h, hr, hrs, hour, hours",
        }
    ),
    "pressure": _said(
        {
            BAR: "bar, bars",
            Unit("millibar", 100.0): "mbar, millibar, millibars",
            PSI: "psi, p s i, pounds, pounds per square inch, pound per square inch",
            KILOPASCAL: "kpa, k p a, kilopascal, kilopascals, kilo pascal, kilo pascals",
            Unit("megapascals", 1e6, one="megapascal"): "mpa, megapascal, megapascals, mega pascal, mega pascals",
            Unit("pascals", 1.0, one="pascal"): "pa, pascal, pascals",
            Unit("kilos per square centimetre", _GRAVITY * 1e4): "kgf cm squared, kgf cm2, kg cm2, "
            "kilos per square centimetre, kilograms per square centimetre, kilos per square centimeter",
        }
    ),
    "length": _said(
        {
            MILLIMETRE: _MILLIMETRES,
            Unit("centimetres", 0.01, one="centimetre"): "cm, centimetre, centimetres, centimeter, centimeters",
            METRE: "m, metre, metres, meter, meters",
            INCH: "in, inch, inches",
            THOU: "thou, thous, thousandth of an inch, thousandths of an inch, thousands of an inch, mil, mils",
            Unit("feet", 12 * _INCH_M, one="foot"): "ft, foot, feet",
            Unit("microns", 1e-6, one="micron"): "micron, microns, micrometre, micrometres",
        }
    ),
    "ratio": _said({PERCENT: "percent, per cent, pct"}),
    "voltage": _said({VOLT: "v, volt, volts", Unit("kilovolts", 1e3, one="kilovolt"): "kv, kilovolt, kilovolts"}),
    "current": _said({AMP: "a, amp, amps, ampere, amperes", Unit("milliamps", 1e-3, one="milliamp"): "ma, milliamp, milliamps"}),
    "mass": _said(
        {
            KILO: "kg, kgs, kilo, kilos, kilogram, kilograms, kilogramme, kilogrammes",
            Unit("grams", 1e-3, one="gram"): "g, gram, grams, gramme, grammes",
            Unit("pounds", _POUND_KG, one="pound"): "lb, lbs, pound, pounds",
            Unit("tonnes", 1e3, one="tonne"): "t, tonne, tonnes",
        }
    ),
    "section": _said(
        {
            SQUARE_MILLIMETRE: "square, squared, mm2, sqmm, sq mm, mm squared, square mm, square millimetre, square millimetres, "
            "square millimeter, square millimeters, millimetres squared, millimetre squared, millimeters squared, mil squared, square mil",
        }
    ),
    "count": _said({COUNT: "times, pieces, piece, notches, notch, pitches, plies, ply, teeth, fingers, bends, off", Unit("dozen", 12.0): "dozen"}),
    "tension": _said(
        {
            NEWTON_PER_MM: "n mm, n per mm, n per millimetre, newton mm, newtons mm, newton per mm, newton per millimetre, newtons per millimetre, newtons per mm, "
            "newtons per millimeter, newton per millimeter, newtons a millimetre, "
            "kn m, kn per m, kilonewton per metre, kilonewtons per metre, kilonewtons per meter",
            Unit("pounds per inch", _POUND_KG * _GRAVITY / _INCH_M): "lbf in, lb in, pounds per inch, "
            "pounds an inch, pound per inch",
        }
    ),
}  # fmt: skip
"""kind -> canonical words -> the unit (two, where one word names two units)."""

BARE = frozenset(("degree", "degrees", "deg"))
"""Said after a temperature, these leave open which degrees: treated as no unit."""


def edge_unit(kind: QuantityKind, unit: str = "") -> Unit:
    """The kind's own unit, or the one written `unit` ('m', 'mm²'). Raises: KeyError, no such unit of this kind."""
    return SAID[kind][canonical(unit)][0] if unit else EDGE[kind]
