"""Questions after what is computed, in words nobody wrote down: by what they are about.

A question is taken by the words that tell what it is about, where it is about one thing only. An answer moves
nothing, so that a question taken wrongly costs a sentence; what is no plain question is left alone.
"""

from __future__ import annotations

from intents.near import turns_round
from intents.phrasebook import Phrasebook

_OPENINGS = (
    ("what",), ("which",), ("how", "long"), ("how", "many"), ("how", "much"), ("how", "far"), ("how", "hard"),
    ("how", "tight"), ("how", "wide"), ("how", "thick"), ("how", "big"), ("how", "hot"), ("how", "strong"), ("is",), ("are",),
    ("does",), ("do",), ("will",), ("can", "i"), ("may", "i"), ("when", "can", "i"), ("with", "what"), ("at", "what"), ("number", "of"),
)  # fmt: skip
_NOT_PLAIN = frozenset(("if", "happens", "happen", "why", "else", "about"))
_LONGEST = 11  # words; more is talk


def asked_about(spoken: str, names: frozenset[str], book: Phrasebook) -> str | None:
    """The one of `names` that the question is about; None for none, for several, or for what is no plain question.

    Of two whose words are all there, the one with more of them has it: 'pressure on the belt' before 'pressure'.
    """
    words = spoken.split()
    if len(words) > _LONGEST or _NOT_PLAIN & set(words) or turns_round(words):
        return None
    if not any(tuple(words[: len(opening)]) == opening for opening in _OPENINGS):
        return None
    best: dict[str, int] = {}
    for about, name in book.about:
        if name in names and about <= set(words):
            best[name] = max(best.get(name, 0), len(about))
    most = max(best.values(), default=0)
    fitting = [name for name, count in best.items() if count == most]
    return fitting[0] if len(fitting) == 1 else None
