"""What a heating given in full comes to: times, temperatures, heat, healing, what is refused, how exact it is."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from assistant.recipe.conduction import Conduction
from assistant.recipe.healing import Healing, healing_of
from assistant.recipe.plan import Plan, PlanRun
from assistant.recipe.plan_exact import fine_enough
from assistant.recipe.plan_refused import No, notes, refused

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

NEAR_DAMAGE_K = 10.0


@dataclass(frozen=True)
class At:
    """Temperatures at one time, K: platens, belt faces, coldest and hottest belt point."""

    t_s: float
    upper_K: float
    lower_K: float
    top_face_K: float
    bottom_face_K: float
    coldest_K: float
    hottest_K: float
    coldest_depth_m: float


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
    heat_delivered_J_m2: by the heaters of driven platens up to then, None where a platen is prescribed.
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
    run, found_error = fine_enough(plan, error)
    cool_on_s = run.cool_on_s
    moments = _moments(run)
    curve = _at(run, moments)
    at = {point.t_s: point for point in curve}
    peak_surface_K, peak_belt_K = _peaks(run)
    return Answer(
        refused=refused(run),
        notes=notes(run),
        upper_set_s=run.set_s[0],
        lower_set_s=run.set_s[1],
        later_set_s=run.later_s,
        fused_s=run.fused_s,
        needed_dwell_s=run.needed_dwell_s,
        dwell_s=run.dwell_s,
        cool_on_s=cool_on_s,
        at_end_of_dwell=None if cool_on_s is None else at[cool_on_s],
        settled=_point(run.body, float("inf"), run.settled()),
        peak_surface_K=peak_surface_K,
        peak_belt_K=peak_belt_K,
        passes_damage_s=run.damaged_s,
        time_near_damage_s=_near_damage_s(run),
        above_fusion_s=run.above_fusion_s,
        belt_cold_s=run.cold_s,
        all_cold_s=run.all_cold_s,
        heat_stored_J_m2=None
        if cool_on_s is None
        else float(run.body.stored_J_m2(run.heated.now(cool_on_s), plan.start_K)),
        heat_delivered_J_m2=_delivered(run),
        decay_rates_1_s=tuple(float(rate) for rate in run.body.decay_rates_1_s[:5]),
        curve=tuple(at[moment] for moment in plan.times_s),
        healing_end_of_dwell=None if cool_on_s is None else healing_of(run.heated, cool_on_s, plan.healing),
        healing_needed_dwell=None
        if run.later_s is None or run.needed_dwell_s is None
        else healing_of(run.heated, run.later_s + run.needed_dwell_s, plan.healing),
        sensitivity=_sensitivity(run),
        numerical_error=found_error,
        numerical_error_K=float(abs(run.seen_K - run.like(plan, 0.5).seen_K).max(initial=0.0)),
        cells=run.body.size - 2,
    )


def _moments(run: PlanRun) -> tuple[float, ...]:
    extra = () if run.cool_on_s is None else (run.cool_on_s,)
    return tuple(sorted({*run.plan.times_s, *extra}))


def _at(run: PlanRun, moments: tuple[float, ...]) -> tuple[At, ...]:
    import numpy as np

    if not moments:
        return ()
    nodes = run.run.nodes(np.array(moments))
    return tuple(_point(run.body, moment, nodes[:, column]) for column, moment in enumerate(moments))


def _point(body: Conduction, t_s: float, nodes: Floats) -> At:
    belt = body.belt(nodes)
    coldest = int(belt.argmin())
    return At(
        t_s, float(nodes[0]), float(nodes[-1]), float(belt[0]), float(belt[-1]), float(belt[coldest]), float(belt.max()),
        float(body.depth_m[coldest]),
    )  # fmt: skip


def _sampled(run: PlanRun) -> tuple[Floats, Floats]:
    """Belt temperatures over heating, hold and the beginning of cooling."""
    import numpy as np

    stop_s = run.cool_on_s or 7200.0
    times = np.unique(np.concatenate((np.linspace(0.0, stop_s, 400), np.linspace(stop_s, 1.2 * stop_s, 40))))
    return times, run.run.belt(times)


def _peaks(run: PlanRun) -> tuple[float, float]:
    _, belt = _sampled(run)
    return float(belt[[0, -1]].max()), float(belt.max())


def _near_damage_s(run: PlanRun) -> float | None:
    import numpy as np

    if run.cool_on_s is None:
        return None
    times, belt = _sampled(run)
    hot = (belt > run.body.damage_K[:, None] - NEAR_DAMAGE_K)[:, :-1] & (times[:-1] < run.cool_on_s)
    return float((hot * np.diff(times)).sum(axis=1).max())


def _delivered(run: PlanRun) -> float | None:
    import numpy as np

    plan, stop_s = run.plan, run.cool_on_s
    if stop_s is None or plan.upper.driven is None or plan.lower.driven is None:
        return None
    edges = sorted({0.0, stop_s, *(s for s in run.heated.starts_s if s < stop_s)})
    times = np.unique(np.concatenate([np.linspace(a, b, 200) for a, b in pairwise(edges)]))
    nodes = run.heated.nodes(times)
    heat = float(run.body.stored_J_m2(nodes[:, -1], plan.start_K))
    for row, platen in ((0, plan.upper), (-1, plan.lower)):
        assert platen.driven is not None
        heat += platen.driven.capacity_J_m2K * float(nodes[row, -1] - platen.start_K)
        heat += platen.driven.loss_W_m2K * float(np.trapezoid(nodes[row] - platen.driven.around_K, times))
    return heat


def _sensitivity(run: PlanRun) -> tuple[Shift, ...]:
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
