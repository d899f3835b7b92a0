"""Preheat: only for belts so thick that the surface would melt and flow while the core is still hard.

It does not dry a belt: that takes hours and is done before.
"""

from __future__ import annotations

import math
from dataclasses import replace

from assistant.recipe.case import PREHEATED_WITHIN_K, Case
from assistant.recipe.overrule import Values, degC, seconds
from assistant.recipe.platen import Settings
from assistant.recipe.refused import Refused
from assistant.recipe.run import first_time
from assistant.recipe.stack import ZERO_C_K

GAP_K = 25.0  # a core this much colder than a surface that fuses; common practice, no published source
BELOW_FUSION_K = 45.0
COLDEST_K, HOTTEST_K = 100.0 + ZERO_C_K, 130.0 + ZERO_C_K
STEP_S = 30.0


def with_preheat(case: Case, values: Values) -> Settings:
    """The case's settings, with a preheat if it needs one or somebody asks for it.

    Raises: Refused when the preheat asked for would weld already, or is not reached.
    """
    run, set_s = case.heated.run, case.set_s or 0.0
    surface_s = first_time(run.hottest_over_fusion_K, 0.0, set_s + 600.0)
    at_s = set_s if surface_s is None else surface_s
    gap_K = float((run.hottest_K(at_s) - run.coldest_K(at_s))[0])
    given = values.given
    if gap_K <= GAP_K and given.preheat_temperature is None and given.preheat_time is None:
        return case.settings
    fusion_K = float(case.body.fusion_K.min())
    why = f"When the surface fuses the core is still {gap_K:.0f} K colder; warmed through first it stays in place under pressure."
    computed_K = min(max(fusion_K - BELOW_FUSION_K, COLDEST_K), HOTTEST_K)
    preheat_K = values.take("preheat_temperature", "preheat", computed_K, None, why, degC)
    if preheat_K > fusion_K - 10:
        raise Refused(
            f"A preheat at {degC(preheat_K)} would weld already: the belt fuses at {degC(fusion_K)}.",
            f"Preheat at {degC(computed_K)}.",
        )
    settings = Settings(preheat_K, preheat_K, 0.0, preheat_K)
    trial = Case(case.body, case.press, settings, case.start_K)
    if trial.set_s is None:
        raise Refused(
            f"The platens never reach the preheat of {degC(preheat_K)}.", "Check the supply voltage."
        )
    through_s = first_time(
        lambda t: trial.heated.run.coldest_K(t) - (preheat_K - PREHEATED_WITHIN_K),
        trial.set_s,
        trial.set_s + 4 * 3600.0,
        2000,
    )
    rest_s = 0.0 if through_s is None else through_s - trial.set_s
    rest_s = STEP_S * max(1, math.ceil(rest_s / STEP_S))
    why = f"Until the core is within {PREHEATED_WITHIN_K:g} K of the preheat temperature."
    return replace(
        case.settings,
        preheat_K=preheat_K,
        preheat_s=values.take("preheat_time", "preheat time", rest_s, None, why, seconds),
    )
