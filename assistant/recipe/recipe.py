"""The recipe: every value found, overruled where a data sheet or a person says so, and explained.

Left out on purpose: drying (hours, before the job), melting heat where the material data give none (it is
small for PVC and TPU), sideways conduction, and any credit for what the joint gains during the ramp and the cooling.
"""

from __future__ import annotations

from dataclasses import fields, replace

from assistant.bench.job import Job
from assistant.recipe.case import case_of
from assistant.recipe.curves import curve_of, expected_of, heat_delivered_J_m2
from assistant.recipe.decided import Decided, decide
from assistant.recipe.healing import healing_of
from assistant.recipe.nearest import nearest_change
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Given, Infeasible, Recipe
from assistant.recipe.platen import Settings, above_fusion_s, cool_down
from assistant.recipe.practice import account, laid_hot
from assistant.recipe.refused import Refused
from assistant.recipe.sensitivity import sensitivity_of
from assistant.recipe.setting import ASSUMED as CHOSEN_BY
from assistant.recipe.spans import told_spans
from assistant.recipe.stack import ZERO_C_K, belt_materials
from assistant.recipe.supply import current

__all__ = ["case_of", "compute_recipe", "settings_of", "what_if"]

SURE = 0.95  # share of joints that the dwell covers, unless asked otherwise
ASSUMPTIONS = (
    "Heat goes straight through the lay-up; sideways conduction is left out, which is late for fusion under a guide.",
    "The lay-up covers the platens; the press heats at full power until set and then holds.",
    "Material values are planning values; the belt supplier's data sheet overrules them.",
)
WITH_MELTING = (
    "Melting heat is counted over its band, on cooling too; a melt that stays liquid below it is left out."
)


def compute_recipe(job: Job, given: Given | None = None, *, sure: float = SURE) -> Recipe | Infeasible:
    """The recipe for a job, or why there is none and the nearest change that would help.

    Args: given: values that a person has fixed; they overrule data sheet and computation, within limits.
    sure: share of joints (0.5 to 0.999) that the dwell is to cover in spite of what is not known exactly.
    """
    given = given or Given()
    try:
        return _told(job, decide(job, given, sure))
    except Refused as refused:
        return replace(refused.infeasible, nearest_change=nearest_change(job, given, sure, refused))
    except NotComputable as refusal:
        return Infeasible(str(refusal), "Correct the job sheet or the data it names.")


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


def _told(job: Job, decided: Decided) -> Recipe:
    case, settings = decided.case, decided.case.settings
    set_s, fused_s = case.set_s or 0.0, case.fused_s or 0.0
    cool_on_s = set_s + settings.dwell_s
    end_s = cool_on_s + decided.cooling_s
    run = cool_down(case.press, case.heated.run, cool_on_s)
    area_m2 = job.press.platen_length_mm * job.press.platen_width_mm / 1e6
    voltage = job.supply.voltage_V / job.press.voltage_V
    return Recipe(
        values=tuple(decided.values.taken),
        items=decided.dwell.items,
        ramp_s=set_s,
        dwell_s=settings.dwell_s,
        cooling_s=decided.cooling_s,
        cooling_expected_s=case.cooling_s or decided.cooling_s,
        fused_s=fused_s,
        hot_fusion_s=case.hot_fusion_s or 0.0,
        needed_dwell_s=decided.needed_s,
        above_fusion_s=above_fusion_s(run, 0.0, end_s),
        peak_K=float(run.hottest_K(cool_on_s)[0]),
        heat_J=heat_delivered_J_m2(case.press, run, case.start_K, cool_on_s) * area_m2,
        current_A=current(job.press.power_W, job.press.voltage_V, job.press.phases) * voltage,
        numerical_error=decided.error,
        sensitivity=sensitivity_of(case),
        curve=curve_of(
            run, (case.heated.upper_s or 0.0, case.heated.lower_s or 0.0, fused_s, cool_on_s), end_s
        ),
        expected=expected_of(job, case.quick),
        beside=decided.beside,
        account=account(case, decided.dwell, decided.hold_s),
        binding=decided.binding,
        shortest_K=decided.shortest_K,
        shorter_by_s=decided.shorter_by_s,
        sure=decided.sure,
        covered=decided.covered,
        near_damage_s=decided.near_damage_s,
        healing=healing_of(case.heated.run, cool_on_s),
        healing_laid_hot=healing_of(laid_hot(case), settings.dwell_s),
        assumptions=(
            *ASSUMPTIONS,
            *(() if decided.values.overruled("upper_temperature", "lower_temperature") else (CHOSEN_BY,)),
            told_spans(belt_materials(job)),
            WITH_MELTING if case.body.melts else _unmelted(job),
            *(
                ()
                if job.press.opening_mm
                else (
                    f"The file of the {job.press.name} has no opening_mm: measure that it closes on the lay-up.",
                )
            ),
        ),
        warnings=tuple(decided.values.warnings),
    )


def _unmelted(job: Job) -> str:
    names = " and ".join(material.name for material in belt_materials(job) if not material.fabric)
    return f"Melting heat is left out: the data of {names} give none, and for PVC and TPU it is small."


def what_if(job: Job, given: Given, **changes: float) -> Recipe | Infeasible:
    """The recipe under other circumstances.

    Args: changes: any slot of `Given` (SI), or shop_temperature [K], supply_voltage [V], sure [share].
    Raises: KeyError for anything else.
    """
    slots, sure = {field.name for field in fields(Given)}, SURE
    for name, value in changes.items():
        if name in slots:
            given = replace(given, **{name: value})
        elif name == "shop_temperature":
            job = job.model_copy(update={"shop_degC": value - ZERO_C_K})
        elif name == "supply_voltage":
            job = job.model_copy(update={"supply": job.supply.model_copy(update={"voltage_V": value})})
        elif name == "sure":
            sure = value
        else:
            raise KeyError(name)
    return compute_recipe(job, given, sure=sure)
