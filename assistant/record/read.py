"""Reading a log strictly: one line in memory at a time, each checked against the one before it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import IO

from assistant.record.chain import (
    FIRST_PREV,
    LARGEST_LOG,
    LONGEST_LINE,
    BadLog,
    Line,
    decode,
    number_fault,
    order_fault,
)
from assistant.record.plain import plain

_NEWLINE = ord("\n")


def check_is_log_file(path: Path) -> None:
    """Raises: BadLog with line 0 for what cannot be a log at all: missing, a folder, a device, empty, too large."""
    try:
        if path.is_dir():
            raise BadLog(0, f"{plain(path)} is a folder; give the log file in it.")
        if not path.exists():
            raise BadLog(0, f"There is no file {plain(path)}; check the name.")
        if not path.is_file():
            raise BadLog(0, f"{plain(path)} is not an ordinary file; give a session's log.")
        size = path.stat().st_size
    except (OSError, ValueError) as error:
        raise BadLog(0, cannot("read", path, error)) from error
    if size == 0:
        raise BadLog(0, f"{plain(path)} is empty; a log begins with its opening line.")
    if size > LARGEST_LOG:
        raise BadLog(
            0,
            f"{plain(path)} is {size // 1_000_000} MB; a log is never over {LARGEST_LOG // 1_000_000} MB. Give another.",
        )


def stream_log(path: Path) -> Iterator[Line]:
    """The lines of a log, one in memory at a time, each checked against the one before.

    Raises: BadLog at the first bad line, when it is reached.
    """
    check_is_log_file(path)
    try:
        with path.open("rb") as file:
            for line, _ in lines_with_lengths(file, stop_at_torn=False):
                yield line
    except OSError as error:
        raise BadLog(0, cannot("read", path, error)) from error


def read_log(path: Path) -> list[Line]:
    """All lines of a log in order. Raises: BadLog naming the first bad line, from 1."""
    return list(stream_log(path))


def lines_with_lengths(
    file: IO[bytes], *, stop_at_torn: bool, before: Line | None = None
) -> Iterator[tuple[Line, int]]:
    """Lines with their length in bytes. A last line without newline: BadLog, or the end if `stop_at_torn`.

    before: the line before the first that the file will give; None at the beginning of a log.
    """
    head, line_no = (FIRST_PREV, 0) if before is None else (before.digest, before.n + 1)
    while raw := file.readline(LONGEST_LINE + 1):
        line_no += 1
        if raw[-1] != _NEWLINE:
            if stop_at_torn and len(raw) <= LONGEST_LINE:
                return
            raise BadLog(
                line_no,
                f"Line {line_no} is not whole: it is cut off before its end, was being written, or is too long.",
            )
        line = decode(raw[:-1], line_no)
        if line.n != line_no - 1:
            raise BadLog(line_no, f"Line {line_no} {number_fault(line, line_no - 1)}.")
        if line.prev != head:
            raise _broken_link(line_no, line, file)
        # Nearly every line passes without the call, which would be a tenth of all the time.
        if (before is None or before.left or line.t < before.t or line.event["kind"] == "opened") and (
            fault := order_fault(before, line)
        ):
            raise BadLog(line_no, f"Line {line_no} {fault}.")
        yield line, len(raw)
        before, head = line, line.digest
    if before is not None and before.left and not stop_at_torn:
        raise BadLog(
            before.n + 1,
            f"Line {before.n + 1} was written together with lines after it, and they are missing.",
        )


def _broken_link(line_no: int, line: Line, file: IO[bytes]) -> BadLog:
    """Which side of a broken link was changed: the line after tells whether `line` is as it was written."""
    if line_no == 1:
        return BadLog(1, "Line 1 points back to a line before it, and there is none.")
    following = file.readline(LONGEST_LINE + 1)
    try:
        untouched = decode(following.removesuffix(b"\n"), line_no + 1).prev == line.digest
    except BadLog:
        untouched = line.event.get("head") == line.prev and line.kind == "sealed"
    if untouched:
        return BadLog(
            line_no - 1,
            f"Line {line_no - 1} is not as it was written, or the lines from {line_no} on are from elsewhere: "
            f"line {line_no} carries a different digest for it.",
        )
    return BadLog(
        line_no, f"Line {line_no} does not continue the line before it: its link is to another line."
    )


def cannot(act: str, path: Path, error: Exception) -> str:
    """One sentence for trouble that the system reports."""
    reason = getattr(error, "strerror", None) or str(error)
    return f"Cannot {act} {plain(path)}: {reason}. Check the name, the rights on the folder and the disk."
