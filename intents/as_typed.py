"""Names and notes kept as they were written: 'Anna', not 'anna'."""

from __future__ import annotations

from intents.canonical import canonical

_PUNCTUATION = " .,;:!?\"'()[]"


def as_typed(text: str, words: str) -> str:
    """The stretch of `text` whose canonical words are `words`; `words` themselves if none is."""
    wanted = words.split()
    raw = text.split()
    spread = [(word, at) for at, piece in enumerate(raw) for word in canonical(piece).split()]
    plain = [word for word, _ in spread]
    for start in range(len(plain) - len(wanted) + 1):
        if plain[start : start + len(wanted)] == wanted:
            return " ".join(raw[spread[start][1] : spread[start + len(wanted) - 1][1] + 1]).strip(
                _PUNCTUATION
            )
    return (
        text.strip(_PUNCTUATION) if canonical(text) == words else words
    )  # with a sign between two pieces: '4 - 5'
