"""A written sentence as it should be said: figures with units in words, quotation marks left out."""

from __future__ import annotations

import re

from intents.numbers import say_number

_UNITS = {
    "°C": ("degree", "degrees"),
    "K": ("degree", "degrees"),
    "mm²": ("square millimetre", "square millimetres"),
    "cm²": ("square centimetre", "square centimetres"),
    "mm": ("millimetre", "millimetres"),
    "m": ("metre", "metres"),
    "min": ("minute", "minutes"),
    "s": ("second", "seconds"),
    "bar": ("bar", "bar"),
    "%": ("percent", "percent"),
    "V": ("volt", "volts"),
    "A": ("amp", "amps"),
    "N": ("newton", "newtons"),
    "kg": ("kilo", "kilos"),
}
_FIGURE = re.compile(
    r"(?<![\w.])(-?\d+(?:\.\d+)?)(?:\s?("
    + "|".join(re.escape(u) for u in sorted(_UNITS, key=len, reverse=True))
    + r")(?!\w))?"
)
_DIGIT_GROUP = re.compile(r"\b\d{4}(?: \d{4})+\b")  # a seal code: digit by digit


def aloud(text: str) -> str:
    """'185 °C: one eight five.' becomes 'one hundred and eighty five degrees: one eight five.'"""
    text = _DIGIT_GROUP.sub(lambda m: ", ".join(" ".join(group) for group in m.group().split()), text)
    said = _FIGURE.sub(_say, text)
    return re.sub(r"(?<!\w)'|'(?!\w)", "", said)


def _say(match: re.Match[str]) -> str:
    value, unit = float(match.group(1)), match.group(2)
    words = say_number(value)
    if unit is None:
        return words
    one, many = _UNITS[unit]
    return f"{words} {one if abs(value) == 1 else many}"
