"""What is no name of a person: so that a question, a value or a belt does not stand in the record as who it was."""

from __future__ import annotations

from collections.abc import Iterable

from rapidfuzz import fuzz

from intents.canonical import canonical
from intents.number_words import ONES, TEENS, TENS

_MOST_WORDS = 3
_AS_GOOD_AS = 85.0  # of a hundred: 'in the shot' is 'in the shop'
_QUESTION = frozenset(("who", "what", "where", "when", "why", "how", "which", "whose"))
_NUMBER = frozenset(
    (*ONES, *TEENS, *TENS, "hundred", "thousand", "point", "half", "double", "minus", "percent")
)
_NO_PART = frozenset((
    "the", "a", "an", "in", "on", "at", "is", "are", "was", "were", "there", "here", "this", "that", "not", "no",
    "it", "its", "my", "your", "our", "and", "or", "with", "for", "of", "to", "have", "has", "had", "i", "we", "you",
    "he", "she", "they", "yes", "okay", "nobody", "somebody", "someone",
))  # fmt: skip
_TELL = "say only the name, as 'my name is Robin'"


def why_no_name(name: str, named: Iterable[str]) -> str:
    """Why `name` is none of a person, in a sentence; '' where it may be one.

    named: what belts, presses, choices are called here.
    """
    words = canonical(name).split()
    if not words:
        return ""
    if words[0] in _QUESTION and len(words) > 1:
        return f"That is a question, and no name: {_TELL}."
    if any(word in _NUMBER or word[0].isdigit() for word in words):
        return f"A number is no part of a name: {_TELL}."
    spoken = " ".join(words)
    if any(
        fuzz.ratio(spoken, canonical(saying)) >= _AS_GOOD_AS for saying in named if len(saying) > len("oh")
    ):
        return f"'{name}' is what something else is called here, and no name: {_TELL}."
    if len(words) > _MOST_WORDS:
        return f"That is too long for a name: {_TELL}, in at most three words."
    if not _NO_PART.isdisjoint(words):
        return f"'{name}' is no name of a person: {_TELL}."
    return ""
