"""Phrases and words for recognisers that must be given a list. What such a one hears is only a candidate.

Words only, no digits: recognisers know 'one eight five', not '185'. Numbers are bounded, because
an open run of digits swallows noise.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from intents.canonical import canonical
from intents.danger import words_of_danger
from intents.meaning import Expected, QuantityKind, Sayable, Topic
from intents.numbers import say_digits, say_number
from intents.phrasebook import Phrasebook
from intents.spoken import edge_value
from intents.units import SAID, edge_unit

_STEPS: dict[QuantityKind, tuple[float, ...]] = {
    "temperature": (1,), "temperature_difference": (1,), "pressure": (0.1, 1), "length": (0.01, 0.1, 1, 10),
    "ratio": (0.1, 1), "voltage": (1, 10), "current": (0.5, 1), "mass": (0.5, 1), "section": (0.5, 1), "count": (1,),
    "tension": (0.5, 1),
}  # fmt: skip
"""Steps to try, finest first, in the edge unit."""

_MOST_VALUES = 800
_BOUNDS = (0.0, 400.0)  # where the range has no end, edge unit
_MINUTES = 30
_SECONDS = range(5, 60, 5)


def phrases(sayable: Sayable, book: Phrasebook) -> tuple[str, ...]:
    """Every phrase that can be said now, in plain words, numbers bounded, without repetition.

    With a callsign, commands and the sentence stand once with it and once without.
    """
    said = [s for c in book.commands.values() if c.id in sayable.commands for s in c.says]
    said += [
        canonical(s) for s in (sayable.sentence, *sayable.sentences_before, *sayable.sentences_elsewhere) if s
    ]
    for topic in sayable.topics:
        said += _asking(topic, book)
    named = {topic.slot for topic in sayable.topics}
    said += [question for question, name in book.questions.items() if name in named]
    if sayable.callsign:
        call = canonical(sayable.callsign)
        said = [call, *said, *(f"{call} {s}" for s in said)]
    if sayable.expected is not None:
        said += _answers(sayable.expected)
    for topic in sayable.topics:
        if topic.readable and topic.quantity is not None:
            values = list(_values(topic))
            said += [f"{name} {value}" for name in topic.sayings[:1] for value in values]
    return tuple(dict.fromkeys(said))


def words(book: Phrasebook, said: Iterable[str]) -> tuple[str, ...]:
    """Every word that the phrasebook, numbers, units, cries of danger and what else is `said` use, sorted."""
    found = set(words_of_danger())
    for command in book.commands.values():
        for saying in (*command.says, *command.openings):
            found.update(saying.split())
    for rows in book.patterns.values():
        for row in rows:
            found.update(row)
    for question in book.questions:
        found.update(question.split())
    for saying in said:
        found.update(canonical(saying).split())
    for n in (*range(101), 1000):
        found.update(say_number(n).split())
    for table in SAID.values():
        for saying in table:
            found.update(saying.split())
    found.update(
        ("point", "oh", "minus", "half", "quarter", "quarters", "third", "thirds", "double", "triple")
    )
    return tuple(sorted(w for w in found if w.isalpha()))


def _asking(topic: Topic, book: Phrasebook) -> Iterator[str]:
    for pattern in book.patterns["ask"][:2]:  # the two plainest; free ears take them all
        for name in topic.sayings:
            yield " ".join(pattern).replace("{topic}", f"the {name}" if pattern[-1] == "{topic}" else name)


def _answers(expected: Expected) -> Iterator[str]:
    for choice in expected.choices:
        yield from map(canonical, choice.sayings)
    if expected.kind == "quantity":
        yield from _values(expected)


def _values(about: Expected | Topic) -> Iterator[str]:
    kind, (low, high) = about.quantity, about.usual or (about.low, about.high)
    if kind is None:
        return
    if kind == "duration":
        yield from _durations(low, high)
        return
    least = edge_value(low, kind, about.unit) if math.isfinite(low) else _BOUNDS[0]
    most = edge_value(high, kind, about.unit) if math.isfinite(high) else _BOUNDS[1]
    fitting = [s for s in _STEPS[kind] if (most - least) / s <= _MOST_VALUES]
    step = float(fitting[0]) if fitting else (most - least) / _MOST_VALUES
    unit = edge_unit(kind, about.unit)
    for n in range(math.ceil(least / step - 1e-9), math.floor(most / step + 1e-9) + 1):
        value = round(float(n * step), 2)
        for said in dict.fromkeys((say_number(value), say_digits(value), *_in_pairs(value))):
            yield said
            if unit.name:
                yield f"{said} {unit.one if abs(value) == 1 and unit.one else unit.name}"


def _in_pairs(value: float) -> Iterator[str]:
    """185 -> 'one eighty five'."""
    if value.is_integer() and 100 < value < 1000 and value % 100:
        tail = int(value) % 100
        yield f"{say_number(value // 100)} {'oh ' if tail < 10 else ''}{say_number(tail)}"


def _durations(low: float, high: float) -> Iterator[str]:
    for minutes in range(_MINUTES + 1):
        for seconds in (0, *_SECONDS):
            if not low <= 60 * minutes + seconds <= high or not minutes + seconds:
                continue
            said = f"{say_number(minutes)} {'minute' if minutes == 1 else 'minutes'}" if minutes else ""
            if seconds:
                yield f"{said} {say_number(seconds)} seconds".strip()
                if minutes:
                    yield f"{said} {say_number(seconds)}"
                if seconds == 30 and minutes:
                    yield f"{say_number(minutes)} and a half minutes"
            else:
                yield said
