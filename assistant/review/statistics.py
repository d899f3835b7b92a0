"""Statistics over many joints: individuals and moving-range chart, run rules, pass rate with an interval, Cpk.

Constants for a moving range of two: d2 = 2 / sqrt(pi), d3 = sqrt(2 - 4 / pi).
Source of the chart: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2; run rules as counted by Nelson,
J. Qual. Technol. 16 (1984). Few rules on purpose: each adds false alarms.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist

D2 = 2 / math.sqrt(math.pi)
D4 = 1 + 3 * math.sqrt(2 - 4 / math.pi) / D2
PRINTED_D2, PRINTED_D4 = 1.128, 3.267  # as tables and the handbook have them
PROVISIONAL = 20  # points; limits from fewer are called provisional (judgement)


class NoStatistic(ValueError):  # noqa: N818 - a refusal with its reason, not a fault
    """Its text is one sentence: what cannot be computed, and why."""


@dataclass(frozen=True)
class Chart:
    """Individuals x and their moving ranges. Limits None with fewer than two points.

    flat: all points are equal, so the limits lie on the centre and signal nothing.
    """

    points: tuple[float, ...]
    centre: float
    low: float | None
    high: float | None
    mean_range: float | None
    range_high: float | None
    ranges: tuple[float, ...]
    provisional: bool
    flat: bool

    @property
    def sigma(self) -> float | None:
        """Estimated from the mean moving range; None without limits or spread."""
        return None if self.high is None or self.flat else (self.high - self.centre) / 3


def chart(points: Sequence[float], d2: float = PRINTED_D2, d4: float = PRINTED_D4) -> Chart:
    """Control chart of individuals, in order of time.

    Args: d2, d4: as tables print them; `D2` and `D4` are exact. Raises: NoStatistic without points.
    """
    if not points or not all(math.isfinite(point) for point in points):
        raise NoStatistic("A chart needs at least one point, and all of them numbers.")
    centre = sum(points) / len(points)
    ranges = tuple(abs(b - a) for a, b in pairwise(points))
    provisional = len(points) < PROVISIONAL
    if not ranges:
        return Chart(tuple(points), centre, None, None, None, None, (), provisional, False)
    mean = sum(ranges) / len(ranges)
    reach = 3 * mean / d2
    flat = max(points) == min(points)
    return Chart(
        tuple(points), centre, centre - reach, centre + reach, mean, d4 * mean, ranges, provisional, flat
    )


@dataclass(frozen=True)
class Rule:
    """A run rule over a window of points in units of sigma from the centre."""

    key: str
    words: str
    window: int
    signals: Callable[[Sequence[float]], bool]


def _one_side(least: int, beyond: float) -> Callable[[Sequence[float]], bool]:
    return lambda z: sum(v > beyond for v in z) >= least or sum(v < -beyond for v in z) >= least


def _steady(z: Sequence[float]) -> bool:
    steps = [b - a for a, b in pairwise(z)]
    return all(step > 0 for step in steps) or all(step < 0 for step in steps)


def _alternating(z: Sequence[float]) -> bool:
    steps = [b - a for a, b in pairwise(z)]
    return all(a * b < 0 for a, b in pairwise(steps))


RULES: dict[str, Rule] = {
    rule.key: rule
    for rule in (
        Rule("beyond_3", "beyond three sigma", 1, _one_side(1, 3.0)),
        Rule("nine_on_one_side", "nine in a row on one side", 9, _one_side(9, 0.0)),
        Rule("eight_on_one_side", "eight in a row on one side", 8, _one_side(8, 0.0)),
        Rule("six_steady", "six in a row rising or falling", 6, _steady),
        Rule("fourteen_alternating", "fourteen in a row up and down by turns", 14, _alternating),
        Rule("two_of_three_beyond_2", "two of three beyond two sigma on one side", 3, _one_side(2, 2.0)),
        Rule("four_of_five_beyond_1", "four of five beyond one sigma on one side", 5, _one_side(4, 1.0)),
        Rule("fifteen_within_1", "fifteen in a row within one sigma", 15, lambda z: all(abs(v) < 1 for v in z)),
        Rule("eight_beyond_1", "eight in a row beyond one sigma, on both sides", 8, lambda z: all(abs(v) > 1 for v in z)),
    )
}  # fmt: skip
USUAL_RULES = ("beyond_3", "nine_on_one_side")  # enough for few joints


@dataclass(frozen=True)
class Signal:
    """`rule` is met by the window that ends at point `at` (from 0)."""

    rule: str
    at: int
    words: str


def signals(of: Chart, rules: Sequence[str] = USUAL_RULES) -> tuple[Signal, ...]:
    """Where the chart signals; nothing without limits or without spread. Raises: KeyError for an unknown rule."""
    wanted = [RULES[key] for key in rules]
    sigma = of.sigma
    if not sigma:
        return ()
    z = [(point - of.centre) / sigma for point in of.points]
    return tuple(
        Signal(rule.key, at, rule.words)
        for at in range(len(z))
        for rule in wanted
        if at + 1 >= rule.window and rule.signals(z[at + 1 - rule.window : at + 1])
    )


@dataclass(frozen=True)
class PassRate:
    """rate: passed over tried; wilson, exact (Clopper-Pearson): two-sided intervals."""

    passed: int
    tried: int
    rate: float
    wilson: tuple[float, float]
    exact: tuple[float, float]


def pass_rate(passed: int, tried: int, confidence: float = 0.95) -> PassRate:
    """Raises: NoStatistic for none tried, more passed than tried, a confidence outside (0, 1)."""
    if tried < 1:
        raise NoStatistic("No joint was judged: there is no pass rate and no interval.")
    if not 0 <= passed <= tried or not 0 < confidence < 1:
        raise NoStatistic(
            "Passed must lie between nought and the number tried, the confidence between 0 and 1."
        )
    from scipy.stats import beta

    tail, rate = (1 - confidence) / 2, passed / tried
    z = NormalDist().inv_cdf(1 - tail)
    middle = (rate + z * z / (2 * tried)) / (1 + z * z / tried)
    reach = z / (1 + z * z / tried) * math.sqrt(rate * (1 - rate) / tried + z * z / (4 * tried**2))
    low = 0.0 if passed == 0 else max(0.0, middle - reach)
    high = 1.0 if passed == tried else min(1.0, middle + reach)
    exact_low = 0.0 if passed == 0 else float(beta.ppf(tail, passed, tried - passed + 1))
    exact_high = 1.0 if passed == tried else float(beta.ppf(1 - tail, passed + 1, tried - passed))
    return PassRate(passed, tried, rate, (low, high), (exact_low, exact_high))


def cpk(mean: float, sigma: float, low: float | None = None, high: float | None = None) -> float:
    """Capability against one or both limits. Raises: NoStatistic for no spread, no limit, or limits that cross."""
    if not sigma > 0:
        raise NoStatistic("Without spread there is no capability.")
    if low is None and high is None:
        raise NoStatistic("Give a lower or an upper limit.")
    if low is not None and high is not None and low >= high:
        raise NoStatistic("The lower limit must lie below the upper one.")
    terms = []
    if high is not None:
        terms.append((high - mean) / (3 * sigma))
    if low is not None:
        terms.append((mean - low) / (3 * sigma))
    return min(terms)
