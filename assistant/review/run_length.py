"""How often run rules cry out over nothing: the mean run length of a chart whose process has not changed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import NormalDist

import numpy as np

from assistant.review.statistics import RULES, USUAL_RULES


def mean_run_length(rules: Sequence[str] = USUAL_RULES) -> float | None:
    """Points on average until a false alarm, where the values are normal and nothing has changed.

    Exact for rules that look at zones only (Champ & Woodall, Technometrics 29 (1987)): a Markov chain over what
    the last points may still contribute. None where a rule looks at the order of values, or its windows are too
    long for the chain to stay small. Raises: KeyError for an unknown rule.
    """
    counts = {
        "beyond_3": (1, 1, 3.0), "two_of_three_beyond_2": (2, 3, 2.0), "four_of_five_beyond_1": (4, 5, 1.0),
        "eight_on_one_side": (8, 8, 0.0), "nine_on_one_side": (9, 9, 0.0),
    }  # fmt: skip
    if any(RULES[rule].key not in counts for rule in rules):
        return None
    sides = [
        (least, window, beyond, side)
        for rule in rules
        for least, window, beyond in (counts[rule],)
        for side in (1, -1)
    ]
    edges = (-math.inf, -3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0, math.inf)
    normal = NormalDist()
    zones = [((low + high) / 2 if math.isfinite(low + high) else (high - 1 if high < 0 else low + 1), high, low)
             for low, high in pairwise(edges)]  # fmt: skip
    chances = [_up_to(normal, high) - _up_to(normal, low) for _, high, low in zones]

    def after(state: tuple[int, ...], z: float) -> tuple[int, ...] | None:
        """The last points that count for each rule and side, as bits, the newest lowest; None: a signal."""
        found = []
        for bits, (least, window, beyond, side) in zip(state, sides, strict=True):
            now = bits << 1 | (side * z > beyond)
            if now.bit_count() >= least:
                return None
            now &= (1 << window - 1) - 1
            # An old point counts no more once the points to come cannot reach `least` while it is in the window.
            while now and window - now.bit_length() + now.bit_count() < least:
                now &= ~(1 << now.bit_length() - 1)
            found.append(now)
        return tuple(found)

    start = (0,) * len(sides)
    place, order, moves = {start: 0}, [start], []
    for state in order:
        for chance, (z, _, _) in zip(chances, zones, strict=True):
            then = after(state, z)
            if then is not None:
                if then not in place:
                    place[then] = len(order)
                    order.append(then)
                moves.append((place[state], place[then], chance))
    stay = np.zeros((len(order), len(order)))
    for here, there, chance in moves:
        stay[here, there] += chance
    return float(np.linalg.solve(np.eye(len(order)) - stay, np.ones(len(order)))[0])


def _up_to(normal: NormalDist, z: float) -> float:
    return normal.cdf(z) if math.isfinite(z) else float(z > 0)
