"""A log spoiled in every way, and a verifier that goes on from the line before: so that all can be tried.

What is asked of each spoiled log: it is not in order, and the first bad line is the one that was touched.
The verifier is the real one; only what it has found of the untouched lines before is kept and not found anew.
"""

from __future__ import annotations

import io
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from assistant.record.chain import BadLog, Line
from assistant.record.read import lines_with_lengths
from assistant.review.verify import Found, check_seals, walk


@dataclass(frozen=True)
class Change:
    """`what` was done; `data` in place of all bytes from the beginning of line `at` (from 0) on.

    first_bad: the lines, from 1, of which one must be named.
    """

    what: str
    at: int
    data: bytes
    first_bad: tuple[int, ...]


class Log:
    """A whole log in memory, with what the verifier has found before each of its lines."""

    def __init__(self, whole: bytes, reach: int | None = None) -> None:
        """reach: lines after a changed one that are still looked at; None: to the end."""
        self.lines = whole.splitlines(keepends=True)
        self.starts = [0]
        for line in self.lines:
            self.starts.append(self.starts[-1] + len(line))
        self.whole, self.reach = whole, reach
        self._before: list[tuple[Line | None, Found]] = []
        found, last = Found(), None
        for line, _ in lines_with_lengths(io.BytesIO(whole), stop_at_torn=False):
            self._before.append((last, _copied(found)))
            walk([line], found)
            last = line
        check_seals(found, None, None)

    def tail(self, at: int) -> bytes:
        end = len(self.lines) if self.reach is None else min(len(self.lines), at + self.reach)
        return self.whole[self.starts[at] : self.starts[end]]

    def verdict(self, change: Change) -> int | None:
        """First bad line, from 1; 0 where only the whole is found bad; None where nothing is."""
        last, before = self._before[change.at]
        found = _copied(before)
        try:
            rest = lines_with_lengths(io.BytesIO(change.data), stop_at_torn=False, before=last)
            walk((line for line, _ in rest), found)
            check_seals(found, None, None)
        except BadLog as error:
            return error.line_no
        return None

    def not_found(self, changes: Iterator[Change]) -> tuple[int, list[tuple[Change, int | None]]]:
        """How many were tried; those that were not found, or where another line was named."""
        tried, missed = 0, []
        for change in changes:
            tried += 1
            named = self.verdict(change)
            if named not in change.first_bad:
                missed.append((change, named))
        return tried, missed


def _copied(found: Found) -> Found:
    return replace(found, seals=list(found.seals))


def bytes_changed(log: Log, values: int, at: Iterable[int]) -> Iterator[Change]:
    """Each byte of the lines of `at`: in another `values` ways (255: every one; 8: each bit)."""
    for n in at:
        line, rest = log.lines[n], log.tail(n + 1)
        flips = [1 << bit for bit in range(8)] if values == 8 else range(1, values + 1)
        for k, byte in enumerate(line):
            for flip in flips:
                data = line[:k] + bytes([byte ^ flip]) + line[k + 1 :] + rest
                yield Change(f"byte {k} of line {n + 1} changed by {flip}", n, data, (n + 1,))


def bytes_taken_out_and_doubled(log: Log, at: Iterable[int]) -> Iterator[Change]:
    for n in at:
        line, rest = log.lines[n], log.tail(n + 1)
        for k in range(len(line)):
            yield Change(f"byte {k} of line {n + 1} taken out", n, line[:k] + line[k + 1 :] + rest, (n + 1,))
            # A second newline is an empty line after this one.
            bad = n + 2 if line[k : k + 1] == b"\n" else n + 1
            yield Change(f"byte {k} of line {n + 1} doubled", n, line[: k + 1] + line[k:] + rest, (bad,))


def lines_moved(log: Log, foreign: Log, at: range) -> Iterator[Change]:
    """Taken out, doubled, swapped, put in, cut off from here, and gone on from here as another session."""
    count = len(log.lines)
    for n in at:
        line, rest = log.lines[n], log.tail(n + 1)
        if n < count - 1:  # the seal may be missing: that is an unsealed log, and is told
            # Of the closing line, what then stands first in its place is the seal.
            yield Change(f"line {n + 1} taken out", n, rest, (n + 1,))
            second = log.lines[n + 1]
            yield Change(f"lines {n + 1} and {n + 2} swapped", n, second + line + log.tail(n + 2), (n + 1,))
        yield Change(f"line {n + 1} doubled", n, line + line + rest, (n + 2,))
        other = foreign.lines[min(n, len(foreign.lines) - 1)]
        # Which side of a joint between two sessions is the foreign one, the lines themselves cannot show.
        yield Change(f"a line of another session before {n + 1}", n, other + line + rest, (n, n + 1, n + 2))
        if 0 < n < len(foreign.lines):
            yield Change(f"another session from line {n + 1} on", n, foreign.tail(n), (n, n + 1))
        yield Change(f"cut in line {n + 1}", n, line[: max(1, len(line) // 2)], (n + 1,))


def at_random(log: Log, foreign: Log, count: int, dice: random.Random) -> Iterator[Change]:
    """`count` of all of these, anywhere."""
    for _ in range(count):
        n = dice.randrange(len(log.lines))
        line, rest = log.lines[n], log.tail(n + 1)
        k = dice.randrange(len(line))
        match dice.randrange(4):
            case 0 | 1:
                flip = dice.randrange(1, 256)
                data = line[:k] + bytes([line[k] ^ flip]) + line[k + 1 :] + rest
                yield Change(f"byte {k} of line {n + 1} changed by {flip}", n, data, (n + 1,))
            case 2:
                k = min(k, len(line) - 2)  # the newline stays, or the next line would be at fault for it
                data = line[:k] + line[min(len(line) - 1, k + dice.randrange(1, 40)) :] + rest
                yield Change(f"bytes from {k} of line {n + 1} taken out", n, data, (n + 1,))
            case _:
                yield dice.choice(list(lines_moved(log, foreign, range(n, n + 1))))
