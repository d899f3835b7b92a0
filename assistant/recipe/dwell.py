"""The dwell, second by second.

A thin belt in a cold press is fused before the platens arrive, so physics alone asks for hardly more than
the holding time. What the ramp gives is not counted, though: it changes with the supply and the shop, and a
press still warm from the last joint gives none of it. The belt is counted as laid cold between platens that
are already at temperature, which is the longest it can take; then come the allowances, then the holding time.
A preheat is part of the recipe and is counted: the belt is then warmed through when the heat begins.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import NormalDist

from assistant.bench.job import Job
from assistant.recipe.case import CONTACT_FACTOR, THICKER_M, Case
from assistant.recipe.outcome import Item
from assistant.recipe.overrule import degC
from assistant.recipe.setting import SURE_95, deviations

ROUND_S = 10.0
SPREAD, ROUNDING = "spread of belt, contact and sensor", "rounding up"
GIVEN = "set by hand or data sheet"


@dataclass(frozen=True)
class Dwell:
    """The items, and their sum, which is a whole number of `ROUND_S`. parts: what the spread is made of, as
    shares that add up to it. missing: what never fuses, else ''."""

    items: tuple[Item, ...]
    seconds: float
    parts: tuple[Item, ...] = ()
    missing: str = ""

    def given(self, dwell_s: float) -> Dwell:
        """The same where somebody has set another dwell: what it leaves out of the items, or adds to them."""
        short_s = self.seconds - dwell_s
        way = "shorter" if short_s > 0 else "longer"
        item = Item(
            GIVEN,
            -short_s,
            f"Somebody set {dwell_s:.0f} s, {abs(short_s):.0f} s {way} than the {self.seconds:.0f} s that the items ask for.",
        )
        return replace(self, items=(*self.items, item), seconds=dwell_s)


def itemise(job: Job, case: Case, hold_s: float, sure: float = 0.95) -> Dwell:
    """The dwell for the case, holding `hold_s` above fusion at the coldest point in `sure` of all joints."""
    press, hot_s = job.press, case.hot_fusion_s
    if hot_s is None:
        return Dwell((), 0.0, missing="the coldest point of the belt")
    case = case.quick
    base_s = case.hot_fusion_s or hot_s
    edges = case.at_edges(press.upper.edge_deficit_K, press.lower.edge_deficit_K)
    z = deviations(sure)
    far = z / SURE_95  # the assumptions are those of one joint in twenty
    sensors = case.with_platens(-z * press.upper.sensor_error_K, -z * press.lower.sensor_error_K)
    stack = case.body.stack
    thicker_m, worse = far * THICKER_M, CONTACT_FACTOR**far
    less = _percents(1 - layer.conductivity_span.at(-far) for layer in stack.belt)
    more = _percents(layer.capacity_span.at(far) - 1 for layer in stack.belt)
    varied = {
        f"{thicker_m * 1e3:.2g} mm more belt": case.with_stack(stack.changed(belt_thicker_m=thicker_m)),
        f"belt conductivity {less} less": case.with_stack(stack.off(conductivity=far)),
        f"belt heat capacity {more} more": case.with_stack(stack.off(capacity=far)),
        f"contact {worse:.2g} times as bad": case.with_stack(stack.changed(contact_factor=worse)),
        f"platen sensors {z * max(press.upper.sensor_error_K, press.lower.sensor_error_K):.0f} K wrong": sensors,
    }
    if edges.hot_fusion_s is None:
        return Dwell((), 0.0, missing="the belt under the platens' edges")
    longer: dict[str, float] = {}
    for what, other in varied.items():
        if other.hot_fusion_s is None:
            return Dwell((), 0.0, missing=f"the belt with {what}")
        longer[what] = max(0.0, other.hot_fusion_s - base_s)
    spread_s = math.sqrt(sum(seconds**2 for seconds in longer.values()))
    lag_s = max(press.upper.sensor_lag_s, press.lower.sensor_lag_s)
    items = [
        Item("until the coldest point fuses", hot_s, _about_the_start(case)),
        Item(
            "colder platen edges",
            max(0.0, edges.hot_fusion_s - base_s),
            f"At the edges the platens are {max(press.upper.edge_deficit_K, press.lower.edge_deficit_K):g} K colder than in the middle.",
        ),
        Item(
            SPREAD,
            spread_s,
            f"To be sure in {100 * sure:.3g} of 100 joints: "
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
    items.append(Item(ROUNDING, rounded_s - total_s, f"To a whole {ROUND_S:g} s."))
    parts = tuple(
        Item(what, seconds**2 / spread_s if spread_s else 0.0, f"Alone it would make {seconds:.1f} s.")
        for what, seconds in longer.items()
    )
    return Dwell(tuple(items), rounded_s, parts)


def covered_by(job: Job, case: Case, hold_s: float, dwell_s: float) -> float:
    """The share of joints laid between hot platens that a dwell covers, by the items of the recommended one."""
    dwell = itemise(job, case, hold_s)
    items = {item.label: item.seconds for item in dwell.items}
    spread_s, rounding_s = items[SPREAD], items[ROUNDING]
    left_s = dwell_s - (dwell.seconds - rounding_s - spread_s)
    if spread_s <= 0:
        return float(left_s >= 0)
    return NormalDist(0.0, spread_s / SURE_95).cdf(left_s)


def _percents(shares: Iterable[float]) -> str:
    """'15 %', or from the least to the most where the layers differ."""
    told = sorted({round(100 * share) for share in shares})
    return f"{told[0]} %" if len(told) == 1 else f"{told[0]} to {told[-1]} %"


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
