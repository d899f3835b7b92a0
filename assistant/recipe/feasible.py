"""What must be refused before anything is cut: heat that damages, never fuses or is never reached, and a
release that is soft or never comes."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.recipe.case import Case
from assistant.recipe.conduction import Follows
from assistant.recipe.overrule import degC, degC1
from assistant.recipe.refused import Refused
from assistant.recipe.run import Run, first_time
from assistant.recipe.setting import limits_K
from assistant.recipe.stack import ZERO_C_K, stack_of

HIGHEST_RELEASE_K = (
    80.0 + ZERO_C_K
)  # whatever a file says: the trade lets go at 60 to 70 °C; engineering judgement
RELEASE_BELOW_FUSION_K = 60.0  # a belt is soft long below fusion; engineering judgement


def check_limits(job: Job, upper_K: float, lower_K: float) -> None:
    """Raises: Refused when a platen would be hotter than press or belt may be."""
    limit_K, by = limits_K(job)
    for name, value_K in (("upper", upper_K), ("lower", lower_K)):
        if value_K > limit_K + 1e-9:
            raise Refused(
                f"{degC(value_K)} is too hot for the {name} platen: {by}.", f"Set {degC(limit_K)} or less."
            )


def lay_up_mm(job: Job) -> float:
    """How thick it is between the platens, mm: template, cloths, belt with its guide, pressure plate."""
    return 1e3 * sum(layer.thickness_m for layer in stack_of(job).layers)


def check_opening(job: Job) -> None:
    """Raises: Refused when the press does not close on so thick a lay-up."""
    most_mm, thick_mm = job.press.opening_mm, lay_up_mm(job)
    if most_mm is not None and thick_mm > most_mm + 1e-6:
        raise Refused(
            f"The lay-up is {thick_mm:.1f} mm thick, belt, template, plate and cloths together, and the {job.press.name} "
            f"closes on {most_mm:g} mm at most.",
            "Take a press that opens wider, or a thinner belt.",
        )


def check_heat(job: Job, case: Case) -> None:
    """Raises: Refused when the belt is damaged or never fuses, or the press never gets there."""
    upper_K, lower_K = case.settings.upper_K, case.settings.lower_K
    body = case.body
    fusion_K, damage_K = float(body.fusion_K.max()), float(body.damage_K.min())
    settled = body.belt(body.steady(upper_K, lower_K))
    both = f"At {degC(upper_K)} above and {degC(lower_K)} below"
    if (settled - body.damage_K).max() >= 0:
        hot = Run(body).then(0.0, body.uniform(case.start_K), Follows(upper_K), Follows(lower_K))
        passes_s = first_time(hot.over_damage_K, 0.0, 7200.0, samples=2000)
        after = "in the end" if passes_s is None else f"after {passes_s:.1f} s between hot platens"
        core = "never fuses" if case.hot_fusion_s is None else f"fuses after {case.hot_fusion_s:.1f} s"
        raise Refused(
            f"{both} the belt's surface passes its damage temperature of {degC(damage_K)} {after}; its coldest point {core}.",
            f"Set both platens well below {degC(damage_K)}.",
        )
    if case.hot_fusion_s is None:
        raise Refused(
            f"{both} the belt settles at {degC1(float(settled[0]))} on its upper face and {degC1(float(settled[-1]))} "
            f"on its lower, and never fuses: that takes {degC(fusion_K)}.",
            f"Set both platens well above {degC(fusion_K)}.",
        )
    if case.set_s is None:
        which, goal_K = ("upper", upper_K) if case.heated.upper_s is None else ("lower", lower_K)
        raise Refused(
            f"The {which} platen never reaches {degC(goal_K)}: the power of the {job.press.name} at "
            f"{job.supply.voltage_V:g} V does not cover its losses there.",
            "Check the supply voltage, or set a lower temperature.",
        )


def check_release(
    coolant_K: float, release_K: float, fusion_K: float, sensor_K: float, *, allowed_K: float
) -> None:
    """Whether the pressure may go at `release_K`. allowed_K: what the data sheet, or else the material, allows at most.

    Raises: Refused when the belt would still be soft, or would never be known to be so cold.
    """
    highest_K = min(fusion_K - RELEASE_BELOW_FUSION_K, allowed_K, HIGHEST_RELEASE_K)
    if release_K > highest_K + 1e-6:
        raise Refused(
            f"The pressure must not go at {degC(release_K)}: {degC(highest_K)} is the most for this belt, which fuses at "
            f"{degC(fusion_K)} and is soft long below that.",
            f"Release at {degC(highest_K)} or colder.",
        )
    if release_K - sensor_K <= coolant_K + 0.5:
        raise Refused(
            f"{degC(release_K)} would never surely be reached: the cooling has {degC(coolant_K)} and the sensors may "
            f"be {sensor_K:.0f} K wrong.",
            f"Release at {degC(coolant_K + sensor_K + 5)} or above, or cool with something colder.",
        )
