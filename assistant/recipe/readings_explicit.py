"""What the displays should show while a heating that is given in full goes on.

No press is known here: heaters, losses and coefficients of cooling are taken as far off as of a planned press, what is
prescribed as it is, and a sensor as `SENSOR_K` off.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from assistant.recipe.broken import upto
from assistant.recipe.during import Band
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Plan, PlanRun, PlatenPlan
from assistant.recipe.setting import SURE_95
from assistant.recipe.spans import PRESS

SENSOR_K = 3.0


def expected_explicit(
    plan: Plan, sensor: Literal["upper", "lower"], t_s: float, cool_on_s: float | None = None
) -> Band:
    """The display of a platen at `t_s` from the beginning. Raises: NotComputable when it cools by no known law."""
    shown = [_shown_K(plan, sensor, t_s, cool_on_s)]
    for power, loss in ((PRESS.low, PRESS.high), (PRESS.high, PRESS.low)):
        off = replace(plan, upper=_scaled(plan.upper, power, loss), lower=_scaled(plan.lower, power, loss))
        shown += [
            _shown_K(_cooling(off, factor), sensor, t_s, cool_on_s) for factor in (PRESS.low, PRESS.high)
        ]
    margin_K = SURE_95 * SENSOR_K
    return Band(shown[0], min(shown) - margin_K, max(shown) + margin_K)


def _shown_K(plan: Plan, sensor: str, t_s: float, cool_on_s: float | None) -> float:
    run = PlanRun(plan, 0.5).heated
    if cool_on_s is not None and t_s > cool_on_s:
        if plan.upper.cooling is None or plan.lower.cooling is None:
            raise NotComputable("Cooling is said to have begun, but the file gives no cooling: add it.")
        nodes = run.now(cool_on_s)
        ends = plan.upper.cooled(float(nodes[0])), plan.lower.cooled(float(nodes[-1]))
        run = upto(run, cool_on_s).then(cool_on_s, nodes, *ends)
    return float(run.now(t_s)[0 if sensor == "upper" else -1])


def _scaled(platen: PlatenPlan, power: float, loss: float) -> PlatenPlan:
    if platen.driven is None:
        return platen
    driven = replace(
        platen.driven,
        power_W_m2=platen.driven.power_W_m2 * power,
        loss_W_m2K=platen.driven.loss_W_m2K * loss,
    )
    return replace(platen, driven=driven)


def _cooling(plan: Plan, factor: float) -> Plan:
    def one(platen: PlatenPlan) -> PlatenPlan:
        law = platen.cooling
        if law is None or law.coefficient_W_m2K is None:
            return platen
        return replace(platen, cooling=replace(law, coefficient_W_m2K=law.coefficient_W_m2K * factor))

    return replace(plan, upper=one(plan.upper), lower=one(plan.lower))
