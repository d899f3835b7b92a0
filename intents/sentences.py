"""Sentences about things that have a value: asking, changing, telling a reading, wondering what if."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from intents.answers import choice_answer, quantity_answer
from intents.meaning import AskBack, Meaning, Sayable, Topic
from intents.phrasebook import Phrasebook
from intents.quantities import Parsed, parse_quantity
from intents.topics import find

_WHAT_IF_SLOT = "upper_temperature"
_WHAT_IF_K = (273.15, 573.15)  # a question may go beyond what may be set


def named_topics(
    spoken: str, sayable: Sayable, book: Phrasebook, *, by_voice: bool
) -> Meaning | AskBack | None:
    """The meaning of a sentence that names a topic (or wonders 'what if'); None if it does not."""
    words = tuple(spoken.split())
    for found in find(book.patterns["ask"], words, sayable.topics):
        return _one_of(found.topics, lambda topic: Meaning("ask_value", topic.slot, said=spoken))
    for found in find(book.patterns["what_if"], words, sayable.topics):
        answer = _what_if(found.value, found.topics, sayable)
        if answer is not None:
            return answer
    for kind in ("change", "tell"):
        for found in find(book.patterns[kind], words, sayable.topics):
            answer = _told(found.value, found.topics, sayable, changing=kind == "change", by_voice=by_voice)
            if answer is not None:
                return answer
    return None


def _told(
    value: str, topics: tuple[Topic, ...], sayable: Sayable, *, changing: bool, by_voice: bool
) -> Meaning | AskBack | None:
    able = [topic for topic in topics if topic.changeable or (topic.readable and not changing)]
    answers: list[tuple[Topic, Meaning | AskBack]] = []
    for topic in able:
        answer = _value(value, topic, _meant(topic, sayable, changing=changing), by_voice=by_voice)
        if answer is not None:
            answers.append((topic, answer))
    if len(answers) < 2:
        return answers[0][1] if answers else None
    options = tuple(answer for _, answer in answers if isinstance(answer, Meaning))
    if len(options) < 2:
        return AskBack(f"Which one: {' or '.join(topic.sayings[0] for topic, _ in answers)}?")
    named = zip(answers, options, strict=False)
    return AskBack(
        f"Which one: {' or '.join(topic.sayings[0] for topic, _ in answers)}?",
        tuple(Meaning(o.intent, o.slot, o.value, topic.sayings[0]) for (topic, _), o in named),
    )


def _meant(topic: Topic, sayable: Sayable, *, changing: bool) -> str:
    if not changing and sayable.expected is not None and sayable.expected.slot == topic.slot:
        return "value"
    return "reading" if topic.readable and not changing else "change"


def _value(words: str, topic: Topic, intent: str, *, by_voice: bool) -> Meaning | AskBack | None:
    if topic.choices:
        return choice_answer(words, topic.choices, lambda key: Meaning(intent, topic.slot, key))
    return quantity_answer(words, topic, lambda value: Meaning(intent, topic.slot, value), by_voice=by_voice)


def _what_if(value: str, topics: tuple[Topic, ...], sayable: Sayable) -> Meaning | AskBack | None:
    """Without a topic: the upper temperature, or the one topic of which the unit said speaks."""
    if topics:
        return _one_of(topics, lambda topic: _wondered(value, topic))
    degrees = Topic(_WHAT_IF_SLOT, (), "temperature")
    answer = _wondered(value, degrees)
    if answer is not None:
        return answer
    fitting = [
        topic for topic in sayable.topics if topic.changeable and _wondered(value, topic, unit_needed=True)
    ]
    return _wondered(value, fitting[0]) if len(fitting) == 1 else None


def _wondered(value: str, topic: Topic, *, unit_needed: bool = False) -> Meaning | AskBack | None:
    low, high = _WHAT_IF_K if topic.quantity == "temperature" else (-math.inf, math.inf)
    if unit_needed:
        found = parse_quantity(value, topic.quantity, low, high) if topic.quantity is not None else None
        if not (isinstance(found, Parsed) and found.unit_said):
            return None
    wide = replace(topic, low=low, high=high, usual=None)
    return quantity_answer(value, wide, lambda v: Meaning("what_if", topic.slot, v), by_voice=False)


def _one_of(
    topics: tuple[Topic, ...], meant: Callable[[Topic], Meaning | AskBack | None]
) -> Meaning | AskBack | None:
    if len(topics) == 1:
        return meant(topics[0])
    options = [(topic, meant(topic)) for topic in topics]
    return AskBack(
        f"Which one: {' or '.join(topic.sayings[0] for topic in topics)}?",
        tuple(
            Meaning(m.intent, m.slot, m.value, topic.sayings[0])
            for topic, m in options
            if isinstance(m, Meaning)
        ),
    )
