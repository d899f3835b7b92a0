"""'What if': a value for any input, by its name, by what it belongs to or by its unit; or by how much it differs.

Nothing is changed by such a question, so the ears need not be sure; what could be meant in several ways is
asked back all the same, because an answer to another question misleads.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace

from intents.answers import choice_answer, quantity_answer
from intents.meaning import AskBack, Meaning, QuantityKind, Sayable, Topic
from intents.phrasebook import Phrasebook
from intents.quantities import Parsed, parse_quantity
from intents.topics import find

USUAL_SLOT = "platens"  # what a bare number is taken for, where it can be
_WIDE_K = (173.15, 573.15)  # a question may go beyond what may be set
_MOST_ASKED = 4
_OTHER = frozenset(("other", "another", "different"))
_LEAD_IN = frozenset(("the", "a", "an", "of", "by", "about", "only", "just"))
_DESCRIBES = frozenset(("long", "thick", "wide", "warm", "hot", "cold", "high", "strong"))
# Sign, and the kinds that it compares; None: any. A word of the topic's name where one kind is not enough.
_COMPARED: dict[str, tuple[int, tuple[QuantityKind, ...], str]] = {
    "thicker": (1, ("length",), "thickness"), "thinner": (-1, ("length",), "thickness"),
    "wider": (1, ("length",), "width"), "narrower": (-1, ("length",), "width"),
    "longer": (1, ("length", "duration"), ""), "shorter": (-1, ("length", "duration"), ""),
    "warmer": (1, ("temperature",), ""), "hotter": (1, ("temperature",), ""),
    "colder": (-1, ("temperature",), ""), "cooler": (-1, ("temperature",), ""),
    "more": (1, (), ""), "higher": (1, (), ""), "less": (-1, (), ""), "lower": (-1, (), ""),
    "worse": (1, ("ratio",), "contact"), "better": (-1, ("ratio",), "contact"),
    "off": (0, (), ""), "wrong": (0, (), ""), "out": (0, (), ""),
}  # fmt: skip
_TIMES = {
    "twice": 2.0,
    "double": 2.0,
    "doubles": 2.0,
    "doubled": 2.0,
    "half": 0.5,
    "halved": 0.5,
    "halves": 0.5,
}
_BY_HOW_MUCH = "By how much? Say it with the number: 'what if it is two tenths thicker'."


def wondered(words: tuple[str, ...], sayable: Sayable, book: Phrasebook) -> Meaning | AskBack | None:
    """The question that the words are; None if they are none.

    Intents: 'what_if' (slot, value), 'what_if_by' (slot, difference), 'what_if_times' (slot, factor), 'what_if_off' (slot, so much either way),
    'what_if_other' (slot: whichever other there is).
    """
    for found in find(book.patterns["what_if"], words, sayable.inputs):
        answer = _meant(found.value.split(), found.topics, sayable.inputs)
        if answer is not None:
            return answer
    return None


def why_so(words: tuple[str, ...], sayable: Sayable, book: Phrasebook) -> Meaning | AskBack | None:
    """'Why is the temperature 180', 'why 2 bar': why the thing that has such a value is as it is; None if it is no such
    question."""
    for found in find(book.patterns["why_so"], words, sayable.inputs):
        about = _quantity(found.value, found.topics, sayable.inputs)
        if isinstance(about, Meaning):
            return replace(about, intent="why_value", value=None)
        if about is not None:
            return replace(
                about, options=tuple(replace(o, intent="why_value", value=None) for o in about.options)
            )
    return None


def _meant(value: list[str], named: tuple[Topic, ...], inputs: tuple[Topic, ...]) -> Meaning | AskBack | None:
    value = _without_lead_in(value)
    if not value:
        return None
    if value[0] in _OTHER:
        return _other(" ".join(value[1:]), inputs)
    which = value[:-1] if len(value) > 1 and value[-1] == "one" else value  # 'the thick one'
    if (choice := _choice(" ".join(which), named or inputs)) is not None:
        return choice
    if named and (times := _times(value, named)) is not None:
        return times
    if value[0] == "no":
        return _without(" ".join(value[1:]), inputs)
    if (compared := _compared(value, named, inputs)) is not None:
        return compared
    if len(value) > 1 and value[-1] in _DESCRIBES:
        value = value[:-1]
    return _quantity(" ".join(value), named, inputs)


def _without_lead_in(value: list[str]) -> list[str]:
    while value and value[0] in _LEAD_IN:
        value = value[1:]
    return value


def _other(name: str, inputs: tuple[Topic, ...]) -> Meaning | None:
    """'the other template', 'another press'."""
    topic = next((t for t in inputs if t.choices and (name in t.sayings or name == "one")), None)
    return None if topic is None else Meaning("what_if_other", topic.slot, said=f"other {name}")


def _without(name: str, inputs: tuple[Topic, ...]) -> Meaning | None:
    """'there is no lead', 'no notches': nought of what is counted in lengths."""
    topic = next((t for t in inputs if t.quantity == "length" and t.low <= 0 and name in t.sayings), None)
    return None if topic is None else Meaning("what_if", topic.slot, 0.0)


def _times(value: list[str], named: tuple[Topic, ...]) -> Meaning | None:
    """'twice as bad', 'doubles', 'three times as long', 'half as thick'; of contact, good is the other way round."""
    topic = next((t for t in named if t.quantity not in (None, "temperature", "count")), None)
    rest, factor = value[1:], _TIMES.get(value[0])
    if factor is None and len(value) > 1 and value[1] == "times":
        number = parse_quantity(value[0], "count", 1, 20)
        rest, factor = value[2:], number.value_si if isinstance(number, Parsed) else None
    if topic is None or factor is None or (rest and (len(rest) != 2 or rest[0] != "as")):
        return None
    if rest and rest[1] in ("bad", "good"):
        if "contact" not in topic.sayings:
            return None
        factor = factor if rest[1] == "bad" else 1 / factor
    return Meaning("what_if_times", topic.slot, factor)


def _choice(words: str, topics: tuple[Topic, ...]) -> Meaning | AskBack | None:
    """A choice by its name or by the only one that has these words in it; asked where several do."""
    partly: list[Meaning] = []
    for topic in topics:
        meant = _what_if(topic)
        answer = choice_answer(words, topic.choices, meant) if topic.choices else None
        if isinstance(answer, Meaning):
            return answer
        partly += answer.options if answer is not None else ()
    if len(partly) < 2:
        return partly[0] if partly else None
    return _ask([replace(option, said=option.said) for option in partly])


def _compared(
    value: list[str], named: tuple[Topic, ...], inputs: tuple[Topic, ...]
) -> Meaning | AskBack | None:
    """'two tenths thicker', 'colder by ten degrees', 'half a bar more', 'two tenths off'."""
    at = next((n for n in (len(value) - 1, 0) if value[n] in _COMPARED), None)
    if at is None:
        return None
    sign, kinds, noun = _COMPARED[value[at]]
    amount = " ".join(_without_lead_in([*value[:at], *value[at + 1 :]])) if len(value) > 1 else ""
    able = [
        t
        for t in named or inputs
        if t.quantity is not None
        and (not kinds or t.quantity in kinds)
        and (not noun or any(noun in saying.split() for saying in t.sayings))
        and (named or not t.by_name_only)
    ]
    if not amount:
        return AskBack(_BY_HOW_MUCH) if able else None
    options = []
    for topic in able:
        difference = _difference(
            value if not amount else amount.split(), topic, unit_needed=not (named or noun)
        )
        if difference is not None:
            intent = "what_if_by" if sign else "what_if_off"
            options.append(Meaning(intent, topic.slot, (sign or 1) * difference, topic.sayings[0]))
    if not options:
        return None
    # Of what goes by one name the first is meant: a belt 'two tenths off' is so in thickness.
    return options[0] if named or len(options) == 1 else _ask(options)


def _difference(words: list[str], topic: Topic, *, unit_needed: bool) -> float | None:
    kind: QuantityKind | None = topic.quantity
    if kind == "temperature":
        kind = "temperature_difference"
    if kind is None:
        return None
    found = parse_quantity(" ".join(words), kind, unit=topic.unit)
    if not isinstance(found, Parsed) or (unit_needed and not found.unit_said):
        return None
    return abs(found.value_si)


def _quantity(words: str, named: tuple[Topic, ...], inputs: tuple[Topic, ...]) -> Meaning | AskBack | None:
    """Among the topics that the value can be one of: those in whose range it lies; the one, or asked."""
    found: list[tuple[Topic, Meaning | AskBack]] = []
    for topic in named or inputs:
        answer = _of(words, topic, unit_needed=not named and topic.quantity != "temperature")
        if answer is not None and (named or not topic.by_name_only):
            found.append((topic, answer))
    within = [topic for topic, answer in found if any(_within(m, topic) for m in _meanings(answer))]
    if not named and within and found[0][0].quantity == "temperature":
        usual = next((topic for topic, _ in found if topic.slot == USUAL_SLOT), None)
        if usual is not None and usual not in within:  # five degrees: the shop, or a slip?
            within = [*within, usual]
    elif not named and not within and len(found) > 1:
        within = [topic for topic, _ in found if topic.slot == USUAL_SLOT]
    left = [(topic, answer) for topic, answer in found if topic in within] or found
    if len(left) < 2:
        return left[0][1] if left else None
    return _ask([replace(m, said=topic.sayings[0]) for topic, answer in left for m in _meanings(answer)[:1]])


def _of(words: str, topic: Topic, *, unit_needed: bool) -> Meaning | AskBack | None:
    if topic.quantity is None:
        return None
    low, high = _WIDE_K if topic.quantity == "temperature" else (-math.inf, math.inf)
    if unit_needed:
        said = parse_quantity(words, topic.quantity, low, high, unit=topic.unit)
        if not (isinstance(said, Parsed) and said.unit_said):
            return None
    wide = replace(topic, low=low, high=high, usual=None)
    return quantity_answer(words, wide, _what_if(topic), by_voice=False)


def _what_if(topic: Topic) -> Callable[[float | str], Meaning]:
    return lambda value: Meaning("what_if", topic.slot, value)


def _meanings(answer: Meaning | AskBack) -> tuple[Meaning, ...]:
    return (answer,) if isinstance(answer, Meaning) else answer.options


def _within(meaning: Meaning, topic: Topic) -> bool:
    low, high = topic.usual or (topic.low, topic.high)
    return isinstance(meaning.value, float) and low <= meaning.value <= high


def _ask(options: Iterable[Meaning]) -> AskBack:
    some = tuple(options)[:_MOST_ASKED]
    return AskBack(f"Which one: {' or '.join(option.said for option in some)}?", some)
