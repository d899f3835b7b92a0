"""All measures in one table: `python tests/bench/measure_all.py [--rounds N]`, 7 rounds if not said.

Each measure runs in a process of its own, one after the other, and writes its logs in the folder where this is
run. What only computes is told in processor time or as the median of many short runs; what waits for a disk, a
screen or a speaker by the clock on the wall, which what else runs on the machine lengthens: so the load is told.
Nothing here passes or fails.
"""

from __future__ import annotations

import argparse
import importlib
import multiprocessing
import os
import platform
from concurrent.futures import ProcessPoolExecutor

from figures import Figure, table

MEASURES = (
    "measure_start", "measure_recipe", "measure_understand", "measure_answer", "measure_listening", "measure_record",
)  # fmt: skip


def measured(name: str, rounds: int) -> list[Figure]:
    return list(importlib.import_module(name).figures(rounds))


def load() -> str:
    return f"{os.getloadavg()[0]:.1f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=7, help="of each measure")
    rounds = parser.parse_args().rounds
    print(
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        f"load at the start {load()}"
    )
    alone = ProcessPoolExecutor(
        max_workers=1, mp_context=multiprocessing.get_context("spawn"), max_tasks_per_child=1
    )
    with alone:
        for name in MEASURES:
            print(table(alone.submit(measured, name, rounds).result()), flush=True)
    print(f"load at the end {load()}")


if __name__ == "__main__":
    main()
