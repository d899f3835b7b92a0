"""Is a log in a bench's records of that bench, and the only one of its session?

Its opening line is signed by the bench and says whether the press was simulated. So a simulated log that was made
to look real, one from elsewhere and a second copy are known, without anybody giving a key: the bench's lies beside
its records. Whoever can write there and has that key can still do what the seal's own description says.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.record.chain import BadLog, Line
from assistant.record.plain import plain
from assistant.record.store import LOG_NAME
from assistant.review.found import Found, check_seals, walk

if TYPE_CHECKING:
    from assistant.record.hand_over import KnownKeys


@dataclass(frozen=True)
class Home:
    """Where a log lies: the session that its folder is named after, and the keys of the bench of the records."""

    session: str
    keys: KnownKeys


def keys_in(folder: Path) -> KnownKeys | None:
    """The keys of the bench whose records are in `folder`; None where no key lies there. Makes none.

    Raises: KeyTrouble for a key file that is damaged.
    """
    from assistant.record.keys import (  # late: slow to import
        PRIVATE_NAME,
        PUBLIC_NAME,
        earlier_keys,
        known_keys,
    )

    if os.access(folder / PRIVATE_NAME, os.R_OK):
        return earlier_keys(folder)
    return known_keys(folder / PUBLIC_NAME) if (folder / PUBLIC_NAME).exists() else None


def home_of(path: Path) -> Home | None:
    """None for a log that lies in no bench's records, or beside no key. Raises: KeyTrouble."""
    path = path.absolute()
    if path.name != LOG_NAME or path.parent.parent.name != "sessions":
        return None
    keys = keys_in(path.parents[2])
    return None if keys is None else Home(path.parent.name, keys)


def check_own(found: Found, home: Home) -> None:
    """Raises: BadLog."""
    from assistant.record.opening_mark import marked_with

    opening = found.opening
    assert opening is not None  # every log begins with it
    session = opening.event.get("session")
    if session != home.session:
        raise BadLog(
            1,
            f"Line 1, the opening line, is of the session '{plain(session)[:60]}', and the log lies in the folder "
            f"'{home.session}': it is a copy, or from elsewhere.",
        )
    if not opening.event.get("mark"):
        # From before opening lines were signed, or taken away: then the seal must be the bench's.
        try:
            check_seals(found, home.keys, None)
        except BadLog as error:
            raise BadLog(
                1, f"Line 1, the opening line, is not signed by the bench in whose records it lies. {error}"
            ) from error
        return
    key = marked_with(opening.event, home.keys.all())
    if not key or home.keys.fault(key, opening.wall):
        raise BadLog(
            1,
            "Line 1, the opening line, was not signed by the bench in whose records it lies, or it was changed: "
            "the log may be a SIMULATED one, or of another bench.",
        )


def not_own(lines: Iterable[Line], home: Home) -> str:
    """The sentence for a log that must not count among the bench's joints; '' for one of its own."""
    found, ends = Found(), _BeforeSeals()
    try:
        walk(ends.over(lines), found)
        check_own(found, home)
        _check_last_append(found, ends.last, home)
    except BadLog as error:
        return str(error)
    return ""


class _BeforeSeals:
    """Lets lines through and keeps the last that ends an entry and stands before any seal."""

    def __init__(self) -> None:
        self.last: Line | None = None

    def over(self, lines: Iterable[Line]) -> Iterator[Line]:
        sealed = False
        for line in lines:
            sealed |= line.kind == "sealed"
            if not sealed and not line.left:
                self.last = line
            yield line


def _check_last_append(found: Found, last: Line | None, home: Home) -> None:
    """That one signature stands for all lines before it, since they are chained. Raises: BadLog."""
    from assistant.record.append_signature import are_signed, signature_fault

    if found.opening is None or last is None or not are_signed(found.opening):
        return
    fault, _ = signature_fault(last, home.session, home.keys)
    if fault:
        raise BadLog(last.n + 1, f"Line {last.n + 1} {fault}.")
