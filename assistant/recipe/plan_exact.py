"""How fine the grid has to be: refined until halving it changes no time, and no temperature asked for, by more than is allowed."""

from __future__ import annotations

from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Plan, PlanRun

FINEST = 16.0
KELVIN, FINEST_FOR_KELVIN = 0.02, 16.0  # temperatures at the times asked for: so exact, up to that grid
KELVIN_MELTING, FINEST_MELTING = 0.1, 2.0  # the same where something melts, which is slow
MOST_NODES = 1200  # of a grid that is refined for temperatures alone
FINEST_UNSMOOTH = (
    4.0  # melting over a degree or two goes cell by cell: finer hardly helps, and the error is told
)
ENDS = ("fused", "damaged", "cold")  # what the heat has to have gone into the layers for


def fine_enough(plan: Plan, error: float) -> tuple[PlanRun, float]:
    """The plan on a grid good enough for times and temperatures, and the change of its times as in `fine_for_times`.

    Raises: NotComputable when the finest grid is not good enough.
    """
    rough, found = fine_for_times(plan, error)
    run, _ = fine_for_temperatures(rough)
    return run, found if run is rough else change_of_times(run, run.like(plan, 0.5))


def fine_for_times(plan: Plan, error: float) -> tuple[PlanRun, float]:
    """The plan on a grid good enough for its times, and their change, relative, when grid and steps are halved.

    First all cells of a layer alike; where that does not do, small ones at the faces for the earliest event, and
    then finer. Raises: NotComputable when the finest grid is not good enough; where something melts, the change is
    then told instead.
    """
    run = PlanRun(plan)
    while True:
        coarse = run.like(plan, 0.5)
        found = change_of_times(run, coarse)
        if found <= error:
            if run.times.keys() == coarse.times.keys() or run.body.fineness >= FINEST / 4:
                return run, found
            run = run.like(plan, 2.0)
            continue
        if run.body.melts and run.body.fineness >= FINEST_UNSMOOTH:
            return run, found
        if run.body.fineness >= FINEST:
            raise NotComputable(
                f"The computed times still change by {100 * found:.2f} % when the grid is halved; check the thinnest layers."
            )
        here = run.times
        early_s = min((here[name] for name in ENDS if here.get(name, 0.0) > 0), default=run.body.early_s)
        finer = 1.0 if run.body.early_s > early_s * 4 else 2.0
        run = PlanRun(plan, run.body.fineness * finer, min(run.body.early_s, early_s))


def fine_for_temperatures(run: PlanRun) -> tuple[PlanRun, float]:
    """The same on a grid whose temperatures at the times asked for are exact to 0.02 K (0.1 K where something melts)
    if that can be had, and how much they change, K, when the grid is halved."""
    plan, melts = run.plan, run.body.melts
    wanted_K, finest = (KELVIN_MELTING, FINEST_MELTING) if melts else (KELVIN, FINEST_FOR_KELVIN)
    early_s = min((moment for moment in plan.times_s if moment > 0), default=run.body.early_s)
    coarse = run.like(plan, 0.5)
    while True:
        found_K = float(abs(run.seen.told_K - coarse.seen.told_K).max(initial=0.0))
        if found_K <= wanted_K:
            return run, found_K
        if run.body.early_s > early_s * 4 and run.body.size <= MOST_NODES:
            run = PlanRun(plan, run.body.fineness, early_s)
            coarse = run.like(plan, 0.5)
        elif run.body.fineness < finest and run.body.size <= MOST_NODES / 2:
            run, coarse = run.like(plan, 2.0), run
        else:
            return run, found_K


def change_of_times(run: PlanRun, coarse: PlanRun) -> float:
    """The greatest relative change of a time from one grid to the other."""
    here, there = run.times, coarse.times
    return max(
        (abs(there[name] / here[name] - 1) for name in here if name in there and here[name] > 0), default=0.0
    )
