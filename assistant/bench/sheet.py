"""The job sheet: what has to be known before a joint can be made, and the job that comes of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isclose
from typing import TYPE_CHECKING

from assistant.bench import chosen
from assistant.bench.catalogue import ohm_per_km
from assistant.bench.chosen import proposal
from assistant.bench.job import Job, Supply
from assistant.bench.refuse import cover_materials, refusal
from assistant.bench.sheet_file import read_sheet, write_sheet
from assistant.bench.slots import GUIDES, OTHER, SLOTS, SlotInfo, Value, Values
from intents.meaning import Choice

if TYPE_CHECKING:
    from collections.abc import Mapping

    from assistant.bench.belt import Belt
    from assistant.bench.catalogue import Catalogue
    from assistant.bench.material import Material
    from assistant.bench.press import Press
    from assistant.bench.template import Cloth, Punch, Template

    Item = Belt | Cloth | Material | Press | Punch | Template

__all__ = [
    "SLOTS",
    "SlotInfo",
    "Value",
    "Values",
    "all_slots",
    "build_job",
    "conflicts",
    "missing",
    "proposal",
    "read_sheet",
    "refusal",
    "slots_for",
    "traits",
    "with_defaults",
    "write_sheet",
]

HEAVY_KG = 15.0
ASKED_BY_NAME = ("belt", "belt_material", "press", "punch", "template")
MOST_NAMED = 5  # of the choices, in a question
UNLISTED_ONLY = ("belt_material", "belt_plies", "belt_guide", "notch_pitch")
NO_LEAD_SECTION_MM2 = 2.5  # immaterial: over no length nothing is lost


def slots_for(values: Values, catalogue: Catalogue) -> tuple[SlotInfo, ...]:
    """The slots that apply to the values so far, in order, with what can be chosen."""
    return tuple(
        _naming_choices(_with_choices(info, catalogue), values, catalogue)
        for info in SLOTS
        if _applies(info.slot, values)
    )


def all_slots(catalogue: Catalogue) -> tuple[SlotInfo, ...]:
    """Every slot there is, in order, with all that can be chosen on this bench."""
    return tuple(_with_choices(info, catalogue) for info in SLOTS)


def conflicts(values: Values, catalogue: Catalogue) -> dict[str, str]:
    """By slot, in order: values that do not stand beside those before them, with the reason.

    A value that does not stand is left out when later ones are judged.
    """
    told: dict[str, str] = {}
    standing = dict(values)
    for info in SLOTS:
        if info.slot not in values or not _applies(info.slot, values):
            standing.pop(info.slot, None)
            continue
        reason = refusal(info.slot, values[info.slot], standing, catalogue)
        if reason is not None:
            told[info.slot] = reason
            standing.pop(info.slot)
    return told


def missing(values: Values, catalogue: Catalogue) -> tuple[SlotInfo, ...]:
    """What has to be asked for still, in order; a value that no longer stands is asked for with the reason."""
    reasons = conflicts(values, catalogue)
    gaps: list[SlotInfo] = []
    for info in slots_for(values, catalogue):
        if info.slot in reasons:
            gaps.append(replace(info, question=f"{reasons[info.slot]} {info.question}"))
        elif info.slot not in values and not (info.defaulted and proposal(info.slot, values, catalogue)):
            gaps.append(info)
    return tuple(gaps)


def with_defaults(values: Values, catalogue: Catalogue) -> tuple[dict[str, Value], tuple[str, ...]]:
    """The values with the defaulted slots filled in, and a sentence for each that was."""
    filled, told = dict(values), []
    for info in SLOTS:
        if info.defaulted and info.slot not in filled:
            proposed = proposal(info.slot, filled, catalogue)
            if proposed is not None:
                filled[info.slot] = proposed[0]
                told.append(f"The {info.label} is taken as proposed: {proposed[1]}.")
    return filled, tuple(told)


def build_job(values: Values, catalogue: Catalogue) -> Job | tuple[str, ...]:
    """The job, or every reason why there is none, one sentence each. Values that do not apply are ignored."""
    filled, _ = with_defaults(values, catalogue)
    problems = list(conflicts(filled, catalogue).values())
    problems += [
        f"The {info.label} is missing." for info in slots_for(filled, catalogue) if info.slot not in filled
    ]
    if problems:
        return tuple(problems)
    belt = chosen.belt(filled, catalogue)
    if belt is None:
        return ("The belt is not known well enough.",)
    press = catalogue.presses[str(filled["press"])]
    template = catalogue.templates[str(filled["template"])]
    above, below = (catalogue.cloths[str(filled[slot])] for slot in ("cloth_above", "cloth_below"))
    lead_m = float(filled["lead_length"])
    return Job(
        technician=str(filled["technician"]).strip(),
        job_kind="shop" if filled["job_kind"] == "shop" else "conveyor",
        belt=belt,
        press=press,
        template=template,
        punch=catalogue.punches[str(filled["punch"])],
        cloth_above=above,
        cloth_below=below,
        supply=Supply(
            voltage_V=float(filled["supply_voltage"]),
            lead_length_m=lead_m,
            lead_section_mm2=round(float(filled["lead_section"]) * 1e6, 9) if lead_m else NO_LEAD_SECTION_MM2,
            coiled=filled["lead_coiled"] == "yes",
            lead_ohm_per_km=_resistance(float(filled["lead_section"]) * 1e6, catalogue) if lead_m else None,
        ),
        shop_degC=round(float(filled["shop_temperature"]) - 273.15, 9),
        endless_length_mm=round(float(filled["endless_length"]) * 1e3, 9),
        elongation_percent=round(float(filled["elongation"]) * 100, 9),
        new_pair=filled["new_pair"] == "yes",
        materials=_materials(belt, template, (above, below), catalogue),
    )


def _resistance(section_mm2: float, catalogue: Catalogue) -> float | None:
    return next(
        (r for mm2, r in ohm_per_km(catalogue).items() if isclose(mm2, section_mm2, rel_tol=1e-6)), None
    )


def traits(
    values: Values, catalogue: Catalogue, preheat: bool | None = None, asymmetric: bool | None = None
) -> dict[str, str | bool]:
    """What chooses the steps of the procedure, as far as it is known; the rest is absent.

    preheat, asymmetric: from the recipe, when there is one.
    """
    known: dict[str, str | bool] = {}
    kind, pair = values.get("job_kind"), values.get("new_pair")
    if isinstance(kind, str):
        known["job_kind"] = kind
    if pair is not None:
        known["new_pair"] = pair == "yes"
    listed = chosen.listed_belt(values, catalogue)
    if listed is not None:
        known["guided"], known["notched"] = listed.guided, listed.notched
    elif values.get("belt") == OTHER and "belt_guide" in values:
        known["guided"] = values["belt_guide"] in GUIDES
        if not known["guided"] or "notch_pitch" in values:
            known["notched"] = known["guided"] and values["notch_pitch"] != 0
    press = catalogue.presses.get(str(values.get("press")))
    if press is not None:
        known["halves"] = press.halves
        known["inner_lead"] = press.inner_lead
        known["cooling"] = press.cooling.kind
        known["supply_until_vented"] = press.cooling.needs_supply
        known["heavy"] = press.heaviest_part_kg > HEAVY_KG
    if preheat is not None:
        known["preheat"] = preheat
    if asymmetric is not None:
        known["asymmetric"] = asymmetric
    return known


def _applies(slot: str, values: Values) -> bool:
    if slot in UNLISTED_ONLY and values.get("belt") != OTHER:
        return False
    if slot == "notch_pitch":
        return values.get("belt_guide") in GUIDES
    if slot in ("lead_section", "lead_coiled"):
        return values.get("lead_length") != 0
    return True


def _with_choices(info: SlotInfo, catalogue: Catalogue) -> SlotInfo:
    match info.slot:
        case "belt":
            other = Choice(OTHER, ("another belt", "it is not listed", "a different belt"))
            return replace(info, choices=(*_named(catalogue.belts), other))
        case "belt_material":
            keys = cover_materials(catalogue)
            return replace(info, choices=_named({key: catalogue.materials[key] for key in keys}))
        case "press":
            return replace(info, choices=_named(catalogue.presses))
        case "punch":
            return replace(info, choices=_named(catalogue.punches))
        case "template":
            return replace(info, choices=_named(catalogue.templates))
        case "cloth_above" | "cloth_below":
            return replace(info, choices=_named(catalogue.cloths))
    return info


def _naming_choices(info: SlotInfo, values: Values, catalogue: Catalogue) -> SlotInfo:
    """The question with what can be answered: nobody knows the names of a bench by heart."""
    if info.slot in values or info.slot not in ASKED_BY_NAME:
        return info
    if info.slot == "belt":
        return replace(info, question=f"{info.question} Say its name, or 'another belt'.")
    fitting = [
        choice.sayings[0]
        for choice in info.choices
        if refusal(info.slot, choice.key, values, catalogue) is None
    ]
    if not 1 <= len(fitting) <= MOST_NAMED:
        return info
    told = f"{', '.join(fitting[:-1])} or {fitting[-1]}" if len(fitting) > 1 else f"Only {fitting[0]} fits"
    return replace(info, question=f"{info.question} {told[0].upper()}{told[1:]}.")


def _named(items: Mapping[str, Item]) -> tuple[Choice, ...]:
    return tuple(Choice(key, item.sayings or (item.name.lower(),)) for key, item in items.items())


def _materials(
    belt: Belt, template: Template, cloths: Sequence[Cloth], catalogue: Catalogue
) -> dict[str, Material]:
    keys = {layer.material for layer in belt.layers} | {template.material, template.plate_material}
    keys |= {cloth.material for cloth in cloths}
    if belt.guide is not None:
        keys.add(belt.guide.material)
    return {key: catalogue.materials[key] for key in sorted(keys)}
