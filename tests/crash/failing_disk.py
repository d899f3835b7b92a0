"""A disk that fails from a moment on: the one file that a log is written through, handed to the log in place of its own."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import at_the_press as press

from assistant.record.log import LogFile, LogWriter
from assistant.session import Session

WAYS = {
    "EIO on write": (errno.EIO, "write"),
    "no space": (errno.ENOSPC, "write"),
    "half is taken": (0, "half"),
    "EIO on sync": (errno.EIO, "sync"),
    "EIO on sync, and cutting back fails": (errno.EIO, "sync cut"),
    "half is taken, and cutting back fails": (errno.EROFS, "half cut"),
    "permission lost": (errno.EACCES, "place"),
}


def failing(way: str) -> tuple[type[LogFile], list[bool]]:
    """The file's type, and a switch: append to it and the disk fails."""
    number, where = WAYS[way]
    broken: list[bool] = []

    class FailingFile(LogFile):
        def _fail(self, at: str) -> None:
            if broken and at in where.split():
                raise OSError(number, os.strerror(number))

        def in_place(self) -> tuple[int, int] | None:
            self._fail("place")
            return super().in_place()

        def write(self, data: bytes) -> int:
            self._fail("write")
            return super().write(data[: len(data) // 2] if broken and "half" in where else data)

        def sync(self) -> None:
            self._fail("sync")

        def cut(self, size: int) -> None:
            self._fail("cut")
            super().cut(size)

    return FailingFile, broken


def at_the_dwell(way: str, folder: Path, mouth: press.SlowMouth) -> tuple[press.Talk, list[bool]]:
    """A real session in its dwell, on a file that fails once its switch is set."""
    left = press.at("demo", "dwell", folder)
    press.close_open_gates(left, "dwell")
    left.session.writer.close()
    file_type, broken = failing(way)
    writer = LogWriter.open_existing(left.session.writer.path, file_type)
    clock = press.HandClock(writer.lines[-1].stamp.t_s + 5)
    session = Session(press.bench().rules, press.bench().book, writer, clock, mouth)
    session.take_up(writer.lines, 0)
    talk = press.Talk(session, clock)
    press.close_open_gates(talk, "dwell")
    return talk, broken
