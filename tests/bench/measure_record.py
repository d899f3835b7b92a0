"""How fast the record is, as ratios to the least that could be done on the same disk and processor.

    python tests/bench/measure_record.py

Writes in the folder where it is run, so that a disk and not a memory file system is measured.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from statistics import median, quantiles
from typing import Any

import msgspec
import pydantic_core
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from figures import Figure, least_processor_s, processor_s, table, wall_s

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[1] / "odd")]

from measure_long_log import made as long_session  # noqa: E402

from assistant.opening import open_bench, take_up_session  # noqa: E402
from assistant.record.hand_over import KnownKeys  # noqa: E402
from assistant.record.heads import BenchVoucher  # noqa: E402
from assistant.record.keys import bench_key, public_hex  # noqa: E402
from assistant.record.log import LogWriter  # noqa: E402
from assistant.record.opening_mark import marked  # noqa: E402
from assistant.record.read import read_log  # noqa: E402
from assistant.record.stamp import SystemClock  # noqa: E402
from assistant.review.own import Home  # noqa: E402
from assistant.review.verify import verify  # noqa: E402

APPENDS = 60  # a round
LINES = 20_000
RESUMED = 50_000
EVENT: dict[str, Any] = {
    "kind": "heard", "text": "everything is fastened and my hands are clear", "way": "voice", "began_s": 811.25, "ended_s": 813.5,
    "verified": True, "gate_grade": True, "sureness": -0.21, "alternatives": [], "engine": "whisper", "why_not": "",
    "understood": "sentence",
}  # fmt: skip


def parsers() -> dict[str, Callable[[bytes], Any]]:
    """Every JSON parser at hand; orjson where it is installed."""
    found: dict[str, Callable[[bytes], Any]] = {
        "json": json.loads, "pydantic_core": pydantic_core.from_json, "msgspec": msgspec.json.Decoder().decode,
    }  # fmt: skip
    with suppress(ImportError):
        import orjson  # type: ignore[import-not-found]

        found["orjson"] = orjson.loads
    return found


def log_of(path: Path, lines: int) -> None:
    clock = SystemClock()
    with LogWriter.create(path, {"kind": "opened", "simulated": False}, clock.now()) as writer:
        left = lines - 1
        while left:
            batch = min(left, 500)
            writer.append([EVENT] * batch, clock.now())
            left -= batch


def signed_log_of(path: Path, lines: int) -> Ed25519PublicKey:
    """As a session writes it, an entry of three lines at a time. Returns: the public key."""
    clock = SystemClock()
    voucher, key = BenchVoucher(path.parent, "measured"), bench_key(path.parent)
    opening = {"kind": "opened", "simulated": False, "session": "measured", "signed_appends": True}
    opening = marked(opening, key)
    with LogWriter.create(path, opening, clock.now(), voucher=voucher) as writer:
        for _ in range(lines // 3):
            writer.append([EVENT] * 3, clock.now())
    return key.public_key()


def append_times(folder: Path, appends: int) -> tuple[list[float], list[float]]:
    """Seconds of each append of one entry, and of each bare write and sync of the same bytes, taken in turn."""
    clock = SystemClock()
    ours: list[float] = []
    bare: list[float] = []
    opening = {"kind": "opened", "simulated": False, "session": "measured", "signed_appends": True}
    voucher = BenchVoucher(folder, "measured")  # signs, and keeps the mark, as in every session
    with LogWriter.create(folder / "append.jsonl", opening, clock.now(), voucher=voucher) as writer:
        writer.append([EVENT], clock.now())
        raw = (folder / "append.jsonl").read_bytes().splitlines(keepends=True)[-1]
        fd = os.open(folder / "bare", os.O_WRONLY | os.O_CREAT | os.O_APPEND)

        def append() -> None:
            writer.append([EVENT], clock.now())

        def write_bare() -> None:
            os.write(fd, raw)
            os.fsync(fd)

        dice = random.Random(1)
        for _ in range(appends):
            # Either may go first: the disk may still be busy with the one before.
            for action, times in dice.sample(((append, ours), (write_bare, bare)), 2):
                times.append(wall_s(action))
        os.close(fd)
    return ours, bare


def bare_loop(path: Path, parse: Callable[[bytes], Any]) -> Callable[[], None]:
    """The least that verifying could be: each line read, parsed and hashed."""

    def run() -> None:
        with path.open("rb") as file:
            for raw in file:
                parse(raw)
                hashlib.sha256(raw[:-1]).hexdigest()

    return run


def figures(rounds: int) -> Iterator[Figure]:
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        folder = Path(name)
        ours, bare = append_times(folder, rounds * APPENDS)
        yield Figure(
            "record: append one entry, median",
            f"{median(ours) * 1e3:.2f} ms",
            f"{median(o / b for o, b in zip(ours, bare, strict=True)):.2f} x a bare write+fsync of the same bytes, median of pairs",
        )
        yield Figure(
            "record: append one entry, p99",
            f"{quantiles(ours, n=100)[98] * 1e3:.1f} ms",
            f"bare p99 {quantiles(bare, n=100)[98] * 1e3:.1f} ms",
        )
        path, signed = folder / "verify.jsonl", folder / "signed.jsonl"
        log_of(path, LINES)
        keys = KnownKeys(public_hex(signed_log_of(signed, LINES)))
        at_hand = parsers()
        parser = min(at_hand, key=lambda name: least_processor_s(bare_loop(path, at_hand[name]), 3))
        bare_run = bare_loop(path, at_hand[parser])
        for what, action, least in (
            ("verify", lambda: verify(path), bare_run),
            (
                "verify, with signatures",
                lambda: verify(signed, home=Home("measured", keys)),
                bare_loop(signed, at_hand[parser]),
            ),
            ("read", lambda: read_log(path), bare_run),
        ):
            pairs = [(processor_s(action), processor_s(least)) for _ in range(max(3, rounds))]
            yield Figure(
                f"record: {what}",
                f"{LINES / median(took for took, _ in pairs) / 1e3:.0f} lines/ms",
                f"{median(took / bare_s for took, bare_s in pairs):.2f} x a bare loop of {parser} and SHA-256, median of pairs",
            )
        log_of(folder / "resume.jsonl", RESUMED)
        took_s = least_processor_s(lambda: LogWriter.open_existing(folder / "resume.jsonl").close(), rounds)
        yield Figure(f"record: open a log of {RESUMED} entries again", f"{took_s:.2f} s")
        path = long_session(folder / "bench", RESUMED)
        bench = open_bench(folder / "bench", callsign=None)

        def take_up() -> None:
            take_up_session(bench, path.parent.name).writer.close()

        took_s = median(wall_s(take_up) for _ in range(rounds))
        yield Figure(
            f"record: take a session of {RESUMED} events up",
            f"{took_s:.2f} s",
            "checked, folded, and told where it stands",
        )


if __name__ == "__main__":
    print(table(figures(7)))
