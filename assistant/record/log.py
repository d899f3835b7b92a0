"""The log of one session: written line by line, on disk before anyone is told, read back strictly.

`LogFile` is the only place that writes; a test puts a failing one in its stead. A failed write or sync
is never retried: the file is cut back to its last whole line and the writer takes nothing more, because
after a failed sync nobody knows what the disk holds. Mend the disk, then open the session again.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol, Self

from assistant.record.chain import (
    FIRST_PREV,
    LARGEST_LOG,
    BadLog,
    EntryRefused,
    Line,
    RecordError,
    digest,
    encode,
    fields,
    with_signature,
)
from assistant.record.plain import plain
from assistant.record.read import cannot, check_is_log_file, lines_with_lengths
from assistant.record.stamp import Stamp

_END = 256  # bytes at the end of the file that are looked at before each write


class RecordFailed(RecordError):  # noqa: N818 - says what happened
    """Nothing more can be written; what was acknowledged is on disk. The session must hold."""


class RecordBusy(RecordError):  # noqa: N818 - says what happened
    """Another program has this session open."""


class Voucher(Protocol):
    """Vouches for the log beyond its chain. Neither may raise: a job does not stop for it."""

    def sign(self, count: int, bare: str) -> str:
        """As hex, for `count` lines of which the last has the digest `bare` without it."""
        ...

    def reached(self, count: int, bare: str, signature: str) -> None:
        """They are on disk. signature: '' for a line that has none."""
        ...


class LogFile:
    """An open log on disk. Every method raises OSError as the system gives it."""

    def __init__(self, path: Path, *, new: bool) -> None:
        flags = os.O_RDWR | os.O_APPEND | os.O_CLOEXEC | (os.O_CREAT | os.O_EXCL if new else 0)
        self._path, self._fd = path, os.open(path, flags, 0o600)
        self._itself = os.fstat(self._fd)

    def lock(self) -> None:
        """Exclusive, until closed or the process ends. Raises: BlockingIOError where another holds it."""
        fcntl.flock(self._fd, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def in_place(self) -> tuple[int, int] | None:
        """As `seen`, of the file of that name; None where that is not the one open here, but gone or another."""
        try:
            now = os.stat(self._path)  # noqa: PTH116 - every answer waits for it
        except FileNotFoundError:
            return None
        return (now.st_size, now.st_mtime_ns) if os.path.samestat(now, self._itself) else None

    def seen(self) -> tuple[int, int]:
        """Size in bytes, and when it was last changed, nanoseconds."""
        now = os.fstat(self._fd)
        return now.st_size, now.st_mtime_ns

    def read(self, size: int, at: int) -> bytes:
        """`size` bytes from there, or fewer where it ends."""
        return os.pread(self._fd, size, at)

    def write(self, data: bytes) -> int:
        """Bytes taken, which may be fewer than given."""
        return os.write(self._fd, data)

    def sync(self) -> None:
        os.fsync(self._fd)

    def cut(self, size: int) -> None:
        """Forget all after `size` bytes."""
        os.ftruncate(self._fd, size)

    def close(self) -> None:
        os.close(self._fd)


@dataclass(frozen=True)
class Torn:
    """What a crash left behind the last acknowledged line and was cut off on opening."""

    after_line: int  # whole lines kept
    cut_bytes: int


class LogWriter:
    """Appends to one session's log. Make it with `create` or `open_existing`; closes as a context manager."""

    def __init__(self, path: Path, file: LogFile) -> None:
        self.path = path
        self.torn: Torn | None = None
        self.lines: tuple[Line, ...] = ()  # as found by open_existing, for the fold
        self.failed = ""  # the sentence, once a write has failed
        self._file = file
        self._head, self._count, self._size = FIRST_PREV, 0, 0
        self._end, self._changed_ns = (
            b"",
            0,
        )  # the last bytes, and when the file was last changed, as we left it
        self._open = True
        self._voucher: Voucher | None = None

    @classmethod
    def create(
        cls,
        path: Path,
        opening: Mapping[str, Any],
        stamp: Stamp,
        file_type: type[LogFile] = LogFile,
        voucher: Voucher | None = None,
    ) -> Self:
        """A new log with its opening line, on disk with its folder entry before this returns.

        voucher: signs every append, as the opening line must then say.

        Raises: RecordFailed, RecordBusy, EntryRefused; then there is no such file.
        """
        try:
            file = file_type(path, new=True)
        except FileExistsError as error:
            raise RecordFailed(
                f"There is already a file {plain(path)}; a log is never written over. Give another name."
            ) from error
        except (OSError, ValueError) as error:
            raise RecordFailed(cannot("make", path, error)) from error
        writer = cls(path, file)
        writer._voucher = voucher
        try:
            writer._take_lock()
            writer.append([opening], stamp)
            sync_folder(path.parent)
        except OSError as error:
            writer._abandon()
            raise RecordFailed(cannot("make", path, error)) from error
        except RecordError:
            writer._abandon()
            raise
        return writer

    @classmethod
    def open_existing(
        cls,
        path: Path,
        file_type: type[LogFile] = LogFile,
        *,
        check: Callable[[Sequence[Line]], Voucher | None] | None = None,
    ) -> Self:
        """Takes up a log again: locks it, checks every line, cuts a torn tail (told in `torn`).

        check: gets the whole lines before anything is cut, and says who vouches for those to come; where it
        raises, the file stays as it is.

        Torn is what follows the last newline, even if it looks whole, and the lines of an append that
        is not all there: neither was acknowledged. Everything before must be in order.
        Raises: RecordBusy, BadLog, RecordFailed.
        """
        check_is_log_file(path)
        try:
            file = file_type(path, new=False)
        except (OSError, ValueError) as error:
            raise RecordFailed(cannot("write to", path, error)) from error
        writer = cls(path, file)
        try:
            writer._take_lock()
            writer._read_and_mend(check)
        except BaseException as error:
            writer.close()
            if isinstance(error, OSError):
                raise RecordFailed(cannot("mend", path, error)) from error
            raise
        return writer

    @property
    def head(self) -> str:
        """Digest of the last line; FIRST_PREV before the first."""
        return self._head

    @property
    def count(self) -> int:
        """Lines on disk; the number of the next line."""
        return self._count

    def append(self, events: Sequence[Mapping[str, Any]], stamp: Stamp) -> None:
        """Writes the events as one: all of them are on disk when this returns, or none counts.

        Raises:
            EntryRefused: an event cannot be written as it is; nothing was, and the log goes on.
            RecordFailed: the disk failed, now or before; hold the session.
        """
        if self.failed:
            raise RecordFailed(f"The record is held and takes nothing more. {self.failed}")
        if not self._open:
            raise RecordFailed(f"The log {plain(self.path)} is closed; open the session again.")
        if not events:
            return
        head, block, bare, signature = self._head, bytearray(), "", ""
        for offset, event in enumerate(events):
            left = len(events) - 1 - offset
            raw = encode(fields(self._count + offset, head, left, stamp, event))
            head = digest(raw)
            if self._voucher is not None and left == 0:
                bare = head
                if event["kind"] != "sealed":  # which is a signature itself
                    signature = self._voucher.sign(self._count + offset + 1, bare)
                    raw = with_signature(raw, signature)
                    head = digest(raw)
            block += raw + b"\n"
        if self._size + len(block) > LARGEST_LOG:
            raise EntryRefused(
                f"The log {plain(self.path)} would grow past {LARGEST_LOG // 1_000_000} MB; close this session "
                "and open a new one."
            )
        self._write(bytes(block))
        self._head, self._count, self._size = head, self._count + len(events), self._size + len(block)
        if self._voucher is not None:
            self._voucher.reached(self._count, bare, signature)

    def close(self) -> None:
        """Lets go of the file and its lock."""
        if self._open:
            self._open = False
            self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _write(self, block: bytes) -> None:
        try:
            seen = self._file.in_place()
            if seen is None:
                self.failed = (
                    f"The log {plain(self.path)} was removed or replaced while the session ran, so nothing more counts. "
                    "Keep what stands on this screen, put the file back from a copy, and tell the supervisor."
                )
                raise RecordFailed(self.failed)
            if not self._as_left(*seen):
                self.failed = (
                    f"The log {plain(self.path)} was cut, added to or changed by another hand while the session ran, so "
                    "nothing more counts. Keep what stands on this screen and the file as it is, and tell the supervisor."
                )
                raise RecordFailed(self.failed)
            taken = self._file.write(block)
            if taken == len(block):
                self._file.sync()
                self._end, self._changed_ns = block[-_END:], self._file.seen()[1]
                return
            what = f"the disk took {taken} of {len(block)} bytes: it is full, or a limit is reached"
        except OSError as error:
            what = error.strerror or str(error)
        self.failed = f"The log {plain(self.path)} could not be written ({what}); {self._cut_back()}"
        raise RecordFailed(self.failed)

    def _as_left(self, size: int, changed_ns: int) -> bool:
        """Whether the file, as seen, holds what we wrote. Raises: OSError.

        Size and last bytes are looked at each time; all of it is read only where somebody has written to it, for
        a 'touch' is no reason to hold a job. Who sets the time of change back passes here, and not at `verify`.
        """
        if size != self._size or self._file.read(len(self._end), size - len(self._end)) != self._end:
            return False
        if changed_ns != self._changed_ns and self._count:
            try:
                last = None
                with self.path.open("rb") as file:
                    for last, _ in lines_with_lengths(file, stop_at_torn=False):  # noqa: B007
                        pass
            except BadLog:
                return False
            if last is None or last.digest != self._head:
                return False
            self._changed_ns = changed_ns
        return True

    def _cut_back(self) -> str:
        try:
            self._file.cut(self._size)
            self._file.sync()
        except OSError as error:
            return (
                f"cutting back the unfinished entry failed too ({error.strerror}). {self._safe()} "
                "Make room or mend the disk, then open the session again."
            )
        return f"{self._safe()} Make room or mend the disk, then open the session again."

    def _safe(self) -> str:
        return f"{self._count} {'entry is' if self._count == 1 else 'entries are'} safe."

    def _take_lock(self) -> None:
        try:
            self._file.lock()
        except BlockingIOError as error:
            raise RecordBusy(
                f"Another program has the session {plain(self.path)} open; end it there, or open another session here."
            ) from error
        except OSError as error:
            raise RecordFailed(
                f"The session {plain(self.path)} cannot be locked ({error.strerror}); keep it on a local disk."
            ) from error

    def _read_and_mend(self, check: Callable[[Sequence[Line]], Voucher | None] | None) -> None:
        lines: list[Line] = []
        whole_to, kept = 0, 0  # bytes and lines up to the end of the last complete append
        size = self.path.stat().st_size
        with self.path.open("rb") as file:
            at = 0
            for line, length in lines_with_lengths(file, stop_at_torn=True):
                lines.append(line)
                at += length
                if line.left == 0:
                    whole_to, kept = at, len(lines)
        if kept == 0:
            raise BadLog(
                1, f"The log {plain(self.path)} has no whole opening line; there is no session to take up."
            )
        if check is not None:
            self._voucher = check(lines[:kept])
        if whole_to != size:
            self._file.cut(whole_to)
            self._file.sync()
            self.torn = Torn(after_line=kept, cut_bytes=size - whole_to)
        self.lines = tuple(lines[:kept])
        self._head, self._count, self._size = self.lines[-1].digest, kept, whole_to
        self._end = self._file.read(_END, max(0, whole_to - _END))
        self._changed_ns = self._file.seen()[1]

    def _abandon(self) -> None:
        self.close()
        with contextlib.suppress(OSError):  # the disk is failing already, and that is what is told
            self.path.unlink()


def sync_folder(folder: Path) -> None:
    """Makes new or renamed entries of a folder last. Raises: OSError."""
    fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)
