"""The computed parts of the job besides the recipe: results for the log and the sentences said."""

from __future__ import annotations

from typing import Any

from assistant.bench.fit import notes as fit_notes
from assistant.bench.job import Job
from assistant.recipe.length import Endless, cut, endless
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.supply import CLASS_5_OHM_PER_KM, REFUSE_DROP, WARN_DROP, smallest_section_mm2, supply
from assistant.recipe.tension import linear_notes, marks, pull

MARKS_APART_m = 1.0


def told(topic: str, job: Job) -> dict[str, Any]:
    """Results of a topic: SI with the unit in the key, 'said' sentences, or 'refused' sentences."""
    try:
        return _TOPICS[topic](job)
    except NotComputable as refusal:
        return {"refused": [str(refusal)]}


def _job(job: Job) -> dict[str, Any]:
    return {
        "belt": job.belt.name,
        "press": job.press.name,
        "said": [job.press.learned] if job.press.learned else [],
    }


def _fit(job: Job) -> dict[str, Any]:
    # Building the job has checked every fit; what is left is worth knowing only.
    said = [f"{job.template.name}, {job.punch.name} and {job.press.name} fit the {job.belt.name}."]
    return {"said": said + fit_notes(job.template, job.belt, job.punch)}


def _made(job: Job) -> Endless:
    """The endless length of the job. Raises: NotComputable."""
    guide, sheet = job.belt.guide, job.belt.sheet
    pitch_m = guide.notch_pitch_mm / 1e3 if guide is not None and guide.notch_pitch_mm is not None else None
    allowed = (sheet.elongation_min_percent / 100, sheet.elongation_max_percent / 100)
    return endless(job.endless_length_mm / 1e3, job.elongation_percent / 100, pitch_m, allowed)


def _cut(job: Job) -> dict[str, Any]:
    made = _made(job)
    length = cut(made.endless_m, job.punch.length_mm / 1e3)
    said = [
        f"Path {made.path_m * 1e3:.0f} mm at {made.elongation * 100:.2f} % elongation: endless {made.endless_m * 1e3:.0f} mm, "
        f"and {job.punch.length_mm:g} mm for the fingers: cut {length.cut_m * 1e3:.0f} mm."
    ]
    if made.notches is not None:
        said.append(f"That is {made.notches} whole notches.")
    said += made.notes
    return {
        "path_m": made.path_m, "endless_m": made.endless_m, "elongation": made.elongation, "notches": made.notches,
        "nearest": [{"notches": one.notches, "elongation": one.elongation} for one in made.nearest],
        "cut_m": length.cut_m, "beyond_centre_m": length.beyond_centre_m, "said": said,
    }  # fmt: skip


def _supply(job: Job) -> dict[str, Any]:
    press, lead = job.press, job.supply
    known = (
        CLASS_5_OHM_PER_KM if lead.lead_ohm_per_km is None else {lead.lead_section_mm2: lead.lead_ohm_per_km}
    )
    got = supply(
        press.power_W, press.voltage_V, press.fuse_A, lead.lead_length_m, lead.lead_section_mm2 * 1e-6,
        phases=press.phases, measured_V=lead.voltage_V, coiled=lead.coiled, ohm_per_km=known,
    )  # fmt: skip
    said = [
        f"{got.nominal_A:.1f} A from the supply; the lead takes {got.drop.ratio * 100:.1f} % of the voltage and leaves "
        f"{got.power_ratio * 100:.0f} % of the heating power."
    ]
    return {
        "nominal_A": got.nominal_A, "drop_V": got.drop.volts_V, "drop_ratio": got.drop.ratio, "current_A": got.current_A,
        "power_W": got.power_W, "said": said + list(got.notes),
    }  # fmt: skip


def section(job: Job) -> dict[str, Any]:
    """Which section of the standard's the lead must have, mm2, for a drop of 3 % and of 5 % at most; None: none does."""
    press = job.press
    wanted_mm2, least_mm2 = (
        smallest_section_mm2(
            press.power_W,
            press.voltage_V,
            press.fuse_A,
            job.supply.lead_length_m,
            most_drop=most,
            phases=press.phases,
        )
        for most in (WARN_DROP, REFUSE_DROP)
    )
    return {"smallest_section_mm2": wanted_mm2, "least_section_mm2": least_mm2}


def _tension(job: Job) -> dict[str, Any]:
    sheet = job.belt.sheet
    elongation, why = job.elongation_percent / 100, ""
    if job.belt.notched:
        made = _made(job)
        elongation, why = (
            made.elongation,
            f": {made.notches} whole notches give {made.elongation * 100:.2f} %",
        )
    apart = marks(elongation, MARKS_APART_m)
    said = [
        f"Two marks 1000 mm apart on the slack belt stand {apart * 1e3:.1f} mm apart when the tension is right{why}."
    ]
    results: dict[str, Any] = {"marks_m": apart, "elongation": elongation}
    if sheet.k1_N_per_mm is not None:
        results["pull_N"] = pull(sheet.k1_N_per_mm * 1e3, elongation, job.belt.width_mm / 1e3)
        said += [f"The belt then pulls with {results['pull_N']:.0f} N.", *linear_notes(elongation)]
    return results | {"said": said}


def _trial(job: Job) -> dict[str, Any]:
    return {
        "said": [
            f"{job.belt.name} on the {job.press.name}: a trial joint on off-cuts comes first, recorded as a job of its own."
        ]
    }


_TOPICS = {"job": _job, "fit": _fit, "cut": _cut, "supply": _supply, "tension": _tension, "trial": _trial}
