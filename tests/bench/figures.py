"""What a measure gives: lines of one table, and the two ways of timing that all measures share."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One line: what was measured, the figure with its unit, and what stands beside it (a ratio, a worst case)."""

    what: str
    measured: str
    beside: str = ""


def table(figures: Iterable[Figure]) -> str:
    return "\n".join(f"{f.what:<52}{f.measured:>14}  {f.beside}".rstrip() for f in figures)


def wall_s(work: Callable[[], object]) -> float:
    """Seconds by the clock on the wall of one run."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def processor_s(work: Callable[[], object]) -> float:
    """Processor seconds of one run."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def least_processor_s(work: Callable[[], object], rounds: int) -> float:
    """Processor seconds of the quickest of `rounds` runs: what else runs on the machine does not count."""
    return min(processor_s(work) for _ in range(rounds))
