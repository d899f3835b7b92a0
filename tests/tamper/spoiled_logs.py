"""Logs to spoil: a whole job at a press, typed by the scripted technician, and long ones of short lines; sealed."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import at_the_press as press
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.record.log import LogWriter
from assistant.record.seal import seal
from assistant.record.stamp import Stamp

BENCH = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))


@cache
def whole_session(script: str) -> bytes:
    """As it was written, seal and all."""
    return b"".join(raw for raw, _, _ in press.recorded(script))


def long_log(lines: int) -> bytes:
    """`lines` lines: one short entry or three written together at a time, closed and sealed."""

    def at(n: int) -> Stamp:
        return Stamp(n / 8, "2026-11-25T14:05:00.000+01:00", 50.0 + n / 8, "0badcafe")

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.jsonl"
        with LogWriter.create(
            path, {"kind": "opened", "simulated": False}, at(0), press.UnsyncedFile
        ) as writer:
            while writer.count < lines - 2:
                n = writer.count
                events = [
                    {"kind": "noted", "text": f"note {n}, \u00e4\u2603"},
                    {"kind": "released"},
                    {"kind": "false_alarm"},
                ]
                writer.append(events[: 3 if n % 5 == 0 and n < lines - 5 else 1], at(n))
            writer.append([{"kind": "closed", "outcome": "accepted", "count": writer.count}], at(lines))
            seal(writer, BENCH, at(lines), simulated=False)
        return path.read_bytes()
