"""Cuts of a recorded log at every byte of its last append, and what must hold after each.

python tests/crash/cuts.py     three whole jobs: every byte of the last append and of one with several lines,
                               and every 101st byte of all others; opened, and counted
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

import at_the_press as press

from assistant.record.log import LogWriter
from assistant.review.verify import verify

EVERY = 101
LARGEST = 4000  # bytes of the append of several lines that is cut at each byte


@dataclass(frozen=True)
class Cut:
    """raw: what is left of the file. kept: bytes of it that must stay. torn: bytes that must go."""

    raw: bytes
    kept: int
    torn: int


def recorded_appends(name: str) -> Iterator[tuple[bytes, int, list[str]]]:
    """The recorded job up to the end of each of its appends; bytes of that append, and the kinds of its lines."""
    raw, size, kinds = b"", 0, list[str]()
    for line, kind, whole in press.recorded(name):
        raw, size, kinds = raw + line, size + len(line), [*kinds, kind]
        if whole:
            yield raw, size, kinds
            size, kinds = 0, []


def cuts_of(raw: bytes, step: int = 1) -> Iterator[Cut]:
    """The log cut at each byte of its last append, from the first to the one before the last."""
    lines = raw.splitlines(keepends=True)
    first = next(n for n in range(len(lines) - 1, -1, -1) if n == 0 or json.loads(lines[n - 1])["left"] == 0)
    kept = len(b"".join(lines[:first]))
    for at in range(kept + 1, len(raw), step):
        yield Cut(raw[:at], kept, at - kept)


def open_cut(cut: Cut, path: Path) -> list[str]:
    """Opens the log as cut. Returns: each fault, in a sentence."""
    path.write_bytes(cut.raw)
    with LogWriter.open_existing(path, press.UnsyncedFile) as writer:
        torn = writer.torn
    faults = []
    if torn is None or torn.cut_bytes != cut.torn:
        faults.append(f"cut at byte {len(cut.raw)}: {cut.torn} bytes were torn, and {torn} was told")
    if path.read_bytes() != cut.raw[: cut.kept]:
        faults.append(f"cut at byte {len(cut.raw)}: what was whole is not as it was")
    return faults


def take_up_cut(cut: Cut, path: Path) -> list[str]:
    """Takes the session up from the log as cut. Returns: each fault, in a sentence."""
    path.write_bytes(cut.raw)
    talk = press.reopened(path)
    talk.session.writer.close()
    noted = [event["cut_bytes"] for event in talk.events("torn_tail")]
    faults = []
    if noted != [cut.torn]:
        faults.append(f"cut at byte {len(cut.raw)}: {cut.torn} bytes were torn, and noted was {noted}")
    if not path.read_bytes().startswith(cut.raw[: cut.kept]):
        faults.append(f"cut at byte {len(cut.raw)}: what was whole is not as it was")
    if not (verdict := verify(path)).ok:
        faults.append(f"cut at byte {len(cut.raw)}: {verdict.sentences[0]}")
    return faults


def main() -> None:
    tried = taken_up = 0
    faults: list[str] = []
    with tempfile.TemporaryDirectory(dir=press.ram_folder()) as folder:
        path = Path(folder) / "log.jsonl"
        for name in sorted(press.JOBS):
            appends = list(recorded_appends(name))[1:]
            several = max((a for a in appends if a[1] < LARGEST), key=lambda a: len(a[2]))
            for one in appends:
                whole = one is appends[-1] or one is several
                for cut in cuts_of(one[0], 1 if whole else EVERY):
                    tried += 1
                    faults += open_cut(cut, path)
                    if whole and len(cut.raw) % EVERY == 0 and one is several:
                        taken_up += 1
                        faults += take_up_cut(cut, path)
            print(f"{name}: {tried} cuts, {taken_up} of them taken up, {len(faults)} faults", flush=True)
    print("\n".join(faults))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
