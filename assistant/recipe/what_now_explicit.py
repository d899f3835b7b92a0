"""A heating given in full that was cut short: as `what_now`, for layers and platens from a file.

Times from the beginning of the heating. Nothing is known of how far a press may be off, so the agreement is that
of the lay-up's own uncertainty: conductivity, heat capacity and contact, one after the other, up and down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.recipe.broken import upto
from assistant.recipe.case import CONTACT_FACTOR
from assistant.recipe.conduction import Driven, Follows
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.overrule import degC, seconds
from assistant.recipe.plan import Plan, PlanRun, PlatenPlan
from assistant.recipe.run import Run, first_time_ever
from assistant.recipe.spans import CAPACITY, CONDUCTIVITY
from assistant.recipe.stack import Stack
from assistant.recipe.what_now import (
    CAUTION,
    NOT_SOON_S,
    ROUNDING_S,
    SURE,
    Decision,
    Kind,
    after_power,
    after_pressure,
    fused_between_s,
    to_do,
)


@dataclass(frozen=True)
class PlanNow:
    """decision: enough for `SURE` of the cases; agreement, enough: shares as in `WhatNow`.

    fused_s: time the coldest belt point was above fusion under pressure, its least and most among the cases.
    coldest_K, hottest_K: belt now; below_damage_K: what it stayed below damage at the most; stays_fused_s: how much
    longer it stays above fusion without heat. sentences: what to do, and why.
    """

    kind: Kind
    decision: Decision
    as_given: Decision
    agreement: float
    enough: float
    cases: int
    fused_s: float
    fused_low_s: float
    fused_high_s: float
    needed_s: float
    coldest_K: float
    hottest_K: float
    below_damage_K: float
    stays_fused_s: float
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Case:
    decision: Decision
    fused_s: float
    coldest_K: float
    hottest_K: float
    below_damage_K: float
    stays_s: float


def what_now_explicit(
    plan: Plan, kind: Kind, at_s: float, resumed_s: float | None = None, cool_on_s: float | None = None
) -> PlanNow:
    """What to do after power or pressure was lost, or the press opened, at `at_s`.

    resumed_s: when it came back, or now. cool_on_s: when cooling began; None: it had not.
    Raises: NotComputable for times out of order, no holding time, or platens of which it is not known how they cool.
    """
    if plan.hold_s <= 0:
        raise NotComputable("hold_s is 0: give the holding time that the weld needs.")
    if resumed_s is not None and resumed_s < at_s:
        raise NotComputable("It came back before it was lost: correct the times.")
    given = _case(plan, kind, at_s, resumed_s, cool_on_s)
    others = [given, *(_case(plan.with_stack(s), kind, at_s, resumed_s, cool_on_s) for s in _spread(plan))]
    ranks = [CAUTION.index(other.decision) for other in others]
    decision = next(c for c in CAUTION if sum(r <= CAUTION.index(c) for r in ranks) >= SURE * len(ranks))
    decision = max(decision, given.decision, key=CAUTION.index)
    fused = [other.fused_s for other in others]
    now = PlanNow(
        kind, decision, given.decision,
        sum(other.decision == decision for other in others) / len(others),
        sum(r <= CAUTION.index(decision) for r in ranks) / len(ranks),
        len(others), given.fused_s, min(fused), max(fused), plan.hold_s, given.coldest_K, given.hottest_K,
        given.below_damage_K, given.stays_s,
    )  # fmt: skip
    return replace(now, sentences=_sentences(now, plan.dwell_s))


def _sentences(now: PlanNow, dwell_s: float | None) -> tuple[str, ...]:
    hold = f"{seconds(now.needed_s)} above fusion" if dwell_s is None else seconds(dwell_s)
    if (now.kind, now.decision) == ("power", "hold"):
        do = (
            "Heat again at once: the coldest point is still above fusion, but not yet for long enough. Hold the whole dwell of "
            f"{hold} from when both platens are at set temperature."
        )
    else:
        do = to_do(now.kind, now.decision, hold, hold)
    return (
        do,
        f"The coldest point has been above fusion under pressure for {seconds(now.fused_s)} (between {seconds(now.fused_low_s)} "
        f"and {seconds(now.fused_high_s)}), and is to be held for {seconds(now.needed_s)}; it is at {degC(now.coldest_K)}, the "
        f"hottest at {degC(now.hottest_K)}.",
        f"{100 * now.agreement:.0f} % of {now.cases} lay-ups call for the same.",
    )


def _spread(plan: Plan) -> list[Stack]:
    """Contact, conductivity and heat capacity, each by itself at both ends of its planning range."""
    stack = plan.stack
    return [
        *(stack.changed(contact_factor=factor) for factor in (1 / CONTACT_FACTOR, CONTACT_FACTOR)),
        *(stack.changed(conductivity_factor=factor) for factor in (CONDUCTIVITY.low, CONDUCTIVITY.high)),
        *(stack.changed(capacity_factor=factor) for factor in (CAPACITY.low, CAPACITY.high)),
    ]


def _case(plan: Plan, kind: Kind, at_s: float, resumed_s: float | None, cool_on_s: float | None) -> _Case:
    import numpy as np

    now_s = at_s if resumed_s is None else resumed_s
    run = PlanRun(plan).heated
    cooling = cool_on_s is not None and cool_on_s <= (at_s if kind == "power" else now_s)
    if cooling:
        assert cool_on_s is not None
        if not plan.cools:
            raise NotComputable(
                "Cooling is said to have begun, but the file gives no cooling and release_degC."
            )
        nodes = run.now(cool_on_s)
        run = upto(run, cool_on_s).then(
            cool_on_s, nodes, plan.upper.cooled(float(nodes[0])), plan.lower.cooled(float(nodes[-1]))
        )
    elif kind == "power":
        run = _alone(plan, run, at_s)
    alone = run if cooling or kind == "power" else _alone(plan, run, now_s)
    fused_now = float(run.coldest_over_fusion_K(now_s)[0]) > 0
    stays_s = 0.0
    if fused_now:
        below_s = first_time_ever(lambda t: -alone.coldest_over_fusion_K(t), now_s, NOT_SOON_S)
        stays_s = NOT_SOON_S if below_s is None else below_s - now_s
    until_s = now_s if kind == "power" else at_s
    fused_s = fused_between_s(run, 0.0, until_s) if until_s > 0 else 0.0
    lasts = resumed_s is not None or fused_s + stays_s >= plan.hold_s
    held = fused_s >= plan.hold_s
    if plan.dwell_s is not None:  # agreed on: it is not shortened by what the ramp gave
        later_s = PlanRun(plan).later_s
        since_s = 0.0 if later_s is None or later_s >= at_s else fused_between_s(run, later_s, now_s)
        held = held and since_s >= plan.dwell_s - ROUNDING_S
    decision = (
        after_power(run, now_s, held=held, lasts=lasts)
        if kind == "power"
        else after_pressure(run, run, at_s, now_s, opened=kind == "opened", cooling=cooling)
    )
    times = np.linspace(0.0, now_s, 200)
    return _Case(
        decision, fused_s, float(run.coldest_K(now_s)[0]), float(run.hottest_K(now_s)[0]),
        -float(run.over_damage_K(times).max()), stays_s,
    )  # fmt: skip


def _alone(plan: Plan, run: Run, start_s: float) -> Run:
    """No heat: a heated platen loses what it loses anyway, a prescribed one falls as its cooling law says."""
    nodes = run.now(start_s)

    def platen(side: PlatenPlan, name: str, at_K: float) -> Driven | Follows:
        if side.driven is not None:
            return replace(side.driven, power_W_m2=0.0)
        if side.cooling is None or side.cooling.tau_s is None:
            raise NotComputable(
                f"The {name} platen is prescribed: give it a cooling with tau_s, by which it falls without heat, or make it "
                "of kind 'power'."
            )
        return Follows(at_K, towards_K=side.cooling.coolant_K, tau_s=side.cooling.tau_s)

    return upto(run, start_s).then(
        start_s,
        nodes,
        platen(plan.upper, "upper", float(nodes[0])),
        platen(plan.lower, "lower", float(nodes[-1])),
    )
