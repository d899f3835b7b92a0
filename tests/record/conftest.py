"""A small log to break."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.record.log import LogWriter
from assistant.record.stamp import Stamp


def stamp_at(t_s: float) -> Stamp:
    return Stamp(t_s, "2026-11-25T14:00:00.000+01:00", 5000.0 + t_s, "0badcafe")


@pytest.fixture
def log_path(tmp_path: Path) -> Path:
    return tmp_path / "log.jsonl"


@pytest.fixture
def three_appends(log_path: Path) -> Path:
    """Lines 1, 2 to 4 written together, and 5."""
    with LogWriter.create(log_path, {"kind": "opened", "simulated": False}, stamp_at(0.0)) as writer:
        writer.append(
            [
                {"kind": "noted", "text": "snow ☃ and \x1b[31m red"},
                {"kind": "said", "text": "Right.", "rank": "chat"},
                {"kind": "question_put", "question": "gate:x"},
            ],
            stamp_at(1.5),
        )
        writer.append([{"kind": "noted", "text": "last"}], stamp_at(2.25))
    return log_path
