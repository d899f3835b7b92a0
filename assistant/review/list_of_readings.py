"""Statistics of a plain list of numbers, whatever they are of: chart, signals, capability."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import stdev

from assistant.bench.bad_data import BadData, read_bytes
from assistant.review.statistics import PRINTED_D2, PRINTED_D4, Chart, Signal, chart, cpk, signals

MOST = 100_000
_DOUBTFUL = re.compile(r"[+-]?[0-9]+,[0-9]+")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")


@dataclass(frozen=True)
class Told:
    """sigma: from the mean moving range; overall_sigma: sample standard deviation (n - 1), None under two points.

    cpk: of `sigma` against the limits, None without limits.
    """

    chart: Chart
    signals: tuple[Signal, ...]
    sigma: float | None
    overall_sigma: float | None
    cpk: float | None


def numbers_in(text: str, name: str) -> tuple[float, ...]:
    """Numbers apart by blanks, commas, semicolons or ends of lines; from '#' on a line is a remark.

    Raises: BadData, with the line, for a word that is no number, for none or for too many.
    """
    found: list[float] = []
    for at, line in enumerate(text.splitlines(), 1):
        told = line.partition("#")[0].strip()
        if doubtful := next((word for word in re.split(r"[\s;]+", told) if _DOUBTFUL.fullmatch(word)), None):
            raise BadData(
                f"{name}, line {at}: '{doubtful[:40]}' may be one number or two; write a point, or a blank between."
            )
        for word in re.split(r"[\s,;]+", told):
            if word and not _NUMBER.fullmatch(word):
                raise BadData(
                    f"{name}, line {at}: '{word[:40]}' is not a number; write one a line, with a point."
                )
            if word:
                found.append(float(word))
    if not found:
        raise BadData(f"{name}: there is no number in it; write one a line.")
    if len(found) > MOST:
        raise BadData(f"{name}: more than {MOST} numbers; give fewer.")
    return tuple(found)


def read_numbers(path: Path) -> tuple[float, ...]:
    """Raises: BadData as `numbers_in`, and for a file that is not text."""
    try:
        text = read_bytes(path).decode("utf-8")
    except UnicodeDecodeError:
        raise BadData(f"{path} is not text (UTF-8): give a file of numbers, one a line.") from None
    return numbers_in(text, str(path))


def told_of(
    points: Sequence[float], rules: Sequence[str], low: float | None = None, high: float | None = None,
    d2: float = PRINTED_D2, d4: float = PRINTED_D4,
) -> Told:  # fmt: skip
    """Chart, signals by `rules` and capability against `low` and `high`. Raises: NoStatistic as `cpk`."""
    made = chart(points, d2, d4)
    overall = stdev(points) if len(points) > 1 else None
    bounded = low is not None or high is not None
    able = cpk(made.centre, made.sigma or 0.0, low, high) if bounded else None
    return Told(made, signals(made, rules), made.sigma, overall, able)
