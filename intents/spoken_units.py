"""Units as they are written, to words: 'N/mm' is 'newtons per millimetre'."""

from __future__ import annotations

import re

_NAMES = {
    "°C": ("degree", "degrees"),
    "degC": ("degree", "degrees"),
    "K": ("degree", "degrees"),  # a difference, as people say it
    "µm": ("micrometre", "micrometres"),
    "mm": ("millimetre", "millimetres"),
    "cm": ("centimetre", "centimetres"),
    "m": ("metre", "metres"),
    "ms": ("millisecond", "milliseconds"),
    "s": ("second", "seconds"),
    "min": ("minute", "minutes"),
    "h": ("hour", "hours"),
    "bar": ("bar", "bar"),
    "mbar": ("millibar", "millibar"),
    "Pa": ("pascal", "pascals"),
    "kPa": ("kilopascal", "kilopascals"),
    "MPa": ("megapascal", "megapascals"),
    "%": ("percent", "percent"),
    "V": ("volt", "volts"),
    "mV": ("millivolt", "millivolts"),
    "A": ("amp", "amps"),
    "mA": ("milliamp", "milliamps"),
    "Ω": ("ohm", "ohms"),
    "mΩ": ("milliohm", "milliohms"),
    "ohm": ("ohm", "ohms"),
    "W": ("watt", "watts"),
    "kW": ("kilowatt", "kilowatts"),
    "Wh": ("watt hour", "watt hours"),
    "kWh": ("kilowatt hour", "kilowatt hours"),
    "J": ("joule", "joules"),
    "kJ": ("kilojoule", "kilojoules"),
    "MJ": ("megajoule", "megajoules"),
    "N": ("newton", "newtons"),
    "kN": ("kilonewton", "kilonewtons"),
    "g": ("gram", "grams"),
    "kg": ("kilo", "kilos"),
    "l": ("litre", "litres"),
    "Hz": ("hertz", "hertz"),
    "dB": ("decibel", "decibels"),
    "kB": ("kilobyte", "kilobytes"),
    "MB": ("megabyte", "megabytes"),
    "GB": ("gigabyte", "gigabytes"),
    "px": ("pixel", "pixels"),
}
_NAMES |= {
    f"{of}{power}": (f"{word} {one}", f"{word} {many}")
    for of in ("mm", "cm", "m")
    for one, many in (_NAMES[of],)
    for powers, word in (("²2", "square"), ("³3", "cubic"))
    for power in powers
}
_ONE = "|".join(re.escape(unit) for unit in sorted(_NAMES, key=len, reverse=True))
UNIT = rf"(?:{_ONE})(?:/(?:{_ONE})(?:{_ONE})?)?|/(?:{_ONE})"
"""Pattern of one unit: 'mm', 'N/mm', 'W/mK', '/min'. The longest first."""
_BELOW = re.compile(rf"({_ONE})({_ONE})?$")


def say_unit(unit: str, *, one: bool) -> str:
    """The words for what `UNIT` matched. one: after the number one."""
    above, _, below = unit.partition("/")
    said = _NAMES[above][0 if one else 1] if above else ""
    if below and (parts := _BELOW.match(below)):
        said += f" per {' and '.join(_NAMES[part][0] for part in parts.groups() if part)}"
    return said.strip()
