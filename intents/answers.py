"""The answer that is waited for: a value, a choice, free words, or one of the options just asked about."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import get_args

from intents.as_typed import as_typed
from intents.canonical import canonical
from intents.meaning import AskBack, Choice, Expected, Meaning, QuantityKind, Sayable, Topic
from intents.numbers import readings
from intents.phrasebook import Phrasebook
from intents.quantities import Ambiguous, OutOfRange, Parsed, parse_quantity, without_lead_in
from intents.sounds import like_numbers, sound_alike
from intents.topics import Found, find
from intents.units import SAID

_ORDINALS = {"first": 0, "second": 1, "third": 2}
_CHOICE_LEAD_IN = frozenset((
    "it", "is", "the", "a", "an", "i", "we", "use", "take", "will", "have", "a", "my", "our", "with", "that",
))  # fmt: skip
_NAME_LEAD_INS = (
    "my name is", "the name is", "i am called", "i am", "this is", "it is", "call it", "name it", "call me",
    "keep it as", "save it as", "keep it under the name", "keep it under", "under the name",
)  # fmt: skip
_NAME_WORDS = 6
_SHORTEST_PART = 4  # letters of a choice's name that are worth a question
_KIND_WORDS: dict[QuantityKind, str] = {
    "temperature": "a temperature in degrees", "temperature_difference": "degrees of difference",
    "duration": "a time in minutes and seconds", "pressure": "a pressure in bar", "length": "a length in millimetres",
    "ratio": "a value in percent", "voltage": "a voltage in volts", "current": "a current in amps",
    "mass": "a mass in kilos", "section": "a section in square millimetres", "count": "a whole number",
    "tension": "a tension in newtons per millimetre",
}  # fmt: skip


def quantity_answer(
    words: str, about: Expected | Topic, meant: Callable[[float], Meaning], *, by_voice: bool
) -> Meaning | AskBack | None:
    """The words as a value in range; a question where they are doubtful or out of range; None if no value."""
    if about.quantity is None:
        return None
    found = parse_quantity(words, about.quantity, about.low, about.high, about.usual, about.unit)
    if found is None and by_voice:
        found = like_numbers(words, about.quantity, about.low, about.high, about.unit)
    if isinstance(found, Parsed):
        low, high = about.usual or (about.low, about.high)
        double = (
            sound_alike(words, found.value_si, about.quantity, low, high, about.unit) if by_voice else None
        )
        if double is None:
            return replace(meant(found.value_si), said=words)
        found = double
    match found:
        case Ambiguous(options, question):
            return AskBack(question, tuple(replace(meant(o.value_si), said=o.words) for o in options))
        case OutOfRange(_, sentence):
            return AskBack(sentence)
    return None


def choice_answer(
    words: str, choices: tuple[Choice, ...], meant: Callable[[str], Meaning]
) -> Meaning | AskBack | None:
    """The choice whose saying the words are; a question where they are part of one or more sayings."""
    sayings = [(choice, [canonical(s) for s in choice.sayings]) for choice in choices]
    said = words.split()
    while True:
        spoken = " ".join(said)
        exact = [choice for choice, named in sayings if spoken in named]
        if len(exact) == 1:
            return replace(meant(exact[0].key), said=words)
        if exact or not said or said[0] not in _CHOICE_LEAD_IN:
            break
        said = said[1:]
    partly = exact or [choice for choice, named in sayings if any(f" {spoken} " in f" {s} " for s in named)]
    if not partly or len(spoken) < _SHORTEST_PART:
        return None
    options = tuple(replace(meant(c.key), said=c.sayings[0]) for c in partly)
    return AskBack(f"Do you mean {' or '.join(o.said for o in options)}?", options)


def expected_answer(
    words: str, sayable: Sayable, book: Phrasebook, *, by_voice: bool
) -> Meaning | AskBack | None:
    """The value or choice waited for, also put right: 'no, one point nine two', 'not 185, 190'."""
    expected = sayable.expected
    if expected is None or expected.kind not in ("quantity", "choice"):
        return None
    answer = _value(words, expected, book, by_voice=by_voice)
    if answer is not None or book.find(words) is not None:
        return answer
    replaced: dict[float | str | None, str] = {}
    for found in find(book.patterns["correct"], tuple(words.split()), ()):
        if not found.old:
            answer = _value(found.value, expected, book, by_voice=by_voice)
            if answer is not None:
                return answer
        elif (new := _two_values(words, found, expected, book)) is not None:
            replaced[new.value] = found.value
    if len(replaced) != 1:
        return None
    return _value(next(iter(replaced.values())), expected, book, by_voice=by_voice)


def _two_values(words: str, found: Found, expected: Expected, book: Phrasebook) -> Meaning | None:
    """The second value of 'not {old} {value}'; None for 'not one eighty five', 'not in the shop': only one is named."""
    old = _value(found.old, expected, book, by_voice=False)
    new = _value(found.value, expected, book, by_voice=False)
    if not (isinstance(old, Meaning) and isinstance(new, Meaning)) or old.value == new.value:
        return None
    both = f"{found.old} {found.value}"
    return None if both in words and any(r.sure for r in readings(both)) else new


def _value(words: str, expected: Expected, book: Phrasebook, *, by_voice: bool) -> Meaning | AskBack | None:
    if expected.kind == "choice":
        answer = choice_answer(words, expected.choices, lambda key: Meaning("value", expected.slot, key))
        # A command that happens to be part of a choice's name is the command.
        return None if isinstance(answer, AskBack) and book.find(words) is not None else answer
    return quantity_answer(
        words, expected, lambda value: Meaning("value", expected.slot, value), by_voice=by_voice
    )


def free_words(words: str, text: str, sayable: Sayable) -> Meaning | None:
    """A name or words of any kind, as they were written."""
    expected = sayable.expected
    if expected is None or expected.kind not in ("name", "text"):
        return None
    if expected.kind == "text":
        return Meaning("value", expected.slot, as_typed(text, words), said=text)
    for lead_in in _NAME_LEAD_INS:
        if words.startswith(f"{lead_in} "):
            words = words.removeprefix(f"{lead_in} ")
            break
    if len(words.split()) > _NAME_WORDS:
        return None
    return Meaning("value", expected.slot, as_typed(text, words), said=text)


def chosen_option(words: str, sayable: Sayable, book: Phrasebook) -> Meaning | None:
    """The one option of the question just asked back that the words choose; None if not exactly one."""
    options = sayable.asked_back
    if not options:
        return None
    spoken = without_lead_in(words).removesuffix(" one")
    if spoken in _ORDINALS and len(options) > _ORDINALS[spoken]:
        return replace(options[_ORDINALS[spoken]], said=words)
    agreed = book.find(words)
    enough = ("confirm",) if options[0].intent == "confirm" else ("yes", "confirm")  # no bare yes for a value
    if len(options) == 1 and agreed is not None and agreed[0] in enough:
        return replace(options[0], said=words)
    fitting = [o for o in options if _says(spoken, o, sayable)]
    if len(fitting) != 1 and not readings(spoken):  # a part of its name: 'fahrenheit'
        fitting = [o for o in options if spoken and f" {spoken} " in f" {canonical(o.said)} "]
    return replace(fitting[0], said=words) if len(fitting) == 1 else None


def _says(words: str, option: Meaning, sayable: Sayable) -> bool:
    if not isinstance(option.value, float):
        return words == canonical(option.said)
    about = _about(option.slot, sayable)
    if about is None or about.quantity is None:
        return False
    found = parse_quantity(words, about.quantity, option.value, option.value, unit=about.unit)
    return isinstance(found, Parsed)


def _about(slot: str | None, sayable: Sayable) -> Expected | Topic | None:
    if sayable.expected is not None and sayable.expected.slot == slot:
        return sayable.expected
    return next((topic for topic in sayable.topics if topic.slot == slot), None)


def wrong_kind(words: str, expected: Expected) -> AskBack | None:
    """'two bar' where degrees are asked for: says what is asked for."""
    if expected.kind != "quantity" or expected.quantity is None:
        return None
    last = without_lead_in(words).split()[-1:]
    for kind in get_args(QuantityKind):
        if last and last[0] in SAID[kind] and isinstance(parse_quantity(words, kind), Parsed | Ambiguous):
            return AskBack(f"{_KIND_WORDS[expected.quantity]} is asked for here.".capitalize())
    return None
