"""How fine the grid has to be: refined until halving it changes no time by more than is allowed."""

from __future__ import annotations

from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Plan, PlanRun

FINEST = 16.0
KELVIN, FINEST_FOR_KELVIN = (
    0.1,
    4.0,
)  # temperatures at the times asked for are wanted so exact, up to that grid
ENDS = ("fused", "damaged", "cold")  # what the heat has to have gone into the layers for


def fine_enough(plan: Plan, error: float) -> tuple[PlanRun, float]:
    """The plan on a grid good enough, and the change of its times, relative, when grid and steps are halved.

    Temperatures at the times asked for are to be exact to 0.1 K if that can be had. First all cells of a layer
    alike; where that does not do, small ones at the faces for the earliest event, and then finer.
    Raises: NotComputable when the finest grid is not good enough.
    """
    run = PlanRun(plan)
    while True:
        coarse = run.like(plan, 0.5)
        here, there = run.times, coarse.times
        found = max(
            (abs(there[name] / here[name] - 1) for name in here if name in there and here[name] > 0),
            default=0.0,
        )
        if found <= error:
            kelvin = float(abs(run.seen_K - coarse.seen_K).max(initial=0.0))
            settled = here.keys() == there.keys() and kelvin <= KELVIN
            if settled or run.body.fineness >= FINEST_FOR_KELVIN:
                return run, found
            run = run.like(plan, 2.0)
            continue
        if run.body.fineness >= FINEST:
            raise NotComputable(
                f"The computed times still change by {found:.2%} when the grid is halved; check the thinnest layers."
            )
        early_s = min((here[name] for name in ENDS if here.get(name, 0.0) > 0), default=run.body.early_s)
        finer = 1.0 if run.body.early_s > early_s * 4 else 2.0
        run = PlanRun(plan, run.body.fineness * finer, min(run.body.early_s, early_s))
