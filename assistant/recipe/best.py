"""The recipe for a problem given in full: the shortest cycle that breaks no limit, and all that is to be known of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from math import inf

from assistant.recipe.best_account import account
from assistant.recipe.best_otherwise import Otherwise, drawn_needs_s, otherwise
from assistant.recipe.best_refused import refuse
from assistant.recipe.healing import Healing, healing_of
from assistant.recipe.limits import Limit, Look, binding, look, told
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Infeasible, Item
from assistant.recipe.plan import PlanRun
from assistant.recipe.plan_exact import fine_enough
from assistant.recipe.problem import Problem
from assistant.recipe.refused import Refused
from assistant.recipe.shortest import Pair, shortest
from assistant.recipe.stack import Stack
from assistant.recipe.tried import SEARCH_FINENESS, Lines, Rig

TRIES = 12  # exact looks at what the rough search found, best first
LOOK_K = 5.0


@dataclass(frozen=True)
class ColumnFound:
    """One line through the lay-up at the recipe's settings. fused_s: from heat on; above_fusion_K, below_damage_K:
    settled, sensors and edges at their worst; above_fusion_s: of the coldest point, with the ramp and cooling."""

    name: str
    fused_s: float
    above_fusion_K: float
    below_damage_K: float
    hottest_K: float
    near_damage_s: float
    above_fusion_s: float | None
    healing: Healing


@dataclass(frozen=True)
class Best:
    """Set temperatures, times and their reasons; SI, times in s.

    needed_dwell_s: fusion and the holding time, as planned and on the press as it is. cooling_s: expected, to the hottest
    belt point at release; surely_cold_s: with a belt slow to cool and sensors that read low and lag.
    account: the seconds add up to the dwell. covered: share of drawn joints that are held above fusion long enough,
    margin not counted; sure: the share asked for. limits: those that bind. numerical_error: of the times, by halving the grid.
    """

    upper_K: float
    lower_K: float
    dwell_s: float
    ramp_s: float
    cooling_s: float
    cycle_s: float
    surely_cold_s: float
    needed_dwell_s: float
    release_K: float
    account: tuple[Item, ...]
    binding: str
    limits: tuple[Limit, ...]
    colder: Look
    hotter: Look
    columns: tuple[ColumnFound, ...]
    sensitivity: tuple[Otherwise, ...]
    sure: float
    covered: float
    numerical_error: float
    settings_tried: int


def best(problem: Problem) -> Best | Infeasible:
    """The shortest cycle, or why there is none and the nearest change. Raises: NotComputable."""
    try:
        return _best(problem)
    except Refused as no:
        return no.infeasible


def feasible(problem: Problem) -> bool:
    """Whether any setting is allowed, on the search's grid."""
    from assistant.recipe.best_refused import check

    try:
        check(problem)
        return bool(shortest(Rig(_without_melting(problem), SEARCH_FINENESS), only_one=True))
    except (Refused, NotComputable):
        return False


def _best(problem: Problem) -> Best:
    from assistant.recipe.best_refused import check

    check(problem)
    rough = Rig(_without_melting(problem), SEARCH_FINENESS)
    pairs = shortest(rough)
    if not pairs:
        raise refuse(problem, rough, feasible)
    rig, error = _fine(problem, pairs[0])
    exact: list[Pair] = []
    for pair in pairs[:TRIES]:
        if not rig.broken(pair.upper_K, pair.lower_K):
            exact.append(replace(pair, cycle_s=rig.cycle_s(pair.upper_K, pair.lower_K)))
            if pair.cycle_s > pairs[0].cycle_s + 2 * problem.error * pairs[0].cycle_s:
                break
    if not exact:
        raise refuse(problem, rig, feasible)
    chosen = min(exact, key=lambda one: round(one.cycle_s, 2))
    return _told(problem, rig, rough, chosen, error, len(pairs))


def _without_melting(problem: Problem) -> Problem:
    """For the search only: melting is slow to compute and moves the shortest cycle little."""
    if not any(layer.latent_J_kg for column in problem.columns for layer in column.stack.layers):
        return problem
    return replace(
        problem,
        columns=tuple(
            replace(
                column,
                stack=Stack(
                    tuple(replace(layer, latent_J_kg=0.0) for layer in column.stack.layers),
                    column.stack.contacts_m2K_W,
                ),
            )
            for column in problem.columns
        ),
    )


