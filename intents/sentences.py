"""Sentences about things that have a value: asking, why it is so, changing, telling a reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from intents.answers import choice_answer, quantity_answer
from intents.meaning import AskBack, Meaning, Sayable, Topic
from intents.phrasebook import Phrasebook
from intents.topics import find
from intents.wonder import why_so, wondered

_MOST_ASKED = 4  # choices in one question: more, and the word named the thing, not one of them


def named_topics(
    spoken: str, sayable: Sayable, book: Phrasebook, *, by_voice: bool
) -> Meaning | AskBack | None:
    """The meaning of a sentence that names a topic (or wonders 'what if'); None if it does not."""
    words = tuple(spoken.split())
    for found in find(book.patterns["ask"], words, sayable.topics):
        return _one_of(found.topics, lambda topic: Meaning("ask_value", topic.slot, said=spoken))
    if (question := wondered(words, sayable, book)) is not None:
        return question
    for found in find(book.patterns["why"], words, sayable.inputs):
        return _one_of(found.topics, lambda topic: Meaning("why_value", topic.slot, said=spoken))
    if (question := why_so(words, sayable, book)) is not None:
        return question
    for kind in ("change", "tell"):
        for found in find(book.patterns[kind], words, sayable.topics):
            answer = _told(found.value, found.topics, sayable, changing=kind == "change", by_voice=by_voice)
            if answer is not None:
                return answer
    return _chosen(spoken, sayable) if sayable.by_choice else None


def _chosen(spoken: str, sayable: Sayable) -> Meaning | AskBack | None:
    """'The green template', without saying what of: a change, asked where more than one thing has that choice."""
    found: list[tuple[Topic, Meaning | AskBack]] = []
    for topic in sayable.topics:
        if topic.changeable and topic.choices:
            answer = _value(spoken, topic, "change", by_voice=False)
            if answer is not None:
                found.append((topic, answer))
    exact = [(topic, answer) for topic, answer in found if isinstance(answer, Meaning)]
    if len(exact) == 1:
        return exact[0][1]
    if exact:
        return AskBack(
            f"Which one: {' or '.join(topic.sayings[0] for topic, _ in exact)}?",
            tuple(
                replace(answer, said=topic.sayings[0])
                for topic, answer in exact
                if isinstance(answer, Meaning)
            ),
        )
    partly = [
        answer for _, answer in found if isinstance(answer, AskBack) and len(answer.options) <= _MOST_ASKED
    ]
    return partly[0] if len(partly) == 1 else None


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
