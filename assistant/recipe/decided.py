"""Every value of a recipe decided, each with its reason, or refused. What is told of it is put together in `recipe`."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from assistant.bench.job import Job
from assistant.recipe.case import Case, case_of
from assistant.recipe.conduction import Conduction
from assistant.recipe.cycles import Cycles
from assistant.recipe.dwell import Dwell, covered_by, itemise
from assistant.recipe.feasible import (
    RELEASE_BELOW_FUSION_K,
    check_heat,
    check_limits,
    check_opening,
    check_release,
)
from assistant.recipe.gauge import take_pressure
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Beside, Given
from assistant.recipe.overrule import Values, degC, kelvin, seconds
from assistant.recipe.platen import Settings, above_fusion_s
from assistant.recipe.preheat import with_preheat
from assistant.recipe.refused import Refused
from assistant.recipe.setting import Chosen, Margins, Window, choose, limits_K
from assistant.recipe.stack import ZERO_C_K, belt_materials, stack_beside

LARGEST_ERROR = 0.002  # of any time, by halving the grid
FINER_SHARE = (
    0.5  # of a change with melting, at most: the halved grid has four times the error, its steps 32 times
)
FINEST = 8.0
COMMON_RELEASE_K = 60.0 + ZERO_C_K
LEAST_VOLTAGE = 0.9  # of that on the press's plate; common practice, no published source
LONGEST_NEAR_DAMAGE_S = 1200.0  # within 10 K of damage; engineering judgement


@dataclass(frozen=True)
class Decided:
    """A feasible recipe before it is told. cooling_s: safely, see `Recipe`; needed_s, covered: as there."""

    case: Case
    values: Values
    margins: Margins
    dwell: Dwell
    hold_s: float
    needed_s: float
    cooling_s: float
    near_damage_s: float
    beside: Beside | None
    binding: str
    shortest_K: float | None
    shorter_by_s: float
    error: float
    sure: float
    covered: float


def decide(job: Job, given: Given, sure: float, *, roughly: bool = False) -> Decided:
    """All values for a job; `roughly`: set temperatures by their margins only, without looking at cycles.

    Raises: Refused, NotComputable.
    """
    if not 0.5 <= sure <= 0.999:
        raise NotComputable(
            f"A dwell that covers {sure:g} of all joints cannot be computed; ask for 0.5 to 0.999."
        )
    check_opening(job)
    values = Values(given)
    hold_s = _hold_s(job)
    case = case_of(job, Settings(0.0, 0.0, 0.0, 0.0))
    margins = Margins(job, case.body, case.press, sure)
    upper_K, lower_K, chosen = _temperatures(job, case, margins, values, hold_s, roughly)
    release_K = _release(job, case, margins, values)
    case = replace(case, settings=Settings(upper_K, lower_K, 0.0, release_K))
    check_heat(job, case)
    case, error = _fine_enough(replace(case, settings=with_preheat(case, values)))
    _warn_of_supply(job, case.set_s or 0.0, values)
    dwell = itemise(job, case, hold_s, sure)
    if dwell.missing:
        raise Refused(
            f"At {degC(upper_K)} above and {degC(lower_K)} below, {dwell.missing} would never reach fusion.",
            "Set the platens hotter.",
        )
    after_s = _edge_fused_s(job, case) - (case.set_s or 0.0)
    needed_s = max(0.0, after_s + hold_s)
    dwell_s, covered = _dwell(job, case, dwell, after_s, hold_s, values, sure)
    if dwell_s != dwell.seconds:
        dwell = dwell.given(dwell_s)
    take_pressure(job, values)
    case = replace(case, settings=replace(case.settings, dwell_s=dwell_s))
    beside = _beside(job, case)
    near_s = max(case.near_damage_s((case.set_s or 0.0) + dwell_s), beside.near_damage_s if beside else 0.0)
    if near_s > LONGEST_NEAR_DAMAGE_S:
        raise Refused(
            f"A belt point would be within 10 K of its damage temperature for {seconds(near_s)}, longer than {seconds(LONGEST_NEAR_DAMAGE_S)}.",
            "Set the platens colder, or hold shorter.",
        )
    cooling_s = _cooling(job, case, margins)
    return Decided(
        case,
        values,
        margins,
        dwell,
        hold_s,
        needed_s,
        cooling_s,
        near_s,
        beside,
        chosen.binding,
        None if chosen.shortest is None else chosen.shortest.upper_K,
        chosen.saves_s,
        error,
        sure,
        covered,
    )


def _hold_s(job: Job) -> float:
    holds = [material.hold_s for material in belt_materials(job) if material.hold_s is not None]
    if not holds:
        raise Refused(
            f"No material of the {job.belt.name} says how long it is held above fusion.",
            "Add hold_s to the material of its covers.",
        )
    return max(holds)


def _temperatures(
    job: Job, case: Case, margins: Margins, values: Values, hold_s: float, roughly: bool
) -> tuple[float, float, Chosen]:
    """Upper, lower, and what was chosen from; what was chosen but overruled has no shortest beside it."""
    sheet = job.belt.sheet
    release_K = values.given.release_temperature or kelvin(sheet.release_degC) or _release_K(job, case)
    cycle_s = (lambda _K: 0.0) if roughly else Cycles(case, hold_s, release_K).at
    chosen = choose(job, margins, cycle_s)
    best = chosen.window
    sheet_K = kelvin(sheet.upper_degC), kelvin(sheet.lower_degC)
    upper_K = values.valid("upper_temperature", best.upper_K, sheet_K[0])
    lower_K = values.valid("lower_temperature", best.lower_K, sheet_K[1])
    window = margins.at(upper_K, lower_K)
    as_computed = (upper_K, lower_K) == (best.upper_K, best.lower_K)
    why = _why(margins, window)
    values.take(
        "upper_temperature",
        "upper platen",
        best.upper_K,
        sheet_K[0],
        f"{why} {chosen.binding}" if as_computed else why,
        degC,
    )
    values.take("lower_temperature", "lower platen", best.lower_K, sheet_K[1], why, degC)
    check_limits(job, upper_K, lower_K)
    if as_computed and min(window.above_fusion_K, window.below_damage_K) <= 0:
        raise Refused(
            f"No set temperature fits this belt on this press: at the best, {degC(upper_K)}, the coldest edge settles "
            f"{_off(window.above_fusion_K, 'above', 'below')} fusion ({degC(margins.fusion_K)}) and the hottest point stays "
            f"{_off(window.below_damage_K, 'below', 'above')} damage ({degC(margins.damage_K)}){_held_back(job, upper_K)}.",
            "Take a press with more even platens, or ask the belt's supplier for welding temperatures.",
        )
    for margin_K, what in (
        (window.above_fusion_K, "The coldest edge settles only {:.0f} K above fusion"),
        (window.below_damage_K, "The hottest point stays only {:.0f} K below damage"),
    ):
        if margin_K < window.sensor_K:
            values.warnings.append(
                f"{what.format(margin_K)}, and the sensor may be {window.sensor_K:.0f} K wrong."
            )
    if not as_computed:
        chosen = Chosen(
            window,
            "The set temperatures are not the computed ones. "
            f"For {degC(best.upper_K)} it would be: {chosen.binding}",
        )
    return upper_K, lower_K, chosen


def _off(margin_K: float, more: str, less: str) -> str:
    return f"{abs(margin_K):.0f} K {more if margin_K >= 0 else less}"


def _held_back(job: Job, upper_K: float) -> str:
    """What keeps the set temperature from being higher, if something does."""
    limit_K, by = limits_K(job)
    if upper_K >= limit_K - 1.0:
        return f"; {by}"
    ends = [material.window_degC[1] for material in belt_materials(job) if material.window_degC is not None]
    if ends and upper_K - ZERO_C_K >= min(ends) - 1.0:
        return f"; the usual window of its material ends at {min(ends):g} °C"
    return ""


def _warn_of_supply(job: Job, set_s: float, values: Values) -> None:
    share = job.supply.voltage_V / job.press.voltage_V
    if share < LEAST_VOLTAGE:
        values.warnings.append(
            f"At {job.supply.voltage_V:g} V of the {job.press.voltage_V:g} V on its plate the press heats with {100 * share**2:.0f} % "
            f"of its power: reaching set temperature takes about {seconds(round(set_s))}. Look for a better supply."
        )


def _why(margins: Margins, window: Window) -> str:
    fusion_K, damage_K = margins.fusion_K, margins.damage_K
    return (
        f"At {degC(window.upper_K)} above and {degC(window.lower_K)} below, the coldest edge settles {window.above_fusion_K:.0f} K "
        f"above fusion ({degC(fusion_K)}) and the hottest point stays {window.below_damage_K:.0f} K below damage "
        f"({degC(damage_K)}), overshoot counted; the sensor may be {window.sensor_K:.0f} K wrong either way."
    )


def _release_K(job: Job, case: Case) -> float:
    known = [
        material.release_degC + ZERO_C_K
        for material in belt_materials(job)
        if material.release_degC is not None
    ]
    return min([*(known or [COMMON_RELEASE_K]), float(case.body.fusion_K.min()) - RELEASE_BELOW_FUSION_K])


def _release(job: Job, case: Case, margins: Margins, values: Values) -> float:
    fusion_K, computed_K = float(case.body.fusion_K.min()), _release_K(job, case)
    sheet_K = kelvin(job.belt.sheet.release_degC)
    why = "The belt is firm there without pressure. It counts inside the belt, where it is hottest, not only at the platens."
    release_K = values.take(
        "release_temperature",
        "release temperature",
        computed_K,
        sheet_K,
        why,
        degC,
    )
    allowed_K = computed_K if sheet_K is None else sheet_K
    check_release(case.press.coolant_K, release_K, fusion_K, margins.sensor_K, allowed_K=allowed_K)
    return release_K


def _fine_enough(case: Case) -> tuple[Case, float]:
    """The case on a grid whose times are exact to `LARGEST_ERROR`, and how exact they are, by halving it."""
    share = FINER_SHARE if case.body.melts else 1.0
    coarse = replace(case, body=case.body.like(case.body.stack, 0.5))
    while True:
        error = share * max(
            abs(there / here - 1) if here and there else 0.0
            for here, there in (
                (case.hot_fusion_s, coarse.hot_fusion_s),
                (case.set_s, coarse.set_s),
                (case.fused_s, coarse.fused_s),
                (case.cooling_s, coarse.cooling_s),
            )
        )
        if error <= LARGEST_ERROR:
            return case, error
        if case.body.fineness >= FINEST:
            raise NotComputable(
                f"The computed times still change by {100 * error:.1f} % when the grid is halved; check the thinnest layers."
            )
        early_s, body = case.hot_fusion_s or math.inf, case.body
        if body.early_s > 4 * early_s:  # small cells at the faces first
            case = replace(case, body=Conduction(body.stack, body.fineness, early_s))
            coarse = replace(case, body=case.body.like(body.stack, 0.5))
        else:
            coarse, case = case, replace(case, body=body.like(body.stack, 2.0))


def _edge_fused_s(job: Job, case: Case) -> float:
    """From heat on to fusion of the coldest edge, from a cold press."""
    less_K = job.press.upper.edge_deficit_K, job.press.lower.edge_deficit_K
    if not any(less_K):
        return case.fused_s or 0.0
    quick = case.quick
    return (case.fused_s or 0.0) + (quick.at_edges(*less_K).fused_s or 0.0) - (quick.fused_s or 0.0)


def _dwell(
    job: Job, case: Case, dwell: Dwell, after_s: float, hold_s: float, values: Values, sure: float
) -> tuple[float, float]:
    """The dwell, and the share of joints it covers. after_s: fusion of the coldest edge after the later platen is at set."""
    needed_s = max(0.0, after_s + hold_s)
    why = (
        f"{' + '.join(f'{item.seconds:.0f} s {item.label}' for item in dwell.items)} = {dwell.seconds:.0f} s. "
        f"Physics alone, from a cold press, needs {max(0.0, after_s):.0f} s to fuse the coldest edge, and with the holding "
        f"time {needed_s:.0f} s."
    )
    sheet_s = job.belt.sheet.dwell_s
    dwell_s = values.valid("dwell", dwell.seconds, sheet_s)
    covered = sure if dwell_s >= dwell.seconds else covered_by(job, case, hold_s, dwell_s)
    if dwell_s < dwell.seconds:
        why = f"It covers {_of_100(covered)} joints laid between hot platens. Recommended is {why}"
    values.take("dwell", "dwell", dwell.seconds, sheet_s, why, seconds)
    if dwell_s < needed_s:
        raise Refused(
            f"A dwell of {seconds(dwell_s)} is too short: the coldest edge needs {seconds(math.ceil(needed_s))} to fuse and be held.",
            f"Hold at least {seconds(math.ceil(needed_s))}; recommended is {seconds(dwell.seconds)}.",
        )
    if dwell_s < dwell.seconds:
        values.warnings.append(
            f"A dwell of {seconds(dwell_s)} leaves out {seconds(dwell.seconds - dwell_s)} of the allowances: it holds only from a "
            f"cold press, and covers {_of_100(covered)} joints laid between hot platens."
        )
    return dwell_s, covered


def _of_100(share: float) -> str:
    """A share of joints in words; the tails of the spread are not known finely."""
    return "fewer than 1 in 100" if share < 0.01 else f"{100 * share:.0f} in 100"


def _cooling(job: Job, case: Case, margins: Margins) -> float:
    """Until the inside is surely cold: a belt that conducts badly, sensors that read low and lag."""
    release_K = case.settings.release_K
    slow_s = case.quick.slow_to_change().cooling_to(release_K - margins.sensor_K)
    if slow_s is None:
        raise Refused(
            f"The belt would not be cold inside, {degC(release_K)}, within hours.", "Cool with air or water."
        )
    return slow_s + max(job.press.upper.sensor_lag_s, job.press.lower.sensor_lag_s)


def _beside(job: Job, case: Case) -> Beside | None:
    """The thin belt beside the guide. Raises: Refused when that is damaged."""
    stack = stack_beside(job)
    if stack is None:
        return None
    beside = case.with_stack(stack)
    check_heat(job, beside)
    stop_s = (beside.set_s or 0.0) + case.settings.dwell_s
    return Beside(
        beside.hot_fusion_s or 0.0,
        float(beside.heated.run.hottest_K(stop_s)[0]),
        above_fusion_s(beside.heated.run, 0.0, stop_s),
        beside.near_damage_s(stop_s),
    )
