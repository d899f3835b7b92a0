"""Spoils a whole session's log in every way, and long logs at random; prints how many were tried and not found.

    python tests/tamper/try_all.py             bits of every byte, bytes and lines out, doubled, moved: minutes
    python tests/tamper/try_all.py every       all 255 other values of every byte
    python tests/tamper/try_all.py long        20,000 changes of logs of 1,000, 10,000 and 100,000 lines

Ends with 1 if anything was not found, or another line was named than the one that was touched.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from spoiled import (  # noqa: E402
    Change,
    Log,
    at_random,
    bytes_changed,
    bytes_taken_out_and_doubled,
    lines_moved,
)
from spoiled_logs import long_log, whole_session  # noqa: E402

from assistant.record import seal  # noqa: E402

seal.seal_code = cache(seal.seal_code)  # slow on purpose, and the same for the same signature


def main() -> int:
    asked = argparse.ArgumentParser()
    asked.add_argument("how", nargs="?", choices=("bits", "every", "long"), default="bits")
    how = asked.parse_args().how
    foreign = Log(whole_session("solid"))
    missed = 0
    if how == "long":
        dice = random.Random(20261125)
        for lines in (1_000, 10_000, 100_000):
            log = Log(long_log(lines), reach=6)
            missed += told(f"{lines} lines, at random", log, at_random(log, foreign, 20_000, dice))
        return int(missed > 0)
    whole = Log(whole_session("demo"))
    all_lines = range(len(whole.lines))
    print(f"a session of {len(all_lines)} lines, {len(whole.whole)} bytes")
    if how == "every":
        return int(told("every other value of every byte", whole, bytes_changed(whole, 255, all_lines)) > 0)
    for what, changes in (
        ("every bit of every byte", bytes_changed(whole, 8, all_lines)),
        ("every byte taken out, doubled", bytes_taken_out_and_doubled(whole, all_lines)),
        (
            "every line out, doubled, swapped, put in, of another session",
            lines_moved(whole, foreign, all_lines),
        ),
    ):
        missed += told(what, whole, changes)
    return int(missed > 0)


def told(what: str, log: Log, changes: Iterator[Change]) -> int:
    begun = time.perf_counter()
    tried, missed = log.not_found(changes)
    print(
        f"{what:<62}{tried:>10} tried, {len(missed)} not found, {time.perf_counter() - begun:.0f} s",
        flush=True,
    )
    for change, named in missed[:10]:
        print(f"    {change.what}: {change.first_bad} expected, {named} named")
    return len(missed)


if __name__ == "__main__":
    sys.exit(main())
