"""The recipe: every value found, overruled where a data sheet or a person says so, and explained.

Left out on purpose: drying (hours, before the job), melting heat (small for PVC and TPU), sideways
conduction, and any credit for what the joint gains during the ramp and the cooling.
"""

from __future__ import annotations

import math
from dataclasses import fields, replace

from assistant.bench.job import Job
from assistant.recipe.case import Case
from assistant.recipe.conduction import Conduction
from assistant.recipe.curves import curve_of, expected_of, heat_delivered_J_m2
from assistant.recipe.dwell import Dwell, itemise
from assistant.recipe.feasible import RELEASE_BELOW_FUSION_K, check_heat, check_limits, check_release
from assistant.recipe.gauge import take_pressure
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Beside, Given, Infeasible, Recipe
from assistant.recipe.overrule import Values, degC, kelvin, seconds
from assistant.recipe.platen import Settings, above_fusion_s, cool_down, press_model
from assistant.recipe.preheat import with_preheat
from assistant.recipe.refused import Refused
from assistant.recipe.sensitivity import sensitivity_of
from assistant.recipe.setting import Margins, Window, choose
from assistant.recipe.stack import ZERO_C_K, belt_materials, stack_beside, stack_of
from assistant.recipe.supply import current

LARGEST_ERROR = 0.005  # of any time, by halving the grid
COMMON_RELEASE_K = 60.0 + ZERO_C_K
ASSUMPTIONS = (
    "Heat goes straight through the lay-up; sideways conduction is left out, which is late for fusion under a guide.",
    "The lay-up covers the platens; the press heats at full power until set and then holds.",
    "Material values are planning values; the belt supplier's data sheet overrules them.",
    "Melting heat is left out; it is small for PVC and TPU.",
)


def compute_recipe(job: Job, given: Given | None = None) -> Recipe | Infeasible:
    """The recipe for a job, or why there is none.

    Args: given: values that a person has fixed; they overrule data sheet and computation, within limits.
    """
    try:
        return _compute(job, Values(given or Given()))
    except Refused as refused:
        return refused.infeasible
    except NotComputable as refusal:
        return Infeasible(str(refusal), "Correct the job sheet or the data it names.")


def case_of(job: Job, settings: Settings, fineness: float = 1.0) -> Case:
    """The job's lay-up on its press in its shop, at these settings. Raises: NotComputable."""
    return Case(Conduction(stack_of(job), fineness), press_model(job), settings, job.shop_degC + ZERO_C_K)


def settings_of(recipe: Recipe) -> Settings:
    """What a recipe sets on the press."""
    preheat = recipe.preheated
    return Settings(
        recipe.value_si("upper_temperature"),
        recipe.value_si("lower_temperature"),
        recipe.value_si("dwell"),
        recipe.value_si("release_temperature"),
        recipe.value_si("preheat_temperature") if preheat else None,
        recipe.value_si("preheat_time") if preheat else 0.0,
    )


def _compute(job: Job, values: Values) -> Recipe:
    hold_s = _hold_s(job)
    case = case_of(job, Settings(0.0, 0.0, 0.0, 0.0))
    margins = Margins(job, case.body, case.press)
    upper_K, lower_K = _temperatures(job, margins, values)
    release_K = _release(job, case, margins, values)
    case = replace(case, settings=Settings(upper_K, lower_K, 0.0, release_K))
    check_heat(job, case)
    case, error = _fine_enough(replace(case, settings=with_preheat(case, values)))
    dwell = itemise(job, case, hold_s)
    if dwell.missing:
        raise Refused(
            f"At {degC(upper_K)} above and {degC(lower_K)} below, {dwell.missing} would never reach fusion.",
            "Set the platens hotter.",
        )
    needed_s = max(0.0, (case.fused_s or 0.0) + hold_s - (case.set_s or 0.0))
    dwell_s = _dwell(job, dwell, needed_s, values)
    take_pressure(job, values)
    return _assembled(
        job,
        replace(case, settings=replace(case.settings, dwell_s=dwell_s)),
        dwell,
        needed_s,
        error,
        margins,
        values,
    )


def _hold_s(job: Job) -> float:
    holds = [material.hold_s for material in belt_materials(job) if material.hold_s is not None]
    if not holds:
        raise Refused(
            f"No material of the {job.belt.name} says how long it is held above fusion.",
            "Add hold_s to the material of its covers.",
        )
    return max(holds)


