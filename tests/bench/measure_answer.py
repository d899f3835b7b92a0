"""From a typed line to the answer, on a real log that is synced to disk: `python tests/bench/measure_answer.py`.

The scripted technician types the whole example job on the simulated press; each of its lines is one case, from
the line to the answer that has been decided, written and synced. Writes in the folder where it is run.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from statistics import median, quantiles

from figures import Figure, table, wall_s

from assistant.opening import Bench, open_bench
from assistant.practice.bench import PracticeBench
from assistant.practice.script import load_script


def answer_times(bench: Bench) -> list[tuple[float, float, str]]:
    """(seconds, of the processor, act and words) of every line of one whole job."""
    practice = PracticeBench(bench, load_script(), datetime.now(UTC))
    times = []
    while (wish := practice.next()) is not None:
        act = practice.session.state.act
        begun_s = time.process_time()
        took_s = wall_s(lambda: practice.typed(wish.words))
        times.append((took_s, time.process_time() - begun_s, f"'{wish.words}' at {act}"))
    assert practice.session.state.closed == "accepted"
    return times


def figures(rounds: int) -> Iterator[Figure]:
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        bench = open_bench(Path(name))
        times = [case for _ in range(rounds) for case in answer_times(bench)]
    seconds = [took_s for took_s, _, _ in times]
    processor_s = [used_s for _, used_s, _ in times]
    longest_s, used_s, where = max(times)
    yield Figure(
        "typed line to answer, median",
        f"{1e3 * median(seconds):.1f} ms",
        f"processor {1e3 * median(processor_s):.1f} ms; {len(times)} lines of whole jobs",
    )
    yield Figure(
        "typed line to answer, p95",
        f"{1e3 * quantiles(seconds, n=20)[18]:.0f} ms",
        f"processor {1e3 * quantiles(processor_s, n=20)[18]:.0f} ms",
    )
    yield Figure(
        "typed line to answer, longest",
        f"{1e3 * longest_s:.0f} ms",
        f"processor {1e3 * used_s:.0f} ms; {where}",
    )


if __name__ == "__main__":
    print(table(figures(3)))
