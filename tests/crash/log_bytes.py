"""A log as bytes and plain JSON: what judges a crash shares no code with what wrote the log."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Data = dict[str, Any]


@dataclass(frozen=True)
class LogBytes:
    """raw: the whole file. ends: where each whole append ends, in bytes. rows: the lines up to the last of them."""

    raw: bytes
    ends: tuple[int, ...]
    rows: tuple[Data, ...]

    @property
    def whole(self) -> bytes:
        """What opening the log must keep: everything up to the end of the last whole append."""
        return self.raw[: self.ends[-1]] if self.ends else b""

    @property
    def last_append(self) -> tuple[int, int]:
        """Where the last whole append begins and ends."""
        return (self.ends[-2] if len(self.ends) > 1 else 0), self.ends[-1]

    def events(self, kind: str | None = None) -> list[Data]:
        return [row["event"] for row in self.rows if kind in (None, row["event"]["kind"])]


def read_bytes(path: Path) -> LogBytes:
    """The file as it is; what is not whole at its end is left out of the rows."""
    return parse(path.read_bytes() if path.exists() else b"")


def parse(raw: bytes) -> LogBytes:
    rows: list[Data] = []
    ends: list[int] = []
    at = kept = 0
    for line in raw.splitlines(keepends=True):
        if not line.endswith(b"\n"):
            break
        at += len(line)
        rows.append(json.loads(line))
        if rows[-1]["left"] == 0:
            ends.append(at)
            kept = len(rows)
    return LogBytes(raw, tuple(ends), tuple(rows[:kept]))
