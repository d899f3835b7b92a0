"""What a heating given in full comes to: times, temperatures, heat, healing, what is refused, how exact it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from assistant.recipe.conduction import slowest_rates_1_s
from assistant.recipe.healing import Healing, healing_of
from assistant.recipe.plan import SAMPLES, Plan, PlanRun, PlatenPlan
from assistant.recipe.plan_exact import change_of_times, fine_for_temperatures, fine_for_times
from assistant.recipe.plan_refused import No, notes, refused
from assistant.recipe.run import time_above_s

NEAR_DAMAGE_K = 10.0


@dataclass(frozen=True)
class At:
    """At one time: temperatures, K, of platens, belt faces, coldest and hottest belt point; heat flow into the
    lay-up through its upper and its lower face, None where a cold face touches a hot platen without resistance;
    heat stored in the lay-up; temperatures of the depths asked for, and of both faces of every layer."""

    t_s: float
    upper_K: float
    lower_K: float
    top_face_K: float
    bottom_face_K: float
    coldest_K: float
    hottest_K: float
    coldest_depth_m: float
    upper_flow_W_m2: float | None
    lower_flow_W_m2: float | None
    points_K: tuple[float, ...]
    layer_faces_K: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Shift:
    """What one wrong assumption does to the time of fusion, s. None: it then never fuses."""

    label: str
    fused_s: float | None


@dataclass(frozen=True)
class Answer:
    """Times in s from the beginning; `needed_dwell_s`, `dwell_s` from the later platen at set temperature;
    cooling from the end of the dwell. None: never, or not asked for.

    belt_cold_s: hottest belt point at release; all_cold_s: platens and plates as well. time_near_damage_s:
    longest that any belt point is within 10 K of its damage temperature up to the end of the dwell.
    All heat is up to the end of the dwell, melting included: stored in the lay-up, come in through its faces,
    given by the heaters (their losses included; None where a platen is prescribed, the sum where both have one).
    numerical_error: of the times, relative, by halving grid and steps; numerical_error_K: of the temperatures.
    """

    refused: tuple[No, ...]
    notes: tuple[str, ...]
    upper_set_s: float | None
    lower_set_s: float | None
    later_set_s: float | None
    fused_s: float | None
    needed_dwell_s: float | None
    dwell_s: float | None
    cool_on_s: float | None
    at_end_of_dwell: At | None
    settled: At
    peak_surface_K: float
    peak_belt_K: float
    passes_damage_s: float | None
    time_near_damage_s: float | None
    above_fusion_s: float | None
    belt_cold_s: float | None
    all_cold_s: float | None
    heat_stored_J_m2: float | None
    heat_through_upper_J_m2: float | None
    heat_through_lower_J_m2: float | None
    upper_heater_J_m2: float | None
    lower_heater_J_m2: float | None
    heat_delivered_J_m2: float | None
    decay_rates_1_s: tuple[float, ...]
    curve: tuple[At, ...]
    healing_end_of_dwell: Healing | None
    healing_needed_dwell: Healing | None
    sensitivity: tuple[Shift, ...]
    numerical_error: float
    numerical_error_K: float
    cells: int


def answer(plan: Plan, error: float = 0.002) -> Answer:
    """All of it, on a grid whose times change by no more than `error` when grid and steps are halved.

    Raises: NotComputable when no reasonable grid is fine enough.
    """
    rough, found_error = fine_for_times(plan, error)
    run, error_K = fine_for_temperatures(rough)
    if run is not rough:
        found_error = min(found_error, change_of_times(run, rough))
    cool_on_s, heat = run.cool_on_s, _heat(run)
    heaters = [given for given in heat.heaters if given is not None]
    curve = _points(run)
    peak_surface_K, peak_belt_K = _peaks(run)
    return Answer(
        refused=refused(run),
        notes=(*notes(run), *_inexact(found_error, error)),
        upper_set_s=run.set_s[0],
        lower_set_s=run.set_s[1],
        later_set_s=run.later_s,
        fused_s=run.fused_s,
        needed_dwell_s=run.needed_dwell_s,
        dwell_s=run.dwell_s,
        cool_on_s=cool_on_s,
        at_end_of_dwell=None if cool_on_s is None else curve[-1],
        settled=_settled(run),
        peak_surface_K=peak_surface_K,
        peak_belt_K=peak_belt_K,
        passes_damage_s=run.damaged_s,
        time_near_damage_s=_near_damage_s(run),
        above_fusion_s=run.above_fusion_s,
        belt_cold_s=run.cold_s,
        all_cold_s=run.all_cold_s,
        heat_stored_J_m2=heat.stored,
        heat_through_upper_J_m2=heat.through[0],
        heat_through_lower_J_m2=heat.through[1],
        upper_heater_J_m2=heat.heaters[0],
        lower_heater_J_m2=heat.heaters[1],
        heat_delivered_J_m2=sum(heaters) if len(heaters) == 2 else None,
        decay_rates_1_s=slowest_rates_1_s(plan.stack),
        curve=curve[: len(plan.times_s)],
        healing_end_of_dwell=None if cool_on_s is None else healing_of(run.heated, cool_on_s, plan.healing),
        healing_needed_dwell=None
        if run.later_s is None or run.needed_dwell_s is None
        else healing_of(run.heated, run.later_s + run.needed_dwell_s, plan.healing),
        sensitivity=_sensitivity(rough),
        numerical_error=found_error,
        numerical_error_K=error_K,
        cells=run.body.size - 2,
    )


def _inexact(found: float, wanted: float) -> tuple[str, ...]:
    if found <= wanted:
        return ()
    return (
        f"The times are exact to {100 * found:.2f} % only, not to the {100 * wanted:.2f} % asked for: it melts over too narrow a band.",
    )


def _points(run: PlanRun) -> tuple[At, ...]:
    """At the times asked for, and last at the end of the dwell if it has one."""
    seen, body = run.seen, run.body
    coldest = seen.belt_K.argmin(axis=0)
    return tuple(
        At(
            float(moment), float(seen.platens_K[0, i]), float(seen.platens_K[1, i]), float(seen.belt_K[0, i]),
            float(seen.belt_K[-1, i]), float(seen.belt_K[coldest[i], i]), float(seen.belt_K[:, i].max()),
            float(body.depth_m[coldest[i]]), _bounded(seen.flow_W_m2[0, i]), _bounded(seen.flow_W_m2[1, i]),
            tuple(float(value) for value in seen.points_K[:, i]),
            tuple((float(top), float(bottom)) for top, bottom in seen.faces_K[:, :, i]),
        )
        for i, moment in enumerate(seen.times_s)
    )  # fmt: skip


def _bounded(flow: float) -> float | None:
    return float(flow) if math.isfinite(flow) else None


@dataclass(frozen=True)
class _Heat:
    stored: float | None = None
    through: tuple[float | None, float | None] = (None, None)
    heaters: tuple[float | None, float | None] = (None, None)


def _heat(run: PlanRun) -> _Heat:
    """Up to the end of the dwell, J/m2."""
    import numpy as np

    plan, stop_s = run.plan, run.cool_on_s
    if stop_s is None:
        return _Heat()
    edges = sorted({0.0, stop_s, *(s for s in run.heated.starts_s if s < stop_s)})
    times = np.unique(np.concatenate([np.linspace(a, b, 200) for a, b in pairwise(edges)] or [np.zeros(1)]))
    nodes = run.heated.nodes(times)
    last = nodes[:, -1] if stop_s > 0 else run.body.uniform(plan.start_K)
    apart_Ks = float(np.trapezoid(nodes[0] - nodes[-1], times))
    through = run.body.through_J_m2(last, plan.start_K, apart_Ks)

    def heater(row: int, platen: PlatenPlan) -> float | None:
        if platen.driven is None:
            return None
        lost = platen.driven.loss_W_m2K * float(np.trapezoid(nodes[row] - platen.driven.around_K, times))
        return platen.driven.capacity_J_m2K * float(nodes[row, -1] - platen.start_K) + lost + through[row]

    heaters = heater(0, plan.upper), heater(-1, plan.lower)
    return _Heat(float(run.body.stored_J_m2(last, plan.start_K)), through, heaters)


def _settled(run: PlanRun) -> At:
    """After ever so long at the set temperatures."""
    body, nodes = run.body, run.settled()
    belt = body.belt(nodes)
    coldest = int(belt.argmin())
    flow = float(body.conductance[0] * (nodes[0] - nodes[1]))
    return At(
        math.inf, float(nodes[0]), float(nodes[-1]), float(belt[0]), float(belt[-1]), float(belt[coldest]),
        float(belt.max()), float(body.depth_m[coldest]), flow, -flow,
        tuple(float(body.at_depth(depth_m) @ nodes) for depth_m in run.plan.points_m),
        tuple((float(top), float(bottom)) for top, bottom in body.faces(nodes)),
    )  # fmt: skip


def _peaks(run: PlanRun) -> tuple[float, float]:
    """The hottest that the belt's surface, and any point of it, becomes."""
    import numpy as np

    stop_s = run.end_s if run.cool_on_s is None else run.cool_on_s
    whole = np.concatenate((np.linspace(0.0, stop_s, SAMPLES), np.linspace(stop_s, run.end_s, SAMPLES // 2)))
    times = np.unique(
        np.concatenate((whole, [at_s for at_s in run.set_s if at_s is not None and at_s < run.end_s]))
    )
    peaks = []
    for hottest in (lambda t: run.run.belt(t)[[0, -1]].max(axis=0), run.run.hottest_K):
        found = hottest(times)
        at = int(found.argmax())
        near = np.linspace(times[max(at - 1, 0)], times[min(at + 1, len(times) - 1)], 41)
        peaks.append(float(max(found[at], hottest(near).max())))
    return peaks[0], peaks[1]


def _near_damage_s(run: PlanRun) -> float | None:
    import numpy as np

    if run.cool_on_s is None:
        return None
    times = np.linspace(0.0, run.cool_on_s, SAMPLES)
    over = run.heated.belt(times) - (run.body.damage_K[:, None] - NEAR_DAMAGE_K)
    return float(time_above_s(times, over).max())


def _sensitivity(run: PlanRun) -> tuple[Shift, ...]:
    """Differences: where something melts, which is slow, those of the halved grid."""
    if run.body.melts:
        run = run.like(run.plan, 0.5)
    plan, stack, base_s = run.plan, run.plan.stack, run.fused_s
    if base_s is None:
        return ()
    others = {
        "belt 0.2 mm thicker": plan.with_stack(stack.changed(belt_thicker_m=0.2e-3)),
        "contact twice as bad": plan.with_stack(stack.changed(contact_factor=2.0)),
        "contact half as bad": plan.with_stack(stack.changed(contact_factor=0.5)),
        "belt conductivity 15 % less": plan.with_stack(stack.changed(conductivity_factor=0.85)),
        "belt heat capacity 20 % more": plan.with_stack(stack.changed(capacity_factor=1.2)),
        "platens 3 K colder": plan.colder(3.0),
    }
    shifts = []
    for label, other in others.items():
        fused_s = run.like(other).fused_s
        shifts.append(Shift(label, None if fused_s is None else fused_s - base_s))
    return tuple(shifts)
