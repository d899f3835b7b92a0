"""What of a heating given in full must be refused, and what should be known of it."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.recipe.overrule import degC, degC1
from assistant.recipe.plan import PlanRun

SOFT_BELOW_FUSION_K = 60.0  # a belt is soft long below fusion; engineering judgement


@dataclass(frozen=True)
class No:
    """Why it cannot be done, and the nearest change; one sentence each."""

    reason: str
    nearest_change: str


def refused(run: PlanRun) -> tuple[No, ...]:
    """Every reason why the heating cannot be done as planned; none if it can."""
    return tuple(
        no
        for no in (_never_set(run), _never_fuses(run), _burns(run), _too_short(run), _never_cold(run))
        if no
    )


def _never_set(run: PlanRun) -> No | None:
    for name, at_s, platen, row in (
        ("upper", run.set_s[0], run.plan.upper, 0),
        ("lower", run.set_s[1], run.plan.lower, -1),
    ):
        if at_s is None:
            reached = run.settles(run.set_s)[row]
            return No(
                f"The {name} platen never reaches {degC(platen.set_K)}: with its losses it stays at {degC1(reached)}.",
                f"Set it to {degC(reached - 1)} or less, or give it more power.",
            )
    return None


def _never_fuses(run: PlanRun) -> No | None:
    """Also for set temperatures that are both below fusion."""
    if run.fused_s is not None or run.later_s is None:  # a platen that never arrives is told already
        return None
    plan, body = run.plan, run.body
    upper_K, lower_K = plan.upper.set_K, plan.lower.set_K
    settled = body.belt(run.settled())
    share = body.belt(body.steady(1.0, 0.0))
    fusion_K = float(body.fusion_K.max())
    if max(upper_K, lower_K) <= fusion_K:
        reason = f"The set temperatures of {degC1(upper_K)} and {degC1(lower_K)} are not above the fusion temperature of {degC1(fusion_K)}: it never fuses."
    else:
        reason = f"It settles at {degC1(float(settled[0]))} on the belt's upper face and {degC1(float(settled[-1]))} on its lower, and never fuses at any dwell: that takes {degC1(fusion_K)}."
    # The least temperature of the colder platen (or of both) at which every point settles above its fusion.
    if min(upper_K, lower_K) <= fusion_K < max(upper_K, lower_K):
        lower_is_cold = lower_K < upper_K
        part, other_K = (1 - share, upper_K) if lower_is_cold else (share, lower_K)
        needed_K = float(((body.fusion_K - (1 - part) * other_K) / part.clip(min=1e-9)).max())
        change = f"Set the {'lower' if lower_is_cold else 'upper'} platen above {degC1(needed_K)}."
    else:
        change = f"Set both platens above {degC1(fusion_K)}."
    return No(reason, change)


def _burns(run: PlanRun) -> No | None:
    at_s = run.damaged_s
    if at_s is None:
        return None
    damage_K = float(run.body.damage_K.min())
    if run.fused_s is None:
        core = "the coldest point never fuses"
    elif run.fused_s > at_s:
        core = f"the coldest point fuses only at {run.fused_s:.1f} s"
    else:
        core = f"the coldest point is fused at {run.fused_s:.1f} s, and the cycle goes on beyond that"
    return No(
        f"A belt point passes its damage temperature of {degC1(damage_K)} at {at_s:.1f} s; {core}.",
        _cooler(run, damage_K),
    )


def _cooler(run: PlanRun, damage_K: float) -> str:
    """The highest pair of set temperatures, this one lowered on both sides, at which no point is damaged for good."""
    share = run.body.belt(run.body.steady(1.0, 0.0))
    plan = run.plan
    over = share * plan.upper.set_K + (1 - share) * plan.lower.set_K - run.body.damage_K
    less_K = max(float(over.max()), 0.0) + 1.0
    cooler = run.like(plan.colder(less_K))
    upper_K, lower_K = plan.upper.set_K - less_K, plan.lower.set_K - less_K
    if cooler.fused_s is None or cooler.damaged_s is not None:
        return f"Below damage, at {degC1(upper_K)} and {degC1(lower_K)}, it never fuses: take another material, cloth or plate."
    return f"At {degC1(upper_K)} and {degC1(lower_K)} no point reaches {degC1(damage_K)}, and the coldest fuses at {cooler.fused_s:.1f} s."


def _too_short(run: PlanRun) -> No | None:
    dwell_s, needed_s = run.plan.dwell_s, run.needed_dwell_s
    if dwell_s is None or needed_s is None or dwell_s >= needed_s - 1e-9:
        return None
    return No(
        f"A dwell of {dwell_s:g} s is too short: {needed_s:.2f} s are needed.",
        f"Hold at least {needed_s:.2f} s.",
    )


def _never_cold(run: PlanRun) -> No | None:
    plan = run.plan
    if plan.release_K is None or plan.upper.cooling is None or plan.lower.cooling is None:
        return None
    fusion_K = float(run.body.fusion_K.min())
    if plan.release_K >= fusion_K:
        return No(
            f"The release temperature of {degC1(plan.release_K)} is not below fusion, {degC1(fusion_K)}: the joint would open.",
            f"Release at {degC1(fusion_K - SOFT_BELOW_FUSION_K)} or colder.",
        )
    coldest_K = max(plan.upper.cooling.coolant_K, plan.lower.cooling.coolant_K)
    if plan.release_K <= coldest_K:
        return No(
            f"The release temperature of {degC1(plan.release_K)} is never reached: the cooling has {degC1(coldest_K)}.",
            f"Release above {degC1(coldest_K)}, or cool with something colder.",
        )
    return None


def notes(run: PlanRun) -> tuple[str, ...]:
    """What does not forbid it but should be known."""
    told: list[str] = []
    plan, damage_K = run.plan, float(run.body.damage_K.min())
    for name, platen in (("upper", plan.upper), ("lower", plan.lower)):
        if platen.set_K >= damage_K:
            told.append(
                f"The {name} platen is set at or above the belt's damage temperature, {degC1(damage_K)}."
            )
    release_K, fusion_K = plan.release_K, float(run.body.fusion_K.min())
    if release_K is not None and fusion_K - SOFT_BELOW_FUSION_K < release_K < fusion_K:
        told.append(
            f"A release at {degC1(release_K)} is less than {SOFT_BELOW_FUSION_K:g} K below fusion; the belt may still be soft."
        )
    set_s = run.later_s
    if set_s is not None:
        nodes = run.heated.now(set_s + 1e-6)
        for name, platen, flux in (
            ("upper", plan.upper, run.body.conductance[0] * (nodes[0] - nodes[1])),
            ("lower", plan.lower, run.body.conductance[-1] * (nodes[-1] - nodes[-2])),
        ):
            if platen.driven is None:
                continue
            needed = float(flux) + platen.driven.loss_W_m2K * (platen.set_K - platen.driven.around_K)
            if needed > platen.driven.power_W_m2 * 1.001:
                told.append(
                    f"To hold the {name} platen takes {needed:.0f} W/m² at first, more than its {platen.driven.power_W_m2:.0f} W/m²: it would sag, which is not followed here."
                )
    if any(layer.latent_J_kg for layer in plan.stack.layers):
        told.append(
            "Melting heat is counted over its band, on cooling too; a melt that stays liquid below it is left out."
        )
    return tuple(told)
