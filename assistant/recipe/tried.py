"""A problem at one pair of set temperatures: dwell with its allowances, ramp, cooling, margins; each computed once."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache, cached_property
from math import inf
from typing import TYPE_CHECKING

from assistant.recipe.conduction import Conduction
from assistant.recipe.plan import Plan, PlanRun
from assistant.recipe.problem import Column, Problem, Side, guarded
from assistant.recipe.stack import Stack

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

ROUNDING = 1e-9
SEARCH_FINENESS = 0.5  # the halved grid: its error is far below what settings differ by
SENSORS = "platen sensors read high"


@dataclass(frozen=True)
class Parts:
    """What the dwell is made of, s, before it is rounded; counted from the later platen at set temperature.

    fused_s: the coldest point at fusion and its margin, below zero if before the platens; edges_s: later than
    that under colder edges; longer_s: how much later with each quantity at the quantile's far end.
    """

    fused_s: float
    edges_s: float
    longer_s: dict[str, float]

    @property
    def spread_s(self) -> float:
        return math.sqrt(sum(seconds**2 for seconds in self.longer_s.values()))


class Lines:
    """One column divided into cells: as planned, with its fusion margin, and with each quantity otherwise."""

    def __init__(self, problem: Problem, column: Column, fineness: float, early_s: float) -> None:
        self.problem, self.column = problem, column
        self._grid = (fineness, early_s)
        self.plain = self.divided(column.stack, 0.0)
        self.share: Floats = self.plain.belt(self.plain.steady(1.0, 0.0))
        self.heat_per_K_J_m2K = column.stack.heat_per_K_J_m2K

    def divided(self, stack: Stack, margin_K: float) -> Conduction:
        """A lay-up on this grid, its fusion told so much hotter."""
        return Conduction(guarded(stack, margin_K), *self._grid)

    @cached_property
    def guarded(self) -> Conduction:
        return self.divided(self.column.stack, self.problem.above_fusion_K)

    @cached_property
    def varied(self) -> dict[str, Conduction]:
        varied = self.problem.uncertain.varied(self.column.stack, self.problem.far)
        return {label: self.divided(stack, self.problem.above_fusion_K) for label, stack in varied.items()}

    def margins_K(self, upper_K: Floats | float, lower_K: Floats | float) -> tuple[Floats, Floats]:
        """How far the coldest point settles above fusion, the hottest below damage, sensors and edges at their
        worst and overshoot counted; for arrays of settings at once."""
        import numpy as np

        problem, share = self.problem, self.share[:, None]
        up, low = np.atleast_1d(upper_K)[None, :], np.atleast_1d(lower_K)[None, :]
        a, b = problem.upper, problem.lower
        cold = share * (up - a.edge_deficit_K - problem.z * a.sensor_error_K)
        cold = cold + (1 - share) * (low - b.edge_deficit_K - problem.z * b.sensor_error_K)
        over_a = np.array([a.overshoot_K(float(one), self.heat_per_K_J_m2K) for one in up[0]])
        over_b = np.array([b.overshoot_K(float(one), self.heat_per_K_J_m2K) for one in low[0]])
        hot = share * (up + problem.z * a.sensor_error_K + over_a)
        hot = hot + (1 - share) * (low + problem.z * b.sensor_error_K + over_b)
        body = self.plain
        return (cold - body.fusion_K[:, None]).min(axis=0), (body.damage_K[:, None] - hot).min(axis=0)

    def plan(self, upper_K: float, lower_K: float, dwell_s: float | None = None) -> Plan:
        problem = self.problem
        return problem.plan(self.column.stack, problem.upper.at(upper_K), problem.lower.at(lower_K), dwell_s)

    def heated(self, upper_K: float, lower_K: float, dwell_s: float | None = None) -> PlanRun:
        """As planned, on the press as it is."""
        return PlanRun(self.plan(upper_K, lower_K, dwell_s), body=self.plain)

    def after_s(
        self, body: Conduction, upper_K: float, lower_K: float, ramp_counts: bool, *,
        off_K: tuple[float, float] = (0.0, 0.0), edge: bool = False,
    ) -> float:  # fmt: skip
        """Fusion of the coldest point of `body` after the displays are at set temperature (under the edges: those
        of the middle). off_K: how much hotter the platens are than they read."""
        problem = self.problem
        sides = (problem.upper, problem.lower) if ramp_counts else (_hot(problem.upper), _hot(problem.lower))
        upper, lower = (
            side.at(set_K, off_K=off, edge=edge)
            for side, set_K, off in zip(sides, (upper_K, lower_K), off_K, strict=True)
        )
        run = PlanRun(problem.plan(body.stack, upper, lower), body=body)
        return inf if run.fused_s is None or run.later_s is None else run.fused_s - run.later_s

    def parts(self, upper_K: float, lower_K: float, ramp_counts: bool) -> Parts | None:
        """None where something never fuses or a platen never arrives."""
        problem = self.problem
        a, b, z = problem.upper, problem.lower, problem.z

        def after_s(body: Conduction, off: float = 0.0, edge: bool = False) -> float:
            off_K = (-off * a.sensor_error_K, -off * b.sensor_error_K)
            return self.after_s(body, upper_K, lower_K, ramp_counts, off_K=off_K, edge=edge)

        here_s = after_s(self.guarded)
        edges_s = after_s(self.guarded, edge=True) if a.edge_deficit_K or b.edge_deficit_K else here_s
        there_s = {label: after_s(body) for label, body in self.varied.items()}
        if a.sensor_error_K or b.sensor_error_K:
            worst_K = z * max(a.sensor_error_K, b.sensor_error_K)
            there_s[f"{SENSORS} by {worst_K:.1f} K"] = after_s(self.guarded, off=z)
        if inf in (here_s, edges_s, *there_s.values()):
            return None
        return Parts(
            here_s,
            max(0.0, edges_s - here_s),
            {label: max(0.0, seconds - here_s) for label, seconds in there_s.items()},
        )

    def near_damage_s(self, upper_K: float, lower_K: float, dwell_s: float) -> float:
        """Longest that any point is near damage up to the end of the dwell, sensors reading low, overshoot counted."""
        import numpy as np

        problem, heat = self.problem, self.heat_per_K_J_m2K
        body, z = self.plain, problem.z
        if float(self.margins_K(upper_K, lower_K)[1][0]) >= problem.near_damage_K:
            return 0.0
        upper, lower = (
            side.at(set_K, off_K=z * side.sensor_error_K + side.overshoot_K(set_K, heat))
            for side, set_K in ((problem.upper, upper_K), (problem.lower, lower_K))
        )
        run = PlanRun(problem.plan(self.column.stack, upper, lower, dwell_s), body=body)
        if run.cool_on_s is None:
            return 0.0
        times = np.linspace(0.0, run.cool_on_s, 400)
        near = run.heated.belt(times) > body.damage_K[:, None] - problem.near_damage_K
        return float(near.mean(axis=1).max() * run.cool_on_s)


def _hot(side: Side) -> Side:
    return replace(side, platen=replace(side.platen, rate_K_s=None, driven=None))


class Rig:
    """A problem on one grid, looked at under as many settings as needed. All temperatures K, times s.

    later_s, dwell_s, cooling_s are infinite where something never happens.
    """

    def __init__(self, problem: Problem, fineness: float = 1.0, early_s: float = inf) -> None:
        self.problem, self._grid = problem, (fineness, early_s)
        self.lines = tuple(Lines(problem, column, fineness, early_s) for column in problem.columns)
        self.later_s = cache(self._later_s)
        self.parts = cache(self._parts)
        self.cooling_s = cache(self._cooling_s)
        self.near_damage_s = cache(self._near_damage_s)

    def under(self, problem: Problem) -> Rig:
        """The same lay-ups and platens under other limits: what does not depend on them is not computed again."""
        other = Rig(problem, *self._grid)
        other.later_s, other.cooling_s, other.near_damage_s = self.later_s, self.cooling_s, self.near_damage_s
        if problem.above_fusion_K == self.problem.above_fusion_K:  # the one margin that the dwell depends on
            other.lines, other.parts = self.lines, self.parts
        return other

    def _later_s(self, upper_K: float, lower_K: float) -> float:
        found = [line.heated(upper_K, lower_K).later_s for line in self.lines]
        return max(inf if one is None else one for one in found)

    def _parts(self, upper_K: float, lower_K: float) -> tuple[int, Parts] | None:
        """Of the column that takes longest, and which it is; None where one never fuses."""
        each = [line.parts(upper_K, lower_K, self.problem.ramp_counts) for line in self.lines]
        if None in each:
            return None
        found = [(index, one) for index, one in enumerate(each) if one is not None]
        return max(found, key=lambda one: one[1].fused_s + one[1].edges_s + one[1].spread_s)

    def needed_s(self, upper_K: float, lower_K: float) -> float:
        """The dwell with every allowance, not rounded; below zero where all is done on the way."""
        found = self.parts(upper_K, lower_K)
        if found is None:
            return inf
        parts, problem = found[1], self.problem
        lag_s = max(problem.upper.sensor_lag_s, problem.lower.sensor_lag_s)
        return parts.fused_s + parts.edges_s + parts.spread_s + lag_s + problem.hold_s

    def dwell_s(self, upper_K: float, lower_K: float) -> float:
        if self.problem.dwell_s is not None:
            return self.problem.dwell_s
        return max(0.0, self.needed_s(upper_K, lower_K))

    def _cooling_s(self, upper_K: float, lower_K: float, dwell_s: float) -> float:
        found = [line.heated(upper_K, lower_K, dwell_s).cold_s for line in self.lines]
        return max(inf if one is None else one for one in found)

    def _near_damage_s(self, upper_K: float, lower_K: float, dwell_s: float) -> float:
        return max(line.near_damage_s(upper_K, lower_K, dwell_s) for line in self.lines)

    def cycle_s(self, upper_K: float, lower_K: float) -> float:
        later_s, dwell_s = self.later_s(upper_K, lower_K), self.dwell_s(upper_K, lower_K)
        if inf in (later_s, dwell_s):
            return inf
        return later_s + dwell_s + self.cooling_s(upper_K, lower_K, dwell_s)

    def margins_K(self, upper_K: Floats | float, lower_K: Floats | float) -> tuple[Floats, Floats]:
        """As those of a line; the worst of all columns."""
        import numpy as np

        each = [line.margins_K(upper_K, lower_K) for line in self.lines]
        return np.min([one[0] for one in each], axis=0), np.min([one[1] for one in each], axis=0)

    def broken(self, upper_K: float, lower_K: float) -> tuple[str, ...]:
        """Which limits the setting breaks, by their keys in `limits`; none: it is allowed."""
        problem = self.problem
        above_K, below_K = (float(one[0]) for one in self.margins_K(upper_K, lower_K))
        found = [
            key
            for key, bad in (
                ("upper_lowest", upper_K < problem.upper.lowest_K - ROUNDING),
                ("upper_highest", upper_K > problem.upper.highest_K + ROUNDING),
                ("lower_lowest", lower_K < problem.lower.lowest_K - ROUNDING),
                ("lower_highest", lower_K > problem.lower.highest_K + ROUNDING),
                ("above_fusion", above_K < problem.above_fusion_K - ROUNDING),
                ("below_damage", below_K < problem.below_damage_K - ROUNDING),
            )
            if bad
        ]
        if found:
            return tuple(found)
        if self.later_s(upper_K, lower_K) == inf:
            return ("power",)
        needed_s, dwell_s = self.needed_s(upper_K, lower_K), self.dwell_s(upper_K, lower_K)
        if needed_s == inf:
            return ("above_fusion",)
        if problem.dwell_s is not None and needed_s > problem.dwell_s + ROUNDING:
            found.append("fixed_dwell")
        if dwell_s > problem.longest_dwell_s + ROUNDING:
            found.append("longest_dwell")
        if self.near_damage_s(upper_K, lower_K, dwell_s) > problem.longest_near_damage_s + ROUNDING:
            found.append("near_damage")
        if self.cooling_s(upper_K, lower_K, dwell_s) == inf:
            found.append("cooling")
        return tuple(found)
