"""Kills the program at random moments of whole jobs and takes each up again; prints what was found.

    python tests/crash/kill_at_random.py [--kills 300] [--seed 1] [--folder FOLDER]

The folder must be on a real disk. Ends with 1 if anything was lost, changed, or asked wrongly.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from crashed_job import CrashedJob, Tally  # noqa: E402
from program import strace_works  # noqa: E402

A_JOB = 105  # kills of a job at most, so that all three come up
IN_REAL_TIME = 30


def kill_jobs(kills: int, seed: int, folder: Path) -> Tally:
    """So many kills at least over the three jobs in turn, some of them on the computer's own clocks."""
    tally, rng, traced = Tally(), random.Random(seed), strace_works()
    left, number = kills, 0
    while left > 0:
        script = ("demo", "guided", "solid")[number % 3]
        real_time = number % 4 == 3
        job = CrashedJob(
            script, folder / f"{number}-{script}", rng, tally, traced=traced, real_time=real_time
        )
        left -= job.run(min(left, IN_REAL_TIME if real_time else A_JOB))
        number += 1
        told = f"{script}: {tally.kills.total()} kills, {len(tally.faults)} faults"
        print("\n  ".join([told, *tally.faults]), file=sys.stderr, flush=True)
    return tally


def table(tally: Tally, took_s: float) -> str:
    rows = [f"{tally.kills.total()} kills in {took_s:.0f} s, jobs ended: {_counted(tally.closed)}"]
    rows += [f"  {moment:<20}{count:>5}" for moment, count in sorted(tally.kills.items())]
    rows += ["at stage", *(f"  {stage:<20}{count:>5}" for stage, count in tally.stages.most_common())]
    rows += [
        f"power cut as well: what nobody had been told cut at a random byte {tally.power_cuts:>5}",
        f"  of these not whole, and a torn tail noted       {tally.torn:>5} {tally.mended:>5}",
        f"the computer restarted in between: {_counted(tally.restarts)} (its wall clock)",
        f"  of these with a part of an entry on the disk    {tally.torn_by_restart:>5}",
        f"gates asked again on taking up                    {tally.gates:>5}",
        f"'how long left' asked after a kill                {tally.told_left:>5}",
        f"killed before a session stood                     {tally.before_the_opening:>5}",
        f"faults                                            {len(tally.faults):>5}",
    ]
    return "\n".join([*rows, *(f"  {fault}" for fault in tally.faults)])


def _counted(counter: Counter[str]) -> str:
    return ", ".join(f"{count} {what}" for what, count in sorted(counter.items())) or "none"


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--kills", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument(
        "--folder", type=Path, default=None, help="on a real disk; a new one in /tmp if not given"
    )
    given = asked.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="loopwright-kills-", dir=given.folder or tempfile.gettempdir()))
    began = time.monotonic()
    tally = kill_jobs(given.kills, given.seed, folder)
    print(table(tally, time.monotonic() - began))
    print(f"the logs: {folder}")
    sys.exit(1 if tally.faults else 0)


if __name__ == "__main__":
    main()