def _temperatures(job: Job, margins: Margins, values: Values) -> tuple[float, float]:
    sheet, best = job.belt.sheet, choose(job, margins)
    why = _why(margins, best)
    upper_K = values.take(
        "upper_temperature", "upper platen", best.upper_K, kelvin(sheet.upper_degC), why, degC
    )
    lower_K = values.take(
        "lower_temperature", "lower platen", best.lower_K, kelvin(sheet.lower_degC), why, degC
    )
    check_limits(job, upper_K, lower_K)
    window = margins.at(upper_K, lower_K)
    if (upper_K, lower_K) == (best.upper_K, best.lower_K) and min(
        window.above_fusion_K, window.below_damage_K
    ) <= 0:
        raise Refused(
            f"No set temperature fits this belt on this press: the best, {degC(upper_K)}, leaves the coldest edge "
            f"{window.above_fusion_K:+.0f} K above fusion and the hottest point {window.below_damage_K:+.0f} K below damage.",
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
    return upper_K, lower_K


def _why(margins: Margins, window: Window) -> str:
    fusion_K, damage_K = margins.fusion_K, margins.damage_K
    return (
        f"At {degC(window.upper_K)} above and {degC(window.lower_K)} below, the coldest edge settles {window.above_fusion_K:.0f} K "
        f"above fusion ({degC(fusion_K)}) and the hottest point stays {window.below_damage_K:.0f} K below damage "
        f"({degC(damage_K)}), overshoot counted; the sensor may be {window.sensor_K:.0f} K wrong either way."
    )


def _release(job: Job, case: Case, margins: Margins, values: Values) -> float:
    known = [
        material.release_degC + ZERO_C_K
        for material in belt_materials(job)
        if material.release_degC is not None
    ]
    fusion_K = float(case.body.fusion_K.min())
    computed_K = min([*(known or [COMMON_RELEASE_K]), fusion_K - RELEASE_BELOW_FUSION_K])
    why = "The belt is firm there without pressure. It counts inside the belt, where it is hottest, not only at the platens."
    release_K = values.take(
        "release_temperature",
        "release temperature",
        computed_K,
        kelvin(job.belt.sheet.release_degC),
        why,
        degC,
    )
    check_release(case.press, release_K, fusion_K, margins.sensor_K)
    return release_K


def _fine_enough(case: Case) -> tuple[Case, float]:
    """The case on a grid whose times change by no more than `LARGEST_ERROR` when it is halved, and by how much."""
    while True:
        coarse = replace(case, body=case.body.like(case.body.stack, 0.5))
        error = max(
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
        if case.body.fineness >= 8:
            raise NotComputable(
                f"The computed times still change by {error:.1%} when the grid is halved; check the thinnest layers."
            )
        case = replace(case, body=case.body.like(case.body.stack, 2.0))


def _dwell(job: Job, dwell: Dwell, needed_s: float, values: Values) -> float:
    why = (
        f"{' + '.join(f'{item.seconds:.0f} s {item.label}' for item in dwell.items)}. "
        f"Physics alone, from a cold press, needs {needed_s:.0f} s."
    )
    dwell_s = values.take("dwell", "dwell", dwell.seconds, job.belt.sheet.dwell_s, why, seconds)
    if dwell_s < needed_s:
        raise Refused(
            f"A dwell of {seconds(dwell_s)} is too short: the coldest point needs {seconds(math.ceil(needed_s))} to fuse and be held.",
            f"Hold at least {seconds(math.ceil(needed_s))}; recommended is {seconds(dwell.seconds)}.",
        )
    if dwell_s < dwell.seconds:
        values.warnings.append(
            f"A dwell of {seconds(dwell_s)} leaves out {seconds(dwell.seconds - dwell_s)} of the allowances."
        )
    return dwell_s


def _assembled(
    job: Job, case: Case, dwell: Dwell, needed_s: float, error: float, margins: Margins, values: Values
) -> Recipe:
    set_s, fused_s, hot_fusion_s = case.set_s or 0.0, case.fused_s or 0.0, case.hot_fusion_s or 0.0
    settings, cool_on_s = case.settings, set_s + case.settings.dwell_s
    lag_s = max(job.press.upper.sensor_lag_s, job.press.lower.sensor_lag_s)
    slow_s = case.slow_to_change().cooling_to(settings.release_K - margins.sensor_K)
    if slow_s is None:
        raise Refused(
            f"The belt would not be cold inside, {degC(settings.release_K)}, within hours.",
            "Cool with air or water.",
        )
    end_s = cool_on_s + slow_s + lag_s
    run = cool_down(case.press, case.heated.run, cool_on_s)
    area_m2 = job.press.platen_length_mm * job.press.platen_width_mm / 1e6
    voltage = job.supply.voltage_V / job.press.voltage_V
    return Recipe(
        values=tuple(values.taken),
        items=dwell.items,
        ramp_s=set_s,
        dwell_s=settings.dwell_s,
        cooling_s=slow_s + lag_s,
        fused_s=fused_s,
        hot_fusion_s=hot_fusion_s,
        needed_dwell_s=needed_s,
        above_fusion_s=above_fusion_s(run, 0.0, end_s),
        peak_K=float(run.hottest_K(cool_on_s)[0]),
        heat_J=heat_delivered_J_m2(case.press, run, case.start_K, cool_on_s) * area_m2,
        current_A=current(job.press.power_W, job.press.voltage_V, job.press.phases) * voltage,
        numerical_error=error,
        sensitivity=sensitivity_of(case),
        curve=curve_of(
            run, (case.heated.upper_s or 0.0, case.heated.lower_s or 0.0, fused_s, cool_on_s), end_s
        ),
        expected=expected_of(job, case),
        beside=_beside(job, case),
        assumptions=ASSUMPTIONS,
        warnings=tuple(values.warnings),
    )


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
    )


def what_if(job: Job, given: Given, **changes: float) -> Recipe | Infeasible:
    """The recipe under other circumstances.

    Args: changes: any slot of `Given` (SI), or shop_temperature [K], supply_voltage [V].
    Raises: KeyError for anything else.
    """
    slots = {field.name for field in fields(Given)}
    for name, value in changes.items():
        if name in slots:
            given = replace(given, **{name: value})
        elif name == "shop_temperature":
            job = job.model_copy(update={"shop_degC": value - ZERO_C_K})
        elif name == "supply_voltage":
            job = job.model_copy(update={"supply": job.supply.model_copy(update={"voltage_V": value})})
        else:
            raise KeyError(name)
    return compute_recipe(job, given)
