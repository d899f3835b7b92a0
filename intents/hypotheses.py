"""What an utterance may have been besides its likeliest text: the other texts of the ear, each with its score.

Noise seldom makes words of nothing; it turns one word into another of nearly the same sound, and then what was said
is often the second or third text. So where the first is nothing that can be said now, the first of the others that is
exactly something counts, if it is read back or only moves the screen. Anything else, a note, a stop, a name, what an
inspection found, is asked about: 'no 55' had 'note 55' close behind it. Where two of the texts are different
commands, and close, it is asked which.

A gate's sentence counts as the likeliest text alone. Taking it from the other texts as well, even in two answers in a
row, was measured (`tests/bench/measure_hearing.py`): it closed no more gates within two tries, and near misses had a
gate's sentence among their texts. The others are used against it instead: see `turned_round`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace

from intents.canonical import canonical
from intents.meaning import AskBack, Heard, Meaning, NotForUs, Understood
from intents.phrasebook import MAY_BE_NEAR

LEAST_SURE = -1.0  # mean log probability per token, of any text that may count
CLOSE = 0.25  # two commands whose scores differ by less are asked about
AS_LIKELY = 0.2  # a text with a 'not' so close behind a gate's sentence speaks against it
_READ_BACK = frozenset(("value", "change", "reading"))  # what was heard is said again before it counts
_NO_MORE_THAN_SHOWN = (MAY_BE_NEAR - {"hold"}) | {
    "help", "no", "if_power_fails", "ask_value", "why_value", "what_if", "what_if_by", "what_if_off", "what_if_times",
    "what_if_other",
}  # fmt: skip
"""What answers, or puts a question again, and leaves the job as it is."""
_TURNS_ROUND = frozenset((
    "no", "not", "none", "never", "nothing", "nobody", "neither", "nor", "without", "nearly", "almost", "hardly",
    "half", "some", "most", "if", "or", "on", "off",
))  # fmt: skip
_NOT = re.compile(r"\b(?:can)?not\b")
_UNDOES = re.compile(r"un(?!der|til|it)[a-z]{3,}")

Exactly = Callable[[Heard], Understood]
"""What one text alone means, with nothing taken nearly."""


def may_turn_round(words: str) -> bool:
    """Whether a word among them may turn a sentence round, in whatever way it is written."""
    return bool(_turns(words))


def stands_unasked(meaning: Meaning) -> bool:
    """Whether a less likely text may mean this by itself: a number, which is read back, or what moves only the screen."""
    if meaning.intent in _READ_BACK:
        return isinstance(meaning.value, float)
    return meaning.intent in _NO_MORE_THAN_SHOWN


def among(
    heard: Heard, exactly: Exactly, unasked: Callable[[Meaning], bool] = stands_unasked
) -> Understood | None:
    """What the texts of one utterance mean together; None: nothing that can be said now is among them.

    unasked: what of the less likely texts counts by itself; anything else of theirs is asked about.
    """
    first = exactly(replace(heard, alternatives=(), scores=()))
    if isinstance(first, AskBack):
        return first
    if isinstance(first, NotForUs) and first.reason != "not sayable":
        return first  # a callsign that only a less likely text has was not said
    found = [*([(first, _sureness(heard))] if isinstance(first, Meaning) else []), *_others(heard, exactly)]
    if not found:
        return None
    best, score = found[0]
    sure_enough = best.place == 0 or unasked(best)
    if sure_enough and best.intent in ("danger", "sentence", "other_sentence", *_READ_BACK):
        return best
    rivals = [other for other, sure in found[1:] if score - sure < CLOSE and not _same(other, best)]
    if not rivals:
        return best if sure_enough else AskBack(f"Did you mean '{best.said}'?", (best,))
    options = (best, rivals[0])
    return AskBack(f"Did you mean '{options[0].said}' or '{options[1].said}'?", options)


def _others(heard: Heard, exactly: Exactly) -> Iterator[tuple[Meaning, float]]:
    for place, (text, score) in enumerate(zip(heard.alternatives, heard.scores, strict=True), start=1):
        if score < LEAST_SURE:
            continue
        found = exactly(replace(heard, text=text, sureness=score, alternatives=(), scores=()))
        if isinstance(found, Meaning) and found.intent not in ("danger", "sentence", "other_sentence"):
            yield replace(found, place=place), score


def turned_round(heard: Heard) -> str:
    """The text, nearly as likely as the first, that has other words that turn a sentence round; '' if there is none.

    At 10 dB 'not all of the tension is gone' came out without its 'not', and with it in the third text, 0.01 behind.
    """
    turns, sureness = _turns(heard.text), _sureness(heard)
    for text, score in zip(heard.alternatives, heard.scores, strict=False):
        if sureness - score < AS_LIKELY and _turns(text) != turns:
            return text
    return ""


def has_not_run_in(heard: Heard) -> bool:
    """Whether a 'not' was heard as the end of another word alone ('doesn't'), where one syllable turns the meaning.

    'It does start' came out as 'it doesn't start'; of 20 genuine sentences with a 'not' none lost it so.
    """
    return len(_NOT.findall(heard.text.casefold())) < canonical(heard.text).split().count("not")


def _turns(text: str) -> list[str]:
    return sorted(w for w in canonical(text).split() if w in _TURNS_ROUND or _UNDOES.fullmatch(w))


def _sureness(heard: Heard) -> float:
    return 0.0 if heard.sureness is None else heard.sureness


def _same(one: Meaning, other: Meaning) -> bool:
    return (one.intent, one.slot, one.value) == (other.intent, other.slot, other.value)
