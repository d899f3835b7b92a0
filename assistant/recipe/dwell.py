"""The dwell, second by second.

A thin belt in a cold press is fused before the platens arrive, so physics alone asks for hardly more than
the holding time. What the ramp gives is not counted, though: it changes with the supply and the shop, and a
press still warm from the last joint gives none of it. The belt is counted as laid cold between platens that
are already at temperature, which is the longest it can take; then come the allowances, then the holding time.
A preheat is part of the recipe and is counted: the belt is then warmed through when the heat begins.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.bench.job import Job
from assistant.recipe.case import CAPACITY_FACTOR, CONDUCTIVITY_FACTOR, CONTACT_FACTOR, THICKER_M, Case
from assistant.recipe.outcome import Item
from assistant.recipe.overrule import degC
from assistant.recipe.setting import SURE_95

ROUND_S = 10.0


@dataclass(frozen=True)
class Dwell:
    """The items, and their sum, which is a whole number of `ROUND_S`. missing: what never fuses, else ''."""

    items: tuple[Item, ...]
    seconds: float
    missing: str = ""


def itemise(job: Job, case: Case, hold_s: float) -> Dwell:
    """The dwell for the case, holding `hold_s` above fusion at the coldest point."""
    press, hot_s = job.press, case.hot_fusion_s
    if hot_s is None:
        return Dwell((), 0.0, "the coldest point of the belt")
    edges = case.with_platens(-press.upper.edge_deficit_K, -press.lower.edge_deficit_K)
    sensors = case.with_platens(-SURE_95 * press.upper.sensor_error_K, -SURE_95 * press.lower.sensor_error_K)
    stack = case.body.stack
    varied = {
        "0.2 mm more belt": case.with_stack(stack.changed(belt_thicker_m=THICKER_M)),
        "belt conductivity 15 % less": case.with_stack(
            stack.changed(conductivity_factor=CONDUCTIVITY_FACTOR)
        ),
        "belt heat capacity 20 % more": case.with_stack(stack.changed(capacity_factor=CAPACITY_FACTOR)),
        "contact twice as bad": case.with_stack(stack.changed(contact_factor=CONTACT_FACTOR)),
        f"platen sensors {SURE_95 * press.upper.sensor_error_K:.0f} K wrong": sensors,
    }
    if edges.hot_fusion_s is None:
        return Dwell((), 0.0, "the belt under the platens' edges")
    longer: dict[str, float] = {}
    for what, other in varied.items():
        if other.hot_fusion_s is None:
            return Dwell((), 0.0, f"the belt with {what}")
        longer[what] = max(0.0, other.hot_fusion_s - hot_s)
    spread_s = math.sqrt(sum(seconds**2 for seconds in longer.values()))
    lag_s = max(press.upper.sensor_lag_s, press.lower.sensor_lag_s)
    items = [
        Item("until the coldest point fuses", hot_s, _about_the_start(case)),
        Item(
            "colder platen edges",
            max(0.0, edges.hot_fusion_s - hot_s),
            f"At the edges the platens are {max(press.upper.edge_deficit_K, press.lower.edge_deficit_K):g} K colder than in the middle.",
        ),
        Item(
            "spread of belt, contact and sensor",
            spread_s,
            "To be sure in 19 of 20 joints: "
            + ", ".join(f"{what} {seconds:+.1f} s" for what, seconds in longer.items())
            + "; added as squares.",
        ),
        Item(
            "sensor lag",
            lag_s,
            f"Display and platen face may be {lag_s:g} s apart, and it is not known which is first.",
        ),
        Item(
            "holding time",
            hold_s,
            f"The material is held {hold_s:g} s above fusion at its coldest point, so that the ends grow together.",
        ),
    ]
    total_s = sum(item.seconds for item in items)
    rounded_s = ROUND_S * math.ceil(total_s / ROUND_S - 1e-9)
    items.append(Item("rounding up", rounded_s - total_s, f"To a whole {ROUND_S:g} s."))
    return Dwell(tuple(items), rounded_s)


def _about_the_start(case: Case) -> str:
    settings = case.settings
    laid = "warmed through" if settings.preheat_K is not None else "cold"
    sentence = (
        f"Laid {laid} at {degC(case.laid_in_K)} between platens already at {degC(settings.upper_K)} and "
        f"{degC(settings.lower_K)}"
    )
    if case.fused_s is None or case.set_s is None:
        return f"{sentence}."
    ahead_s = case.set_s - case.fused_s
    if ahead_s > 0:
        return (
            f"{sentence}, as at the second joint of a day. From a cold press it fuses {ahead_s:.0f} s before the "
            "platens arrive, but the ramp changes with supply and shop and is not counted."
        )
    return f"{sentence}. With the ramp it fuses {-ahead_s:.0f} s after the platens arrive."
