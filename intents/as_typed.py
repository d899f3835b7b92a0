"""Names and notes kept as they were written: 'Anna', not 'anna'."""

from __future__ import annotations

from intents.canonical import canonical

_PUNCTUATION = " .,;:!?\"'()[]"


def as_typed(text: str, words: str) -> str:
    """The stretch of `text` whose canonical words are `words`; `words` themselves if none is."""
    raw = text.split()
    for start in range(len(raw)):
        for end in range(len(raw), start, -1):
            piece = " ".join(raw[start:end])
            if len(piece) >= len(words) // 2 and canonical(piece) == words:
                return piece.strip(_PUNCTUATION)
    return words
