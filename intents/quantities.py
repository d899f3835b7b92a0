"""A value with its unit, as people say it, to SI. In doubt it is a question, never a guess.

A bare number is taken in the unit of its kind (°C, bar, mm, percent, ...). Where only another
unit makes sense of it (365 for a temperature, 30 for a pressure, 0.08 for a thickness) that unit
is asked about; a bare duration is asked about whenever minutes and seconds are both possible.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from intents.canonical import canonical
from intents.meaning import QuantityKind
from intents.numbers import Reading, readings
from intents.spoken import edge_value, said_in, speak_digits, speak_quantity, written
from intents.units import ASKED, BARE, EDGE, HOUR, LOWEST, METRE, MILLIMETRE, MINUTE, SAID, SECOND, Unit

__all__ = [
    "Ambiguous", "OutOfRange", "Parsed", "edge_value", "parse_quantity", "speak_digits", "speak_quantity",
    "without_lead_in", "written",
]  # fmt: skip


@dataclass(frozen=True)
class Parsed:
    """One value. unit_said: '' when none was said. words: how to name the value in a question."""

    value_si: float
    unit_said: str
    words: str


@dataclass(frozen=True)
class Ambiguous:
    options: tuple[Parsed, ...]  # one or more, all in range
    question: str


@dataclass(frozen=True)
class OutOfRange:
    value_si: float
    sentence: str


@dataclass(frozen=True)
class _Candidate:
    value_si: float
    words: str
    sure: bool


_LEAD_IN = frozenset((
    "um", "uh", "er", "erm", "ah", "well", "so", "it", "is", "now", "the", "at", "reads", "says", "shows",
    "reading", "that", "to", "be", "enter", "set", "i", "read", "measured", "get",
))  # fmt: skip
_TRAILING = frozenset(("please", "now", "exactly", "sharp", "thanks", "gauge"))
_ARTICLES = (["of", "an"], ["of", "a"], ["of"], ["an"], ["a"])
_LONGEST_UNIT = max(len(saying.split()) for table in SAID.values() for saying in table)
# Set on no press for belts (common practice): 250 °C, 10 bar.
_BEYOND_ANY: dict[QuantityKind, float] = {"temperature": 523.15, "pressure": 1e6}
# Kinds in which people leave out the point: 'one eighty two' for 1.82.
_POINT_LEFT_OUT = frozenset(("length", "pressure", "ratio", "section", "current", "mass", "tension"))
# 'four thirty' is 4:30: nobody counts more than five minutes in seconds that way.
_SECONDS_BY_PAIRS = 300.0


def parse_quantity(
    text: str, kind: QuantityKind, low: float = -math.inf, high: float = math.inf
) -> Parsed | Ambiguous | OutOfRange | None:
    """The value that the whole text says, SI; None when it is not a quantity of this kind.

    low, high: SI, both included. If exactly one sure reading lies between them it is taken; with
    several, or only doubtful ones, the result is the question to put.
    """
    words = without_lead_in(text).split()
    if kind == "temperature_difference" and words[-1:] in (["warmer"], ["hotter"], ["difference"]):
        words = words[:-1]
    segments = _segments(words, kind)
    if segments is None:
        return None
    unit_said = segments[-1][1]
    candidates = _unique(_candidates(segments, kind))
    if not candidates:
        return None
    low = max(low, LOWEST.get(kind, -math.inf))
    fit = [c for c in candidates if _within(c.value_si, low, high)]
    if kind == "count":
        fit = [c for c in fit if c.value_si.is_integer()]
    sure = [c for c in fit if c.sure]
    if len(sure) == 1:
        return Parsed(sure[0].value_si, unit_said, sure[0].words)
    asked = sure or fit
    if (
        not asked
        and len(segments) == 1
        and unit_said in ("", *BARE)
        and _absurd(candidates[0].value_si, kind, low, high)
    ):
        asked = [c for c in _in_other_units(segments[0][0], kind) if _within(c.value_si, low, high)]
    if not asked:
        return OutOfRange(candidates[0].value_si, _refusal(candidates[0], kind, low, high))
    options = tuple(Parsed(c.value_si, unit_said, c.words) for c in _unique(asked))
    return Ambiguous(options, f"Do you mean {' or '.join(option.words for option in options)}?")


def without_lead_in(text: str) -> str:
    """Canonical words without what only introduces or closes a value ('it reads ... now')."""
    words = canonical(text).split()
    while words and words[0] in _LEAD_IN:
        words = words[1:]
    while words and words[-1] in _TRAILING:
        words = words[:-1]
    return " ".join(words)


def _within(value: float, low: float, high: float) -> bool:
    slack = 1e-9 * max(1.0, abs(value))  # 70 °C is 343.15 K on either way of adding
    return low - slack <= value <= high + slack


def _absurd(value_si: float, kind: QuantityKind, low: float, high: float) -> bool:
    """So far out that the unit must be another; a value merely over a limit is refused, not reinterpreted."""
    if kind in _BEYOND_ANY:
        return value_si > _BEYOND_ANY[kind]
    return not low / 2 <= value_si <= 2 * high


def _unique(candidates: Iterator[_Candidate] | list[_Candidate]) -> list[_Candidate]:
    seen: dict[float, _Candidate] = {}
    for candidate in sorted(candidates, key=lambda c: not c.sure):
        if not any(math.isclose(candidate.value_si, value, rel_tol=1e-9) for value in seen):
            seen[candidate.value_si] = candidate
    return list(seen.values())


def _segments(words: list[str], kind: QuantityKind) -> list[tuple[list[str], str]] | None:
    """'four minutes thirty' -> [(['four'], 'minutes'), (['thirty'], '')]; None when there is no number."""
    segments: list[tuple[list[str], str]] = []
    number: list[str] = []
    at = 0
    while at < len(words):
        unit = _unit_at(words, at, kind) if number else ""
        if unit:
            segments.append((number, unit))
            number = []
            at += len(unit.split())
        else:
            number = [*number, words[at]]
            at += 1
    if number:
        segments.append((number, ""))
    return segments or None


def _unit_at(words: list[str], at: int, kind: QuantityKind) -> str:
    for length in range(min(_LONGEST_UNIT, len(words) - at), 0, -1):
        saying = " ".join(words[at : at + length])
        if saying == "a" and at + 1 < len(words):
            continue  # an article, not amps
        if saying in SAID[kind] or (kind == "temperature" and saying in BARE):
            return saying
    return ""


def _number(words: list[str]) -> list[Reading]:
    """Readings of the words before a unit: 'a' minute, 'quarter of an' inch, 'half a' bar."""
    if words in (["a"], ["an"]):
        return [Reading(1.0, "cardinal")]
    for article in _ARTICLES:
        if words[-len(article) :] == article:
            return [r for r in readings(" ".join(words[: -len(article)])) if r.way == "fraction"]
    return list(readings(" ".join(words)))


def _candidates(segments: list[tuple[list[str], str]], kind: QuantityKind) -> Iterator[_Candidate]:
    if len(segments) > 1:
        yield from _compound(segments, kind)
        return
    number, saying = segments[0]
    if not saying or (kind == "temperature" and saying in BARE):
        yield from _bare_duration(number) if kind == "duration" else _bare(number, kind)
        return
    for unit in SAID[kind][saying]:
        for reading in _number(number):
            if reading.way == "clock" and unit not in (MINUTE, HOUR):
                continue
            yield _candidate(reading, unit, kind)


def _candidate(reading: Reading, unit: Unit, kind: QuantityKind, sure: bool = True) -> _Candidate:
    value = unit.to_si(reading.value)
    if reading.way == "clock":
        value = float(round(value))  # minutes and seconds are whole
    in_parts = kind == "duration" and unit is not SECOND
    words = speak_quantity(value, kind) if in_parts else said_in(reading.value, unit)
    return _Candidate(value, words, sure and reading.sure)


def _bare(number: list[str], kind: QuantityKind) -> Iterator[_Candidate]:
    for reading in readings(" ".join(number)):
        if reading.way != "clock" and (reading.way != "no point" or kind in _POINT_LEFT_OUT):
            yield _candidate(reading, EDGE[kind], kind)


def _in_other_units(number: list[str], kind: QuantityKind) -> Iterator[_Candidate]:
    found = readings(" ".join(number))
    has_clock = any(r.way == "clock" for r in found)
    for unit in ASKED.get(kind, ()):
        for reading in found:
            # 'four thirty' is a time, whatever was asked for.
            if reading.sure and reading.way != "clock" and not (has_clock and reading.way == "pairs"):
                yield _candidate(reading, unit, kind, sure=False)


def _bare_duration(number: list[str]) -> Iterator[_Candidate]:
    found = list(readings(" ".join(number)))
    if len(number) == 1 and (clock := re.fullmatch(r"(\d{1,2})([0-5]\d)", number[0])) and number[0][0] != "0":
        found.append(
            Reading(int(clock[1]) + int(clock[2]) / 60, "clock")
        )  # 'four thirty', written 430 by some
    has_clock = any(r.way == "clock" for r in found)
    for reading in found:
        if reading.way == "clock":
            yield _candidate(reading, MINUTE, "duration")
        if reading.way in ("clock", "no point"):
            continue
        as_clock = not reading.value.is_integer() or (
            reading.way == "pairs" and reading.value > _SECONDS_BY_PAIRS
        )
        if not (has_clock and as_clock):
            yield _candidate(reading, SECOND, "duration")
        if reading.way != "pairs":
            yield _candidate(reading, MINUTE, "duration")


def _compound(segments: list[tuple[list[str], str]], kind: QuantityKind) -> Iterator[_Candidate]:
    """'four minutes thirty', 'a minute and a half', 'five foot six inches', 'two metres forty'."""
    first, first_unit = segments[0]
    if not first_unit or first_unit in BARE:
        return
    for unit in SAID[kind][first_unit]:
        if unit.after or unit.before:
            continue  # temperatures do not add up
        for lead in _number(first):
            if lead.sure and lead.way != "clock" and lead.value >= 0:
                yield from _rest(lead.value * unit.scale, lead, unit, segments[1:], kind)


def _rest(
    total: float, lead: Reading, unit: Unit, segments: list[tuple[list[str], str]], kind: QuantityKind
) -> Iterator[_Candidate]:
    if not segments:
        yield _Candidate(total, speak_quantity(total, kind), sure=True)
        return
    number, saying = segments[0]
    joined = number[0] == "and"
    if joined:
        number = number[1:]
    found = [r for r in _number(number) if r.sure and r.way != "clock" and r.value >= 0] if number else []
    for reading in found:
        if saying:
            if saying in BARE:
                continue
            for smaller in SAID[kind][saying]:
                if smaller.scale < unit.scale:
                    yield from _rest(
                        total + reading.value * smaller.scale, reading, smaller, segments[1:], kind
                    )
        elif joined and reading.way == "fraction":
            value = total + reading.value * unit.scale
            yield _Candidate(value, speak_quantity(value, kind), sure=True)
        elif kind == "duration":
            below = {HOUR: MINUTE, MINUTE: SECOND}.get(unit)
            if below is not None and reading.value < 60 and reading.value.is_integer():
                value = total + reading.value * below.scale
                yield _Candidate(value, speak_quantity(value, kind), sure=True)
        elif reading.value.is_integer() and lead.value.is_integer():  # 'two bar five'
            point = float(f"{int(lead.value)}.{int(reading.value)}")
            yield _candidate(Reading(point, "no point"), unit, kind)
            if unit is METRE:
                value = total + reading.value * MILLIMETRE.scale
                yield _Candidate(value, speak_quantity(value, kind), sure=False)


def _refusal(candidate: _Candidate, kind: QuantityKind, low: float, high: float) -> str:
    if kind == "count" and not candidate.value_si.is_integer():
        return f"{candidate.words} is not a whole number: count again."
    too_high = candidate.value_si > high
    limit = (
        speak_quantity(high if too_high else low, kind) if math.isfinite(high if too_high else low) else ""
    )
    if kind == "temperature" and not too_high and low <= 0:
        limit = "absolute zero"
    return f"{candidate.words} is too {'high' if too_high else 'low'}: {limit} is the {'most' if too_high else 'least'}."
