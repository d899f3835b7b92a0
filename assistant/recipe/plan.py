"""A heating given in full: a lay-up, two platens of any kind, cooling, and what is wanted of it.

Nothing comes from a catalogue here. A platen follows a ramp, is hot when the lay-up is closed, or is driven
by its heater; each may cool by a law of its own or by a loss to its coolant.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf
from typing import TYPE_CHECKING

from assistant.recipe.conduction import Conduction, Driven, Follows
from assistant.recipe.healing import Reptation
from assistant.recipe.platen import LONGEST_RAMP_S, fusion_time
from assistant.recipe.run import FOREVER_S, Run, first_time, first_time_ever
from assistant.recipe.stack import Stack

if TYPE_CHECKING:
    from assistant.recipe.conduction import Boundary, Floats

SAMPLES = 400
NO_DWELL_S = 7200.0  # looked at so long at least where nothing tells when it ends
AFTER = 3.0  # times the slowest decay of the lay-up: so long after cool-down began its inside may grow hotter


@dataclass(frozen=True)
class Cooling:
    """Either tau_s: the platen falls towards the coolant with that time constant; or coefficient: the platen,
    having mass, loses heat to the coolant."""

    coolant_K: float
    tau_s: float | None = None
    coefficient_W_m2K: float | None = None


@dataclass(frozen=True)
class PlatenPlan:
    """rate_K_s: on a ramp; driven: by a heater, with mass and loss; neither: at `set_K` from the beginning."""

    set_K: float
    start_K: float
    rate_K_s: float | None = None
    driven: Driven | None = None
    cooling: Cooling | None = None

    @property
    def ramp_s(self) -> float | None:
        """When a prescribed platen is at its set temperature; None for a driven one, whose time is found."""
        if self.driven is not None:
            return None
        return 0.0 if self.rate_K_s is None else abs(self.set_K - self.start_K) / self.rate_K_s

    def on_its_way(self, now_s: float) -> Boundary:
        if self.driven is not None:
            return self.driven
        slope = (self.rate_K_s or 0.0) * (1 if self.set_K >= self.start_K else -1)
        return Follows(self.start_K + slope * now_s, slope)

    def cooled(self, from_K: float) -> Boundary:
        law = self.cooling
        if law is None:
            return Follows(from_K)
        if law.tau_s is not None:
            return Follows(from_K, towards_K=law.coolant_K, tau_s=law.tau_s)
        capacity = self.driven.capacity_J_m2K if self.driven else 0.0
        return Driven(capacity, 0.0, law.coefficient_W_m2K or 0.0, law.coolant_K)


@dataclass(frozen=True)
class Plan:
    """SI. dwell_s None: as long as needed. release_K None: no cooling is wanted. points_m: depths below the
    lay-up's upper face whose temperatures are wanted at `times_s`."""

    stack: Stack
    upper: PlatenPlan
    lower: PlatenPlan
    start_K: float
    hold_s: float
    dwell_s: float | None = None
    release_K: float | None = None
    times_s: tuple[float, ...] = ()
    points_m: tuple[float, ...] = ()
    healing: Reptation = field(default_factory=Reptation)

    @property
    def platens(self) -> tuple[PlatenPlan, PlatenPlan]:
        return self.upper, self.lower

    @property
    def cools(self) -> bool:
        return self.release_K is not None and all(platen.cooling for platen in self.platens)

    def with_stack(self, stack: Stack) -> Plan:
        return replace(self, stack=stack)

    def colder(self, kelvin: float) -> Plan:
        """Both platens set so much colder, whatever they are told to reach."""
        upper, lower = (
            replace(p, set_K=p.set_K - kelvin, start_K=min(p.start_K, p.set_K - kelvin)) for p in self.platens
        )
        return replace(self, upper=upper, lower=lower)


@dataclass(frozen=True)
class Seen:
    """At `times_s`: platens (2, times), belt points, both faces of each layer (layers, 2, times), points asked
    for, all K; flow_W_m2 into the lay-up through its upper and its lower face, not a number where it is without
    bound."""

    times_s: Floats
    platens_K: Floats
    belt_K: Floats
    faces_K: Floats
    points_K: Floats
    flow_W_m2: Floats

    @property
    def told_K(self) -> Floats:
        """All temperatures that are told, on any grid as many."""
        import numpy as np

        belt = self.belt_K
        rows = (self.platens_K, belt[[0, -1]], belt.min(axis=0)[None], belt.max(axis=0)[None], self.points_K)
        return np.concatenate((*rows, self.faces_K[:, 0], self.faces_K[:, 1]))


