"""What changes at a recipe's settings if something is otherwise, and how long drawn joints would take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf

from assistant.recipe.problem import Problem
from assistant.recipe.setting import SURE_95
from assistant.recipe.stack import Stack
from assistant.recipe.tried import Rig

DRAWS = 200
UNKNOWN_K = 3.0  # colder platens in the table where no sensor error is given


@dataclass(frozen=True)
class Otherwise:
    """What changes at the same settings if one thing is otherwise, s. None: it would never be."""

    label: str
    dwell_needed_s: float | None
    ramp_s: float | None
    cooling_s: float | None


def otherwise(
    problem: Problem, upper_K: float, lower_K: float, dwell_s: float, fineness: float
) -> tuple[Otherwise, ...]:
    """One row for each thing that may be otherwise, by as much as in one joint of twenty."""

    def at(changed: Problem, off_K: float = 0.0) -> tuple[float, float, float]:
        rig = Rig(changed, fineness)
        after_s = max(
            line.after_s(line.guarded, upper_K, lower_K, changed.ramp_counts, off_K=(off_K, off_K))
            for line in rig.lines
        )
        return (
            after_s,
            rig.later_s(upper_K + off_K, lower_K + off_K),
            rig.cooling_s(upper_K + off_K, lower_K + off_K, dwell_s),
        )

    def stacks(turned: Callable[[Stack], Stack]) -> Problem:
        return replace(
            problem,
            columns=tuple(replace(column, stack=turned(column.stack)) for column in problem.columns),
        )

    unsure = problem.uncertain
    worst_K = SURE_95 * max(problem.upper.sensor_error_K, problem.lower.sensor_error_K) or UNKNOWN_K
    base = at(problem)
    rows: dict[str, tuple[float, float, float]] = {
        label: at(stacks(lambda stack, label=label: unsure.varied(stack, 1.0)[label]))  # type: ignore[misc]
        for label in unsure.varied(problem.columns[0].stack, 1.0)
    }
    rows["contact half as bad"] = at(stacks(lambda stack: stack.changed(contact_factor=0.5)))
    rows[f"platens {worst_K:.1f} K colder than they read"] = at(problem, -worst_K)
    rows["lay-up 10 K colder at the start"] = at(replace(problem, start_K=problem.start_K - 10.0))
    if problem.upper.platen.driven and problem.lower.platen.driven:
        rows["heating power 10 % less"] = at(problem.each(lambda side: side.stronger(0.9)))
    return tuple(
        Otherwise(label, *(None if inf in (a, b) else a - b for a, b in zip(row, base, strict=True)))
        for label, row in rows.items()
    )


def drawn_needs_s(problem: Problem, rig: Rig, upper_K: float, lower_K: float) -> list[float]:
    """The dwell that each of a fixed set of drawn joints needs, in order: belt, contact and sensors off at once, each
    normally, the layers and the sensors together; under the edges, to fusion itself, with sensor lag and hold."""
    import numpy as np

    lag_s = max(problem.upper.sensor_lag_s, problem.lower.sensor_lag_s)
    needs = []
    for thick, k, c, contact, sensor in np.random.default_rng(1).standard_normal((DRAWS, 5)).tolist():
        off_K = (-sensor * problem.upper.sensor_error_K, -sensor * problem.lower.sensor_error_K)
        fused_s = max(
            line.after_s(
                line.divided(problem.uncertain.drawn(line.column.stack, thick, k, c, contact), 0.0),
                upper_K, lower_K, problem.ramp_counts, off_K=off_K, edge=True,
            )
            for line in rig.lines
        )  # fmt: skip
        needs.append(fused_s + lag_s + problem.hold_s)
    return sorted(needs)
