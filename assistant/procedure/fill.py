"""Fills the brackets in a procedure's texts: {press}, {cut_length}, {ramp_time}."""

from __future__ import annotations

import re

from assistant.bench.job import Job
from assistant.procedure.compute import recipe_values
from assistant.procedure.rules import Rules, job_of, recipe_of
from assistant.procedure.slots import RECIPE_SLOTS
from assistant.procedure.state import State
from assistant.procedure.wording import minutes, shown


def fill(rules: Rules, state: State, text: str) -> str:
    """The text with what is known put in; what is not known yet is named instead."""
    return re.sub(r"\{(\w+)\}", lambda m: _value(rules, state, m.group(1)), text)


def _value(rules: Rules, state: State, name: str) -> str:
    if name in RECIPE_SLOTS:
        value = state.values.get(name, recipe_values(recipe_of(rules, state)).get(name))
        if isinstance(value, float):
            return shown(value, RECIPE_SLOTS[name].quantity)
    job = job_of(rules, state)
    if isinstance(job, Job):
        recipe, cut = state.computed.get("recipe", {}), state.computed.get("cut", {})
        known = {
            "technician": job.technician,
            "belt": job.belt.name,
            "press": job.press.name,
            "fastening": job.press.fastening,
            "punch": job.punch.name,
            "template": job.template.name,
            "cloth_above": job.cloth_above.name,
            "cloth_below": job.cloth_below.name,
            "finger_length": f"{job.punch.length_mm:g} mm",
            "margin": f"{(job.template.plate_length_mm - job.punch.length_mm) / 2:g} mm",
            "marks_target": f"{1000 * (1 + job.elongation_percent / 100):.1f} mm",
            "cut_length": f"{cut['cut_m'] * 1e3:.0f} mm" if "cut_m" in cut else "",
            "endless_length": f"{cut['endless_m'] * 1e3:.0f} mm" if "endless_m" in cut else "",
            "ramp_time": minutes(recipe["ramp_s"]) if "ramp_s" in recipe else "",
            "cool_time": minutes(recipe["cooling_s"]) if "cooling_s" in recipe else "",
        }
        if known.get(name):
            return known[name]
    return "the " + name.replace("_", " ")
