"""How far each session had come, kept outside its folder: so that a log cut at the end of an append is known.

<data folder>/heads/<session id> is one line of fixed size: lines, digest of the last one without its `sig`, and
the bench's signature on both, the same that stands in the log. It is made and synced with the session, and
written over in place after each append, without a sync: a power cut may leave it behind the log, never ahead of
it, for the log was synced before. A session goes on without it, and whoever takes it up is told.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.record.append_signature import (
    are_signed,
    bare_digest,
    session_of,
    sign_append,
    signature_fault,
    signed_by,
)
from assistant.record.chain import Line, RecordError
from assistant.record.hand_over import KnownKeys
from assistant.record.keys import PRIVATE_NAME, bench_key
from assistant.record.log import sync_folder

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

HEADS_NAME = "heads"
_MARK = re.compile(rb"(\d{12}) ([0-9a-f]{64}) ([0-9a-f]{128})\n")
_SIZE = 207
_WHAT_TO_DO = "Look at it with 'loopwright verify', tell the supervisor, and begin a new session"


@dataclass(frozen=True)
class Mark:
    """count: lines. bare: digest of the last one without its `sig`. signature: on both, as hex."""

    count: int
    bare: str
    signature: str


def mark_path(folder: Path, session: str) -> Path:
    """Of a session in the data folder."""
    return folder / HEADS_NAME / session


class BenchVoucher:
    """Signs a session's appends with the bench's key, the one of the moment, and keeps its mark.

    Raises: KeyTrouble when it is made.
    """

    def __init__(self, folder: Path, session: str) -> None:
        self._folder, self._session = folder, session
        self._key_file = folder / PRIVATE_NAME
        self._key, self._key_seen = bench_key(folder), self._see_key()
        self._path = mark_path(folder, session)
        self._synced = False

    def sign(self, count: int, bare: str) -> str:
        return sign_append(self._current_key(), self._session, count, bare)

    def reached(self, count: int, bare: str, signature: str) -> None:
        data = f"{count:012d} {bare} {signature or self.sign(count, bare)}\n".encode()
        with suppress(OSError):  # told when the session is taken up: the mark is then missing, or behind
            try:
                fd = os.open(self._path, os.O_WRONLY | os.O_NOFOLLOW | os.O_CLOEXEC)
            except FileNotFoundError:
                fd = self._make()
            try:
                os.pwrite(fd, data, 0)
                if not self._synced:
                    os.fsync(fd)
                    sync_folder(self._path.parent)
                    self._synced = True
            finally:
                os.close(fd)

    def forget(self) -> None:
        """Of a session that was not begun after all."""
        with suppress(OSError):
            self._path.unlink()

    def _make(self) -> int:
        self._path.parent.mkdir(mode=0o700, exist_ok=True)
        return os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)

    def _see_key(self) -> tuple[int, int] | None:
        try:
            seen = self._key_file.stat()
        except OSError:
            return None
        return seen.st_ino, seen.st_mtime_ns

    def _current_key(self) -> Ed25519PrivateKey:
        """After a hand-over the new one; where it is gone, the one that was there."""
        seen = self._see_key()
        if seen is not None and seen != self._key_seen:
            with suppress(RecordError):
                self._key, self._key_seen = bench_key(self._folder), seen
        return self._key


def read_mark(path: Path) -> Mark | None:
    """None where it is missing or not to be read."""
    try:
        if path.is_symlink() or not path.is_file():
            return None
        with path.open("rb") as file:
            found = _MARK.fullmatch(file.read(_SIZE + 1))
    except (OSError, ValueError):
        return None
    return None if found is None else Mark(int(found[1]), found[2].decode(), found[3].decode())


@dataclass(frozen=True)
class Standing:
    """fault: why a session must not be taken up, '' for nothing. note: what to say of its mark, '' for nothing."""

    fault: str = ""
    note: str = ""


def standing(folder: Path, lines: Iterable[Line], keys: KnownKeys, mark: Mark | None) -> Standing:
    """Of a log whose opening line the bench has marked. lines: its whole appends. mark: read before them."""
    opening = last = at_mark = None
    behind = 0  # appends after the one that the mark tells of
    for line in lines:
        opening, last = opening or line, line
        if mark is not None and line.n == mark.count - 1:
            at_mark = line
        behind += mark is not None and line.n >= mark.count and line.left == 0
    if opening is None or last is None or not are_signed(opening):
        return Standing()
    session = session_of(opening)
    fault, _ = signature_fault(last, session, keys)
    if fault:
        return Standing(
            f"The session '{session}' was changed: its last line, {last.n + 1}, {fault}. {_WHAT_TO_DO}."
        )
    if mark is None or not signed_by(keys.all(), session, mark.count, mark.bare, mark.signature):
        what = "is missing or cannot be read" if mark is None else "was not made by this bench"
        return Standing(
            note=f"The mark of how far this session had come, {mark_path(folder, session)}, {what}: the last line of "
            "the record carries this bench's signature, but lines cut off behind it would not show."
        )
    if mark.count > last.n + 1:
        return Standing(
            f"The session '{session}' was cut: {mark.count} lines were written, and {last.n + 1} are left. {_WHAT_TO_DO}."
        )
    if at_mark is None or bare_digest(at_mark) != mark.bare:
        return Standing(
            f"The session '{session}' was changed: line {mark.count} is not the one that this bench wrote. {_WHAT_TO_DO}."
        )
    if behind > 1:
        return Standing(
            note=f"The mark of how far this session had come stands at line {mark.count} of {last.n + 1}: the power "
            "failed, or it could not be written; lines cut off the end since would not show."
        )
    return Standing()
