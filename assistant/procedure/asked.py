"""What can be asked at any time about things computed from the job, and the answers to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from assistant.bench.job import Job
from assistant.bench.units import edge_text
from assistant.procedure.told import section, told
from assistant.recipe.fingers import fingers
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Infeasible, Recipe
from assistant.recipe.pressure import belt_pressure
from assistant.recipe.supply import CLASS_5_OHM_PER_KM, QUALIFIED, REFUSE_DROP, WARN_DROP
from assistant.recipe.tension import shaft_load
from assistant.recipe.touch import burn_threshold, touch

HALF_TURN_RAD = 3.141592653589793
CONTACT_S = (1.0, 10.0)


@dataclass(frozen=True)
class Known:
    """readings: the last of each platen, K, by slot."""

    job: Job
    recipe: Recipe | Infeasible | None
    readings: Mapping[str, float]


def asked_for(
    name: str,
    job: Job | tuple[str, ...] | None,
    recipe: Recipe | Infeasible | None,
    readings: Mapping[str, float],
) -> str:
    """The answer to a question after something computed. Raises: KeyError for an unknown name."""
    _, answer = ASKED[name]
    if not isinstance(job, Job):
        return "The job sheet is not whole yet: that comes out of it."
    try:
        return answer(Known(job, recipe, readings))
    except NotComputable as refusal:
        return str(refusal)


def _topic(topic: str) -> Callable[[Known], str]:
    def answer(known: Known) -> str:
        results = told(topic, known.job)
        return " ".join(results.get("refused", results.get("said", ())))

    return answer


def _cut(known: Known) -> str:
    results = told("cut", known.job)
    if "refused" in results:
        return " ".join(results["refused"])
    beyond = edge_text("length", results["beyond_centre_m"])
    return f"{' '.join(results['said'])} Each end is cut {beyond} beyond the middle of the joint."


def _notches(known: Known) -> str:
    results = told("cut", known.job)
    if "refused" in results:
        return " ".join(results["refused"])
    if results["notches"] is None:
        return f"The {known.job.belt.name} has no notches."
    near = " and ".join(
        f"{one['notches']} give {one['elongation'] * 100:.2f} %" for one in results["nearest"]
    )
    return f"{results['notches']} whole notches, {results['elongation'] * 100:.2f} % elongation. The nearest two: {near}."


def _lead(known: Known) -> str:
    results = told("supply", known.job)
    if "refused" in results:
        return f"No, for this current. {' '.join(results['refused'])}"
    lead = known.job.supply
    if not lead.lead_length_m:
        return f"There is no lead. {' '.join(results['said'])}"
    return f"Yes, for this current: {lead.lead_length_m:g} m of {lead.lead_section_mm2:g} mm² will do. {' '.join(results['said'])}"


def _section(known: Known) -> str:
    lead_m = known.job.supply.lead_length_m
    if not lead_m:
        return "There is no lead."
    found = section(known.job)
    wanted_mm2, least_mm2 = found["smallest_section_mm2"], found["least_section_mm2"]
    if least_mm2 is None:
        return f"No section up to {max(CLASS_5_OHM_PER_KM):g} mm² will do for {lead_m:g} m: take a shorter lead. {QUALIFIED}"
    if wanted_mm2 is None:
        best = f"For no more than {WARN_DROP * 100:g} % the lead would have to be shorter"
    else:
        best = f"{wanted_mm2:g} mm² drops no more than {WARN_DROP * 100:g} %"
    return (
        f"Over {lead_m:g} m at least {least_mm2:g} mm², for a drop of {REFUSE_DROP * 100:g} % at most. {best}. What the fuse asks "
        f"of the lead is the local code's. {QUALIFIED}"
    )


def _pull(known: Known) -> str:
    results = told("tension", known.job)
    strand_N = results.get("pull_N")
    if strand_N is None:
        return f"{' '.join(results.get('refused', results['said']))} The data sheet gives no pull at 1 %."
    shaft = shaft_load(strand_N, strand_N, HALF_TURN_RAD)
    return f"{' '.join(results['said'])} A shaft with half a turn of belt bears {shaft:.0f} N at rest."


def _fingers(known: Known) -> str:
    punch, belt = known.job.punch, known.job.belt
    joint = fingers(punch.pitch_mm / 1e3, punch.length_mm / 1e3, belt.width_mm / 1e3, belt.thickness_mm / 1e3)
    edge = (
        f", and a part of {edge_text('length', joint.edge_part_m)} at each edge" if joint.edge_part_m else ""
    )
    return (
        f"{joint.whole} whole fingers of {punch.pitch_mm:g} by {punch.length_mm:g} mm{edge}. The weld line is "
        f"{joint.weld_line_m * 1e3:.0f} mm long, {joint.gain:.1f} times the belt's width. {' '.join(joint.notes)}"
    ).strip()


def _pressure(known: Known) -> str:
    if not isinstance(known.recipe, Recipe):
        return "There is no recipe yet: the pressure comes out of it."
    job = known.job
    long_m, wide_m = job.template.plate_length_mm / 1e3, job.belt.width_mm / 1e3
    plate_m2 = long_m * max(job.template.channel_width_mm / 1e3, wide_m)
    found = belt_pressure(
        known.recipe.value_si("pressure"), job.press.bag_area_mm2 / 1e6, long_m * wide_m, plate_m2
    )
    return (
        f"{edge_text('pressure', found.line_Pa)} at the gauge presses with {found.force_N / 1e3:.1f} kN and puts "
        f"{edge_text('pressure', found.belt_Pa)} on the belt under the plate."
    )


def _touch(known: Known) -> str:
    if known.readings:
        surface_K, what = max(known.readings.values()), "The hotter platen read"
    elif isinstance(known.recipe, Recipe):
        surface_K, what = known.recipe.value_si("release_temperature"), "When it may be opened it is at"
    else:
        return "There is no recipe and no reading yet: take every plate for hot."
    burns = " and ".join(
        f"in {seconds:g} s from {edge_text('temperature', burn_threshold(seconds, 'metal'))}"
        for seconds in CONTACT_S
    )
    return (
        f"{what} {edge_text('temperature', surface_K)}: {touch(surface_K)}. Bare metal burns {burns}, from memory of the "
        "standard; it burns sooner than the belt."
    )


def _pass_rate(_: Known) -> str:
    return "I know this joint only. Over the records of many 'loopwright statistics' tells the pass rate, with its interval."


# Name: sayings ('what is the ...'), answer. Whole questions stand in the phrasebook by these names.
ASKED: dict[str, tuple[tuple[str, ...], Callable[[Known], str]]] = {
    "cut_length": (("cut length", "length to cut", "cutting length"), _cut),
    "notches": (("number of notches", "notches", "notch count"), _notches),
    "supply_current": (("current", "voltage drop", "lead drop", "power of the press"), _topic("supply")),
    "lead_fit": (("lead", "cable", "extension lead"), _lead),
    "lead_section": (("section of the lead", "lead section", "cable section", "smallest section"), _section),
    "belt_pull": (
        (
            "belt pull",
            "pull",
            "tension",
            "tension marks",
            "marks",
            "shaft load",
            "distance between the marks",
        ),
        _pull,
    ),
    "fingers": (("number of fingers", "fingers", "weld line", "length of the weld line"), _fingers),
    "template_fit": (("fit", "template fit"), _topic("fit")),
    "belt_pressure": (
        ("pressure on the belt", "belt pressure", "clamp force", "force on the belt"),
        _pressure,
    ),
    "touch": (("touch temperature", "temperature to touch"), _touch),
    "pass_rate": (("pass rate", "share of good joints"), _pass_rate),
}