def _fine(problem: Problem, pair: Pair) -> tuple[Rig, float]:
    """On a grid good enough for every column at the setting found, and its error."""
    first = Rig(problem)
    finest, early_s, error = 1.0, inf, 0.0
    for line in first.lines:
        dwell_s = max(0.0, first.dwell_s(pair.upper_K, pair.lower_K))
        run, found = fine_enough(line.plan(pair.upper_K, pair.lower_K, dwell_s), problem.error)
        finest, early_s = max(finest, run.body.fineness), min(early_s, run.body.early_s)
        error = max(error, found)
    return (first if (finest, early_s) == (1.0, inf) else Rig(problem, finest, early_s)), error


def _told(problem: Problem, rig: Rig, rough: Rig, pair: Pair, error: float, tried: int) -> Best:
    upper_K, lower_K = pair.upper_K, pair.lower_K
    found = rig.parts(upper_K, lower_K)
    assert found is not None
    which, parts = found
    needs_s = drawn_needs_s(problem, rough, upper_K, lower_K)
    squares_s = rig.needed_s(upper_K, lower_K)
    wanted_s = needs_s[math.ceil(problem.sure * len(needs_s)) - 1]
    beyond_s = max(0.0, wanted_s - max(0.0, squares_s))
    if problem.dwell_s is not None:
        dwell_s, beyond_s = problem.dwell_s, 0.0
    else:
        if max(0.0, squares_s) + beyond_s > problem.longest_dwell_s:
            beyond_s = 0.0  # told by `covered`
        step_s = problem.dwell_step_s
        dwell_s = step_s * math.ceil((max(0.0, squares_s) + beyond_s) / step_s - 1e-9)
        dwell_s = min(dwell_s, max(squares_s + beyond_s, problem.longest_dwell_s))
    ramp_s, cooling_s = rig.later_s(upper_K, lower_K), rig.cooling_s(upper_K, lower_K, dwell_s)
    here = replace(pair, cycle_s=rough.cycle_s(upper_K, lower_K))
    limits = binding(rough, here)
    looks = look(rough, here, -LOOK_K), look(rough, here, LOOK_K)
    runs = [line.heated(upper_K, lower_K, dwell_s) for line in rig.lines]
    needed_s = max(run.needed_dwell_s or 0.0 for run in runs)
    return Best(
        upper_K=upper_K,
        lower_K=lower_K,
        dwell_s=dwell_s,
        ramp_s=ramp_s,
        cooling_s=cooling_s,
        cycle_s=ramp_s + dwell_s + cooling_s,
        surely_cold_s=_surely_cold_s(problem, rig, upper_K, lower_K, dwell_s),
        needed_dwell_s=needed_s,
        release_K=problem.release_K,
        account=account(problem, rig.lines[which], parts, upper_K, lower_K, dwell_s, beyond_s),
        binding=told(limits, looks),
        limits=limits,
        colder=looks[0],
        hotter=looks[1],
        columns=tuple(
            _column(line, run, upper_K, lower_K, dwell_s) for line, run in zip(rig.lines, runs, strict=True)
        ),
        sensitivity=otherwise(problem, upper_K, lower_K, dwell_s, rig.lines[0].plain.fineness),
        sure=problem.sure,
        covered=sum(one <= dwell_s + 1e-6 for one in needs_s) / len(needs_s),
        numerical_error=error,
        settings_tried=tried,
    )


def _column(line: Lines, run: PlanRun, upper_K: float, lower_K: float, dwell_s: float) -> ColumnFound:
    import numpy as np

    above_K, below_K = line.margins_K(upper_K, lower_K)
    stop_s = run.cool_on_s or 0.0
    return ColumnFound(
        line.column.name,
        run.fused_s or 0.0,
        float(above_K[0]),
        float(below_K[0]),
        float(run.run.hottest_K(np.append(np.linspace(0.0, 1.2 * stop_s + 1.0, 300), stop_s)).max()),
        line.near_damage_s(upper_K, lower_K, dwell_s),
        run.above_fusion_s,
        healing_of(run.heated, stop_s, line.problem.healing),
    )


def _surely_cold_s(problem: Problem, rig: Rig, upper_K: float, lower_K: float, dwell_s: float) -> float:
    """Infinite where it would not surely come so cold: `check` refuses that before."""
    error_K = problem.z * max(problem.upper.sensor_error_K, problem.lower.sensor_error_K)
    found = []
    for line in rig.lines:
        slow = line.column.stack.changed(contact_factor=problem.uncertain.contact_factor)
        plan = line.plan(upper_K, lower_K, dwell_s).with_stack(slow.off(conductivity=1.0, capacity=1.0))
        cold_s = PlanRun(replace(plan, release_K=problem.release_K - error_K), line.plain.fineness).cold_s
        if cold_s is None:
            raise Refused(
                "The belt would not surely be cold inside within hours.", "Cool with something colder."
            )
        found.append(cold_s)
    return max(found) + max(problem.upper.sensor_lag_s, problem.lower.sensor_lag_s)
