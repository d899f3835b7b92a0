"""The shortest cycle among all settings that can be set and break no limit.

Hotter platens take longer to arrive and to cool, but fuse sooner. So a rectangle of settings can be no shorter
than the arrival and cooling of its coldest corner and the fusion of its hottest one: rectangles that cannot beat
what is found already are left out whole, the others are halved until single settings are left.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from itertools import count
from math import inf

from assistant.recipe.tried import ROUNDING, Rig

GOOD_ENOUGH_S = 0.05  # of a cycle: no rectangle is looked into for less
ENDS_K = 1e-6


@dataclass(frozen=True)
class Pair:
    """One pair of set temperatures and its cycle."""

    cycle_s: float
    upper_K: float
    lower_K: float


def steps_K(lowest_K: float, highest_K: float, step_K: float) -> list[float]:
    """What can be set from the lowest to the highest, in whole steps from the lowest; the highest always."""
    found = [lowest_K + step_K * i for i in range(int((highest_K - lowest_K) / step_K + ENDS_K) + 1)]
    return found if highest_K - found[-1] < ENDS_K else [*found, highest_K]


def shortest(rig: Rig, *, only_one: bool = False, known: Pair | None = None) -> list[Pair]:
    """Allowed settings from the shortest cycle upwards; empty where none is allowed.

    Only the first is surely the shortest; the others are what was looked at on the way. only_one: whether there is any,
    the shortest or not. known: a setting that is looked at first; the better it is, the less else has to be.
    """
    import numpy as np

    problem = rig.problem
    ups = steps_K(problem.upper.lowest_K, problem.upper.highest_K, problem.step_K)
    lows = steps_K(problem.lower.lowest_K, problem.lower.highest_K, problem.step_K)
    grid_u, grid_l = np.meshgrid(ups, lows, indexing="ij")
    above_K, below_K = (one.reshape(grid_u.shape) for one in rig.margins_K(grid_u.ravel(), grid_l.ravel()))
    clear = (above_K >= problem.above_fusion_K - ROUNDING) & (below_K >= problem.below_damage_K - ROUNDING)
    if problem.alike:
        clear &= np.isclose(grid_u, grid_l, atol=ENDS_K)
    tried: dict[tuple[int, int], Pair | None] = {}
    best_s, serial = inf, count()

    def look(i: int, j: int) -> None:
        nonlocal best_s
        if (i, j) in tried:
            return
        fits = not rig.broken(ups[i], lows[j])
        tried[i, j] = Pair(rig.cycle_s(ups[i], lows[j]), ups[i], lows[j]) if fits else None
        if (found := tried[i, j]) is not None:
            best_s = min(best_s, found.cycle_s)

    def bound_s(box: tuple[int, int, int, int]) -> float:
        a, b, c, d = box
        hot_s = rig.needed_s(ups[b], lows[d])
        if hot_s > (problem.longest_dwell_s if problem.dwell_s is None else problem.dwell_s) + ROUNDING:
            return inf
        cold, hot = (ups[a], lows[c]), (ups[b], lows[d])
        early_s, late_s = rig.later_s(*cold), rig.later_s(*hot)
        if early_s == inf:
            return inf
        dwell_s = rig.dwell_s(*hot)
        if problem.dwell_s is not None:
            least_s = early_s + problem.dwell_s
        else:
            # The ramp counts: what matters is when all is fused and held, not when the platens arrive.
            reached_s = late_s + hot_s if problem.ramp_counts and late_s < inf else early_s + hot_s
            least_s = max(early_s, reached_s)
        if least_s < best_s:  # what takes longest to compute only where it can matter
            least_s += rig.cooling_s(*cold, dwell_s)
        if least_s < best_s and rig.near_damage_s(*cold, dwell_s) > problem.longest_near_damage_s:
            return inf
        return least_s

    def offer(box: tuple[int, int, int, int]) -> None:
        a, b, c, d = box
        inside = np.argwhere(clear[a : b + 1, c : d + 1])
        if not len(inside):
            return
        a, b = a + int(inside[:, 0].min()), a + int(inside[:, 0].max())
        c, d = c + int(inside[:, 1].min()), c + int(inside[:, 1].max())
        least_s = bound_s((a, b, c, d))
        if least_s < best_s - GOOD_ENOUGH_S:
            heapq.heappush(waiting, (least_s, next(serial), (a, b, c, d)))

    if known is not None:
        at = [
            np.flatnonzero(np.isclose(one, set_K, atol=ENDS_K))
            for one, set_K in ((ups, known.upper_K), (lows, known.lower_K))
        ]
        if len(at[0]) and len(at[1]):
            look(int(at[0][0]), int(at[1][0]))
    waiting: list[tuple[float, int, tuple[int, int, int, int]]] = []
    offer((0, len(ups) - 1, 0, len(lows) - 1))
    while waiting and not (only_one and best_s < inf):
        least_s, _, (a, b, c, d) = heapq.heappop(waiting)
        if least_s >= best_s - GOOD_ENOUGH_S:
            break
        inside = np.argwhere(clear[a : b + 1, c : d + 1])
        middle = inside[np.abs(inside - [(b - a) / 2, (d - c) / 2]).sum(axis=1).argmin()]
        look(a + int(middle[0]), c + int(middle[1]))
        if b - a >= d - c and b > a:
            half = (a + b) // 2
            offer((a, half, c, d))
            offer((half + 1, b, c, d))
        elif d > c:
            half = (c + d) // 2
            offer((a, b, c, half))
            offer((a, b, half + 1, d))
    return sorted(
        (found for found in tried.values() if found is not None),
        key=lambda p: (round(p.cycle_s, 1), abs(p.upper_K - p.lower_K), p.upper_K + p.lower_K),
    )