class PlanRun:
    """A plan on one grid: each thing computed once, when it is asked for. Times in s from the beginning.

    body: the plan's stack as it has been divided already, where it is looked at under many settings.
    """

    def __init__(
        self, plan: Plan, fineness: float = 1.0, early_s: float = inf, body: Conduction | None = None
    ) -> None:
        self.plan, self.body = plan, body or Conduction(plan.stack, fineness, early_s)

    def like(self, plan: Plan, finer: float = 1.0) -> PlanRun:
        """Another plan on a grid of the same kind, or on one so many times finer."""
        return PlanRun(plan, self.body.fineness * finer, self.body.early_s)

    @cached_property
    def _warmed(self) -> tuple[Run, tuple[float | None, float | None]]:
        """Up to and into the hold, and when each platen was at set temperature."""
        platens = self.plan.platens
        at: list[float | None] = [
            0.0 if platen.ramp_s == 0 or (platen.driven and platen.start_K >= platen.set_K - 1e-9) else None
            for platen in platens
        ]
        run, nodes, now = Run(self.body), self.body.uniform(self.plan.start_K), 0.0
        nodes[0], nodes[-1] = (
            platen.set_K if there == 0 else platen.start_K for platen, there in zip(platens, at, strict=True)
        )
        while True:
            ends = [
                platen.on_its_way(now) if there is None else Follows(platen.set_K)
                for platen, there in zip(platens, at, strict=True)
            ]
            run = run.then(now, nodes, ends[0], ends[1])
            arrival = self._next(run, now, at)
            if arrival is None:
                return run, (at[0], at[1])
            now, which = arrival
            nodes = run.now(now)
            at[which] = now
            nodes[(0, -1)[which]] = platens[which].set_K

    def _next(self, run: Run, now_s: float, at: list[float | None]) -> tuple[float, int] | None:
        """The next platen to arrive, and when."""
        found: list[tuple[float, int]] = []
        for which, platen in enumerate(self.plan.platens):
            if at[which] is not None:
                continue
            if platen.ramp_s is not None:
                found.append((platen.ramp_s, which))
                continue

            def short(t_s: Floats, row: int = (0, -1)[which], goal_K: float = platen.set_K) -> Floats:
                gap: Floats = run.segments[-1].nodes(t_s)[row] - goal_K
                return gap

            surely = self.settles(at)[which] > platen.set_K + 1e-6
            after_s = first_time_ever(short, 0.0, FOREVER_S if surely else LONGEST_RAMP_S)
            if after_s is not None:
                found.append((now_s + after_s, which))
        return min(found, default=None)

    def settles(self, at: Sequence[float | None]) -> tuple[float, float]:
        """Where the platens would come to, K, those that have arrived (`at`) being held."""
        upper, lower = (
            platen.driven if platen.driven is not None and there is None else Follows(platen.set_K)
            for platen, there in zip(self.plan.platens, at, strict=True)
        )
        return self.body.settles(upper, lower)

    @property
    def heated(self) -> Run:
        return self._warmed[0]

    @property
    def set_s(self) -> tuple[float | None, float | None]:
        return self._warmed[1]

    @property
    def later_s(self) -> float | None:
        upper, lower = self.set_s
        return None if upper is None or lower is None else max(upper, lower)

    @cached_property
    def fused_s(self) -> float | None:
        if self.later_s is None:
            return first_time_ever(self.heated.coldest_over_fusion_K, 0.0)
        return fusion_time(self.heated, 0.0, self.plan.upper.set_K, self.plan.lower.set_K)

    @property
    def needed_dwell_s(self) -> float | None:
        if self.fused_s is None or self.later_s is None:
            return None
        return max(0.0, self.fused_s + self.plan.hold_s - self.later_s)

    @property
    def dwell_s(self) -> float | None:
        return self.plan.dwell_s if self.plan.dwell_s is not None else self.needed_dwell_s

    @property
    def cool_on_s(self) -> float | None:
        return None if self.later_s is None or self.dwell_s is None else self.later_s + self.dwell_s

    @cached_property
    def run(self) -> Run:
        """All of it; without cooling the hold goes on."""
        if self.cool_on_s is None or not self.plan.cools:
            return self.heated
        nodes = self.heated.now(self.cool_on_s)
        ends = [
            platen.cooled(float(nodes[row])) for platen, row in zip(self.plan.platens, (0, -1), strict=True)
        ]
        return self.heated.then(self.cool_on_s, nodes, ends[0], ends[1])

    def settled(self) -> Floats:
        """Node temperatures after a very long time: a platen that arrives is held, another stays where it settles."""
        return self.body.steady(*self.settles(self.set_s))

    @cached_property
    def end_s(self) -> float:
        """How long it is looked at for the greatest heat: to the end of the dwell, and on while the inside may
        still grow hotter; if the dwell has no end, until all has settled."""
        slowest_s = 1 / float(self.body.decay_rates_1_s[0])
        if self.cool_on_s is None:
            return max(NO_DWELL_S, (self.later_s or 0.0) + 10 * slowest_s)
        return self.cool_on_s + (AFTER * slowest_s if self.plan.cools else 0.0)

    @cached_property
    def damaged_s(self) -> float | None:
        """When a belt point first passes its damage temperature, be it after cool-down has begun."""
        dwell_ends_s = self.end_s if self.cool_on_s is None else self.cool_on_s
        found = first_time(self.run.over_damage_K, 0.0, dwell_ends_s, SAMPLES)
        if found is None and self.end_s > dwell_ends_s:
            found = first_time(self.run.over_damage_K, dwell_ends_s, self.end_s, SAMPLES)
        return found

    @cached_property
    def cold_s(self) -> float | None:
        """From cool-down on until the hottest belt point is at release temperature."""
        return self._below(self.run.hottest_K)

    @cached_property
    def all_cold_s(self) -> float | None:
        """The same for everything, platens included."""
        return self._below(lambda t: self.run.nodes(t).max(axis=0))

    def _below(self, hottest: Callable[[Floats], Floats]) -> float | None:
        start_s, release_K = self.cool_on_s, self.plan.release_K
        if start_s is None or release_K is None or not self.plan.cools:
            return None
        found = first_time_ever(lambda t: release_K - hottest(t), start_s, self._patience_s(release_K))
        return None if found is None else found - start_s

    def _patience_s(self, level_K: float) -> float:
        """How long to wait for the lay-up to cool to a level: for ever if the coolants are below it."""
        coolants_K = [platen.cooling.coolant_K for platen in self.plan.platens if platen.cooling]
        return FOREVER_S if max(coolants_K) < level_K - 1e-6 else LONGEST_RAMP_S

    @cached_property
    def above_fusion_s(self) -> float | None:
        """How long the coldest point is above fusion; to the end of the dwell where nothing cools."""
        if self.fused_s is None or self.cool_on_s is None:
            return None
        if not self.plan.cools:
            return max(0.0, self.cool_on_s - self.fused_s)
        begin_s = self.fused_s
        if begin_s >= self.cool_on_s:  # perhaps after cool-down has begun, perhaps never
            late_s = first_time(self.run.coldest_over_fusion_K, self.cool_on_s, self.end_s, SAMPLES)
            if late_s is None:
                return 0.0
            begin_s = late_s
        patience_s = self._patience_s(float(self.body.fusion_K.min()))
        end_s = first_time_ever(
            lambda t: -self.run.coldest_over_fusion_K(t), max(begin_s, self.cool_on_s), patience_s
        )
        return None if end_s is None else end_s - begin_s

    @cached_property
    def seen(self) -> Seen:
        """At the times that are asked for, and at the end of the dwell (last) if it has one."""
        import numpy as np

        ends = () if self.cool_on_s is None else (self.cool_on_s,)
        return self.look(np.array([*self.plan.times_s, *ends], dtype=float))

    def look(self, times_s: Floats) -> Seen:
        """Temperatures and heat flow at some times. At the beginning the lay-up is as it was laid in."""
        import numpy as np

        body, nodes = self.body, self.run.nodes(times_s)
        belt, faces = body.belt(nodes), body.faces(nodes)
        rows = np.array([body.at_depth(depth_m) for depth_m in self.plan.points_m]).reshape(-1, body.size)
        points: Floats = rows @ nodes
        flow = np.array(
            [body.conductance[0] * (nodes[0] - nodes[1]), body.conductance[-1] * (nodes[-1] - nodes[-2])]
        )
        for columns in (belt, faces, points):
            columns[..., times_s <= 0] = self.plan.start_K
        for row, contact in (
            (0, self.plan.stack.contacts_m2K_W[0]),
            (-1, self.plan.stack.contacts_m2K_W[-1]),
        ):
            apart = nodes[row, times_s <= 0] - self.plan.start_K
            flow[row, times_s <= 0] = apart / contact if contact else np.where(apart == 0, 0.0, np.nan)
        return Seen(times_s, nodes[[0, -1]], belt, faces, points, flow)

    @cached_property
    def times(self) -> dict[str, float]:
        """Every time that is there, by name."""
        named: dict[str, float | None] = {
            "upper_set": self.set_s[0],
            "lower_set": self.set_s[1],
            "fused": self.fused_s,
            "damaged": self.damaged_s,
            "above_fusion": self.above_fusion_s,
            "cold": self.cold_s,
            "all_cold": self.all_cold_s,
        }
        return {name: value for name, value in named.items() if value is not None}
