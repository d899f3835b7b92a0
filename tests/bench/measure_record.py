"""How fast the record is, as ratios to the least that could be done on the same disk and processor.

    python tests/bench/measure_record.py [FOLDER]

FOLDER: where to write, so that a disk and not a memory file system is measured; default: here.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median, quantiles
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

import pydantic_core

from assistant.record.log import LogWriter
from assistant.record.read import read_log
from assistant.record.stamp import SystemClock
from assistant.review.verify import verify

APPENDS = 400
LINES = 20_000
RESUMED = 50_000
EVENT: dict[str, Any] = {
    "kind": "heard", "text": "everything is fastened and my hands are clear", "way": "voice", "began_s": 811.25, "ended_s": 813.5,
    "verified": True, "gate_grade": True, "sureness": -0.21, "alternatives": [], "engine": "whisper", "why_not": "",
    "understood": "sentence",
}  # fmt: skip


def fastest_parser() -> tuple[str, Callable[[bytes], Any]]:
    """orjson where it is installed, else the parser that pydantic brings."""
    try:
        import orjson  # type: ignore[import-not-found]
    except ImportError:
        return "pydantic_core", pydantic_core.from_json
    return "orjson", orjson.loads


def log_of(path: Path, lines: int) -> None:
    clock = SystemClock()
    with LogWriter.create(path, {"kind": "opened", "simulated": False}, clock.now()) as writer:
        left = lines - 1
        while left:
            batch = min(left, 500)
            writer.append([EVENT] * batch, clock.now())
            left -= batch


def append_times(folder: Path) -> tuple[list[float], list[float]]:
    """Seconds of each append of one entry, and of each bare write and sync of the same bytes, taken in turn."""
    clock = SystemClock()
    ours: list[float] = []
    bare: list[float] = []
    with LogWriter.create(
        folder / "append.jsonl", {"kind": "opened", "simulated": False}, clock.now()
    ) as writer:
        writer.append([EVENT], clock.now())
        raw = (folder / "append.jsonl").read_bytes().splitlines(keepends=True)[-1]
        fd = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)

        def append() -> None:
            writer.append([EVENT], clock.now())

        def write_bare() -> None:
            os.write(fd, raw)
            os.fsync(fd)

        for turn in range(APPENDS):
            # Each goes first every other time: the disk may still be busy with the one before.
            for action, times in ((append, ours), (write_bare, bare))[:: 1 if turn % 2 else -1]:
                started = time.perf_counter()
                action()
                times.append(time.perf_counter() - started)
        os.close(fd)
    return ours, bare


def best_s(action: Callable[[], object], runs: int = 7) -> float:
    """Processor seconds of the quickest run: what else runs on the machine does not count."""
    taken = []
    for _ in range(runs):
        started = time.process_time()
        action()
        taken.append(time.process_time() - started)
    return min(taken)


def row(what: str, measured: str, ratio: str = "") -> None:
    print(f"{what:<44} {measured:>14}  {ratio}")


def main() -> None:
    base = Path(sys.argv[1]) if len(sys.argv) > 1 else Path()
    with tempfile.TemporaryDirectory(dir=base) as name:
        folder = Path(name)
        ours, bare = append_times(folder)
        row(
            "append one entry, median",
            f"{median(ours) * 1e3:.3f} ms",
            f"{median(ours) / median(bare):.2f} x bare write+fsync",
        )
        row(
            "append one entry, p99",
            f"{quantiles(ours, n=100)[98] * 1e3:.3f} ms",
            f"bare p99 {quantiles(bare, n=100)[98] * 1e3:.3f} ms",
        )

        path = folder / "verify.jsonl"
        log_of(path, LINES)
        parser, parse = fastest_parser()

        def bare_loop() -> None:
            with path.open("rb") as file:
                for raw in file:
                    parse(raw)
                    hashlib.sha256(raw[:-1]).hexdigest()

        bare_s = best_s(bare_loop)
        row(f"bare parse+hash, {parser}", f"{LINES / bare_s / 1e3:.0f} lines/ms")
        for what, action in (("verify", lambda: verify(path)), ("read_log", lambda: read_log(path))):
            took_s = best_s(action)
            row(what, f"{LINES / took_s / 1e3:.0f} lines/ms", f"{took_s / bare_s:.2f} x bare parse+hash")

        log_of(folder / "resume.jsonl", RESUMED)
        took_s = best_s(lambda: LogWriter.open_existing(folder / "resume.jsonl").close(), runs=3)
        row(f"open_existing, {RESUMED} entries", f"{took_s:.3f} s")


if __name__ == "__main__":
    main()
