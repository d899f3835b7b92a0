"""All that the words of a value can mean: numbers with their units, joined ones, and numbers without a unit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from intents.meaning import QuantityKind
from intents.numbers import ZEROS, Reading, readings
from intents.spoken import said_in, speak_quantity
from intents.units import ASKED, BARE, HOUR, METRE, MILLIMETRE, MINUTE, SAID, SECOND, THOU, Unit

Segment = tuple[list[str], str]
"""Words of a number, and the unit said after it ('' if none)."""


@dataclass(frozen=True)
class Candidate:
    """One meaning, SI. sure: may be taken; otherwise only asked about."""

    value_si: float
    words: str
    sure: bool


_ARTICLES = (["of", "an"], ["of", "a"], ["of"], ["an"], ["a"])
_LONGEST_UNIT = max(len(saying.split()) for table in SAID.values() for saying in table)
# Kinds in which people leave out the point: 'one eighty two' for 1.82.
_POINT_LEFT_OUT = frozenset(("length", "pressure", "ratio", "section", "current", "mass", "tension"))
_MOST_THOU = 1000.0  # an inch; nobody counts further in thou
# 'four thirty' is 4:30: nobody counts more than five minutes in seconds that way.
_SECONDS_BY_PAIRS = 300.0


def unique(candidates: Iterator[Candidate] | list[Candidate]) -> list[Candidate]:
    seen: dict[float, Candidate] = {}
    for candidate in sorted(candidates, key=lambda c: not c.sure):
        if not any(math.isclose(candidate.value_si, value, rel_tol=1e-9) for value in seen):
            seen[candidate.value_si] = candidate
    return list(seen.values())


def segments_of(words: list[str], kind: QuantityKind) -> list[Segment] | None:
    """'four minutes thirty' -> [(['four'], 'minutes'), (['thirty'], '')]; None when there is no number."""
    segments: list[Segment] = []
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


def candidates_of(segments: list[Segment], kind: QuantityKind, edge: Unit) -> Iterator[Candidate]:
    if len(segments) > 1:
        yield from _compound(segments, kind)
        return
    number, saying = segments[0]
    if not saying or (kind == "temperature" and saying in BARE):
        yield from _bare_duration(number) if kind == "duration" else _bare(number, kind, edge)
        return
    for unit in SAID[kind][saying]:
        for reading in _number(number):
            if reading.way == "clock" and unit not in (MINUTE, HOUR):
                continue
            yield _candidate(reading, unit, kind)


def _candidate(reading: Reading, unit: Unit, kind: QuantityKind, sure: bool = True) -> Candidate:
    value = unit.to_si(reading.value)
    if reading.way == "clock":
        value = float(round(value))  # minutes and seconds are whole
    in_parts = kind == "duration" and unit is not SECOND
    words = speak_quantity(value, kind) if in_parts else said_in(reading.value, unit)
    return Candidate(value, words, sure and reading.sure)


def _bare(number: list[str], kind: QuantityKind, edge: Unit) -> Iterator[Candidate]:
    for reading in readings(" ".join(number)):
        if reading.way != "clock" and (reading.way != "no point" or kind in _POINT_LEFT_OUT):
            yield _candidate(reading, edge, kind)


def in_other_units(number: list[str], kind: QuantityKind) -> Iterator[Candidate]:
    found = readings(" ".join(number))
    has_clock = any(r.way == "clock" for r in found)
    for unit in ASKED.get(kind, ()):
        for reading in found:
            # 'four thirty' is a time, whatever was asked for.
            if unit is THOU and reading.value > _MOST_THOU:
                continue
            if reading.sure and reading.way != "clock" and not (has_clock and reading.way == "pairs"):
                yield _candidate(reading, unit, kind, sure=False)


def _bare_duration(number: list[str]) -> Iterator[Candidate]:
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


def _compound(segments: list[Segment], kind: QuantityKind) -> Iterator[Candidate]:
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
    total: float, lead: Reading, unit: Unit, segments: list[Segment], kind: QuantityKind
) -> Iterator[Candidate]:
    if not segments:
        yield Candidate(total, speak_quantity(total, kind), sure=True)
        return
    number, saying = segments[0]
    joined = number[0] == "and"
    if joined:
        number = number[1:]
    found = [r for r in _number(number) if r.sure and r.way != "clock" and r.value >= 0] if number else []
    if kind == "duration" and len(number) == 2 and number[0] in ZEROS:  # 'two minutes oh five'
        found = [r for r in readings(number[1]) if r.sure and 0 < r.value < 10]
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
            yield Candidate(value, speak_quantity(value, kind), sure=True)
        elif kind == "duration":
            below = {HOUR: MINUTE, MINUTE: SECOND}.get(unit)
            if below is not None and reading.value < 60 and reading.value.is_integer():
                value = total + reading.value * below.scale
                yield Candidate(value, speak_quantity(value, kind), sure=True)
        elif reading.value.is_integer() and lead.value.is_integer():  # 'two bar five'
            point = float(f"{int(lead.value)}.{int(reading.value)}")
            yield _candidate(Reading(point, "no point"), unit, kind)
            if unit is METRE:
                value = total + reading.value * MILLIMETRE.scale
                yield Candidate(value, speak_quantity(value, kind), sure=False)
