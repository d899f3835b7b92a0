"""The dwell of a problem given in full: physics against practice, item by item."""

from __future__ import annotations

from assistant.recipe.healing import LABEL, healed_s
from assistant.recipe.outcome import Item
from assistant.recipe.problem import Problem
from assistant.recipe.tried import Lines, Parts


def account(
    problem: Problem,
    line: Lines,
    parts: Parts,
    upper_K: float,
    lower_K: float,
    dwell_s: float,
    beyond_s: float,
) -> tuple[Item, ...]:
    """From what physics asks of the dwell to what is recommended; of the column that takes longest."""
    run = line.heated(upper_K, lower_K)
    fused_s, later_s = run.fused_s or 0.0, run.later_s or 0.0
    plain_s = fused_s - later_s
    guard_s = line.after_s(line.guarded, upper_K, lower_K, True) - plain_s
    healed = healed_s(run.heated, fused_s + problem.hold_s, problem.healing) if problem.hold_s else None
    healing_s = problem.hold_s if healed is None else min(problem.hold_s, max(0.0, healed - fused_s))
    model = (
        "the whole hold does not heal it wholly" if healed is None else f"{healing_s:.0f} s heal it wholly"
    )
    lag_s = max(problem.upper.sensor_lag_s, problem.lower.sensor_lag_s)
    edge_K = max(problem.upper.edge_deficit_K, problem.lower.edge_deficit_K)
    when = f"{-plain_s:.1f} s before" if plain_s < 0 else f"{plain_s:.1f} s after"
    items = [
        Item("physics: fusion", plain_s, f"The coldest point is at fusion {when} the later platen is at set temperature."),
        Item("healing by the model", healing_s, f"After fusion {model} at the worst point ({LABEL})."),
        Item("holding beyond the model", problem.hold_s - healing_s, f"The hold is {problem.hold_s:g} s whatever a model says."),
        Item("margin above fusion", guard_s, f"The hold begins when the coldest point is {problem.above_fusion_K:g} K above fusion."),
        Item("the ramp is not counted", parts.fused_s - plain_s - guard_s, "As laid cold between hot platens." if not problem.ramp_counts else "It is counted here: the platens warm the belt on their way."),
        Item("colder platen edges", parts.edges_s, f"The edges are up to {edge_K:g} K colder than the middle."),
    ]  # fmt: skip
    spread_s = parts.spread_s
    items += [
        Item(label, seconds**2 / spread_s if spread_s else 0.0, f"Alone it would make {seconds:.1f} s; added as squares.")
        for label, seconds in parts.longer_s.items()
    ]  # fmt: skip
    items.append(
        Item("sensor lag", lag_s, "Display and platen face may be so far apart, either of them first.")
    )
    if beyond_s:
        items.append(
            Item("drawn joints beyond the squares", beyond_s, "So much more for the share asked for, with everything off at once.")
        )  # fmt: skip
    total_s = sum(item.seconds for item in items)
    why = (
        "The dwell that is given."
        if problem.dwell_s is not None
        else "Up to what can be set; a dwell is never below zero."
    )
    return (*items, Item("rounding up", dwell_s - total_s, why))
