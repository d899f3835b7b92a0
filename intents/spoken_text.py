"""A written sentence as it should be said: figures, units, signs and clock times in words, quotation marks left out."""

from __future__ import annotations

import re

from intents.numbers import say_number
from intents.spoken_units import UNIT, say_unit

_LARGEST = 1e9  # beyond it there are no words: sign by sign, like what a stranger typed
_FIGURE = re.compile(rf"(?<![\w.])(-?\d+(?:\.\d+)?)(?:\s?({UNIT})(?![\w/])|(?!\w))")
_DIGIT_GROUP = re.compile(r"\b\d{4}(?: \d{4})+\b")  # a seal code: digit by digit
_DATE = re.compile(r"\b(\d{4})-(0[1-9]|1[0-2])-([0-2]\d|3[01])(?:\b|T(?=\d))")
_CLOCK = re.compile(r"\b([01]?\d|2[0-4]):([0-5]\d)(?::([0-5]\d))?\b")
_VERSION = re.compile(r"\b\d+(?:\.\d+){2,}\b")
_CLOSE_TO_LETTERS = re.compile(r"\d+")  # what is left: 3D, M8
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_SIGNS = tuple(
    (re.compile(sign), words)
    for sign, words in (
        (r"(?<=\d),(?=\d{3}\b)", ""),  # 1,000
        (r"[−‒﹣－]", "-"),  # every minus that can be typed
        (r"(?<=\d)\s?[-–]\s?(?=\d)", " to "),  # 6-8; a date is taken before
        (r"\s[–—]\s|[–—]", ", "),
        (r"\s?±\s?|\+/-\s?", " plus or minus "),
        (r"\s?\+\s?", " plus "),
        (r"\s?[×·]\s?|(?<=\d)\s?[x*]\s?(?=\d)", " times "),
        (r"\s?≈\s?|(?<!\w)~\s?(?=\d)", " about "),
        (r"\s?(?:≤|<=)\s?", " at most "),
        (r"\s?(?:≥|>=)\s?", " at least "),
        (r"\s?<\s?(?=\d)", " below "),
        (r"\s?>\s?(?=\d)", " above "),
        (r"\s?=\s?", " makes "),
        (r"\s?&\s?", " and "),
        (r"(?<=\d)/(?=\d)", " over "),
        (r"[\"“”«»`*_<>|~^]", " "),
    )
)  # fmt: skip
_AFTER = tuple(
    (re.compile(sign), words)
    for sign, words in (
        (r"\s?%", " percent"),
        (r"\s?°C?", " degrees"),
        (r"(?<=\w)/(?=[A-Za-z])", " or "),  # a way of writing two words; units have had theirs
        (r"\s?/\s?", " over "),
        (r"(?<!\w)['‘]|['’](?!\w)", ""),
        (r"(?<=\w)’(?=\w)", "'"),
        (r"…", "..."),
        (r" {2,}", " "),
        (r" (?=[,.;:!?)](?: |$))", ""),
    )
)


def aloud(text: str) -> str:
    """'185 °C: one eight five.' becomes 'one hundred and eighty five degrees: one eight five.'"""
    said = _DIGIT_GROUP.sub(lambda m: ", ".join(" ".join(group) for group in m.group().split()), text)
    said = _DATE.sub(lambda m: f"{int(m[3])} {_MONTHS[int(m[2]) - 1]} {m[1]} ", said)
    said = _CLOCK.sub(_time, said)
    said = _VERSION.sub(lambda m: m.group().replace(".", " point "), said)
    for sign, words in _SIGNS:
        said = sign.sub(words, said)
    said = _FIGURE.sub(_say, said)
    said = _CLOSE_TO_LETTERS.sub(lambda m: f" {_number(m.group())} ", said)
    for sign, words in _AFTER:
        said = sign.sub(words, said)
    return said.strip()


def _time(match: re.Match[str]) -> str:
    """'twelve thirty', 'four oh five', 'nine o'clock'."""
    hours, minutes, seconds = match.groups()
    if int(minutes) == 0:
        said = f"{say_number(int(hours))} o'clock"
    else:
        said = f"{say_number(int(hours))} {'oh ' if int(minutes) < 10 else ''}{say_number(int(minutes))}"
    return said if seconds is None else f"{said} and {seconds} s"


def _number(figure: str) -> str:
    value = float(figure)
    return say_number(value) if abs(value) < _LARGEST else _sign_by_sign(figure)


def _sign_by_sign(figure: str) -> str:
    names = {"-": "minus", ".": "point"}
    return " ".join(names.get(sign) or say_number(int(sign)) for sign in figure)


def _say(match: re.Match[str]) -> str:
    figure, unit = match.groups()
    words = _number(figure)
    return words if unit is None else f"{words} {say_unit(unit, one=abs(float(figure)) == 1)}"
