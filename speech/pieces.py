"""Divides a text into pieces that are rendered and played one by one, so that it begins soon and can stop soon."""

from __future__ import annotations

import re
from collections.abc import Iterator

LONG_PIECE = 60  # characters: a shorter one is joined to its neighbour, as a pause inside it would sound odd
LONG_CLAUSE = 100  # characters: then it is also divided at 'and'
_NUMBER_WORD = re.compile(
    r"(?:zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|\w+ty|hundred|thousand|million"
    r"|point|minus|half|quarter|\d[\d.,:]*)",
    re.IGNORECASE,
)


def pieces(text: str) -> list[str]:
    """A text at the ends of its sentences and clauses, in pieces long enough to sound as one; at least one piece.

    A number stays whole, in figures or in words: '1, 6, 0', 'two hundred and five'.
    """
    parts: list[str] = []
    for clause in _clauses(text):
        if parts and (len(parts[-1]) < LONG_PIECE or len(clause) < LONG_PIECE // 3):
            parts[-1] += f" {clause}"
        else:
            parts.append(clause)
    return parts


def _clauses(text: str) -> Iterator[str]:
    for clause in _divided(text, r"(?<=[.?!;,:])\s+|\s+(?=[–—-]\s)"):
        yield from _divided(clause, r"\s+(?=and\s)") if len(clause) > LONG_CLAUSE else (clause,)


def _divided(text: str, where: str) -> Iterator[str]:
    begun = 0
    for gap in re.finditer(where, text):
        before = text[begun : gap.start()].rstrip(".,;:?!").rpartition(" ")[2]
        after = text[gap.end() :].removeprefix("and ").removeprefix("a ").partition(" ")[0].rstrip(".,;:?!")
        ends = text[gap.start() - 1] in ".?!;"
        if ends or not (_NUMBER_WORD.fullmatch(before) and _NUMBER_WORD.fullmatch(after)):
            yield text[begun : gap.start()]
            begun = gap.end()
    yield text[begun:]
