"""What cannot be is refused when it is said, with the reason.

A value is judged against the slots that come before it on the sheet; when one of those changes
later, `assistant.bench.sheet.conflicts` finds what no longer stands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from assistant.bench import chosen, fit
from assistant.bench.catalogue import ohm_per_km
from assistant.bench.slots import GUIDES, OTHER, SLOTS, Value, Values
from assistant.recipe.length import cut, endless
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.supply import resistance_per_m, supply

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic import BaseModel

    from assistant.bench.catalogue import Catalogue

BY_SLOT = {info.slot: info for info in SLOTS}
ORDER = {info.slot: index for index, info in enumerate(SLOTS)}

THICKNESS_OFF = 0.15  # of the belt's data
WIDTH_OFF = 0.10
VOLTAGE_OFF = 0.10  # of the press plate; the usual supply tolerance
UNLISTED_THICKNESS_MM = (0.5, 8.0)  # belts that are joined in such presses
MOST_PLIES = 3
LONGEST_MM = 300_000.0
LONGEST_LEAD_M = 100.0
LONGEST_NAME = 60


def refusal(slot: str, value: Value, values: Values, catalogue: Catalogue) -> str | None:
    """Why `value` (SI, a choice's key or words) cannot stand for `slot`; None when it can.

    Raises: KeyError for a slot that the sheet does not have.
    """
    info = BY_SLOT[slot]
    if info.kind == "quantity":
        if isinstance(value, str) or not math.isfinite(value):
            return f"The {info.label} must be a number."
        before = {name: held for name, held in values.items() if ORDER.get(name, len(ORDER)) < ORDER[slot]}
        return _quantity(slot, float(value), before, catalogue)
    if not isinstance(value, str):
        return f"The {info.label} must be given in words."
    before = {name: held for name, held in values.items() if ORDER.get(name, len(ORDER)) < ORDER[slot]}
    return _words(slot, value, before, catalogue)


def _quantity(slot: str, value: float, before: Values, catalogue: Catalogue) -> str | None:
    match slot:
        case "belt_plies":
            return _plies(value, before, catalogue)
        case "notch_pitch":
            if value != 0 and not 2e-3 < value <= 0.2:
                return f"A notch pitch of {value * 1e3:g} mm cannot be: it is zero, or more than 2 and up to 200 mm."
        case "belt_thickness":
            return _thickness(value * 1e3, before, catalogue)
        case "belt_width":
            return _width(value * 1e3, before, catalogue)
        case "elongation":
            low, high = chosen.elongation_range(before, catalogue)
            if not low - 1e-9 <= value <= high + 1e-9:
                return (
                    f"{value * 100:g} % is outside what the belt allows, {low * 100:g} to {high * 100:g} %."
                )
        case "endless_length":
            return _length(value, before, catalogue)
        case "supply_voltage":
            press = catalogue.presses.get(str(before.get("press")))
            if press and not abs(value / press.voltage_V - 1) <= VOLTAGE_OFF + 1e-9:
                return f"{value:g} V does not suit the {press.name}: its plate says {press.voltage_V:g} V."
            if value <= 0:
                return "The supply voltage must be greater than zero."
        case "lead_length":
            if not 0 <= value <= LONGEST_LEAD_M:
                return f"A lead of {value:g} m cannot be: it is between zero and {LONGEST_LEAD_M:g} m long."
        case "lead_section":
            return _lead(value, before, catalogue)
        case "shop_temperature":
            if not -20 < value - 273.15 < 50:
                return f"{value - 273.15:.4g} °C cannot be worked in: it must lie between −20 and 50 °C."
    return None


def _words(slot: str, value: str, before: Values, catalogue: Catalogue) -> str | None:
    match slot:
        case "technician":
            if not value.strip() or len(value) > LONGEST_NAME or not value.isprintable():
                return f"A name has between one and {LONGEST_NAME} letters."
            return None
        case "belt":
            return None if value == OTHER else _listed("belt", value, catalogue.belts)
        case "belt_material":
            return _cover_material(value, catalogue)
        case "press":
            return _listed("press", value, catalogue.presses) or _press(value, before, catalogue)
        case "punch":
            return _listed("punch", value, catalogue.punches) or _punch(value, before, catalogue)
        case "template":
            return _listed("template", value, catalogue.templates) or _template(value, before, catalogue)
        case "cloth_above" | "cloth_below":
            return _listed("cloth", value, catalogue.cloths) or _cloth(value, before, catalogue)
        case "belt_guide":
            return (
                None
                if value in ("none", *GUIDES)
                else f"There is no guide '{value}': none, small, middle or large."
            )
    keys = [choice.key for choice in BY_SLOT[slot].choices]
    if value not in keys:
        return f"'{value}' is no answer to '{BY_SLOT[slot].question}' It is {_either(keys)}."
    if slot == "lead_coiled" and value == "yes":
        return "A coiled lead gets hot under load: unroll all of it first."
    return None


def _listed(what: str, key: str, items: Mapping[str, BaseModel]) -> str | None:
    return (
        None if key in items else f"There is no {what} '{key}' on the bench: there is {_either(list(items))}."
    )


def _cover_material(key: str, catalogue: Catalogue) -> str | None:
    known = cover_materials(catalogue)
    return None if key in known else f"A belt cannot be made of '{key}' here: there is {_either(known)}."


def cover_materials(catalogue: Catalogue) -> list[str]:
    """Keys of the materials that covers can be made of: they fuse and are no ply."""
    return [
        key
        for key, material in catalogue.materials.items()
        if material.fusion_degC is not None and material.damage_degC is not None and not material.fabric
    ]


def _plies(value: float, before: Values, catalogue: Catalogue) -> str | None:
    if value != int(value) or not 0 <= value <= MOST_PLIES:
        return f"{value:g} plies cannot be: a belt has none, one, two or three."
    material = catalogue.materials.get(str(before.get("belt_material")))
    if value > 0 and material and f"ply_{material.key}" not in catalogue.materials:
        return f"What a ply in {material.name} bears is not known here: add the material 'ply_{material.key}' from its data sheet."
    return None


def _thickness(value_mm: float, before: Values, catalogue: Catalogue) -> str | None:
    if value_mm <= 0:
        return "A belt thickness of zero or less cannot be: measure it with the thickness gauge."
    listed = chosen.listed_belt(before, catalogue)
    if listed is None:
        low, high = UNLISTED_THICKNESS_MM
        if not low <= value_mm <= high:
            return f"{value_mm:g} mm cannot be joined here: belts are {low:g} to {high:g} mm thick."
        return None
    off = value_mm / listed.thickness_mm - 1
    if abs(off) > THICKNESS_OFF + 1e-9:
        return (
            f"{value_mm:g} mm is {abs(off) * 100:.0f} % off the {listed.thickness_mm:g} mm of the {listed.name}: "
            "measure again, or it is another belt."
        )
    return None


def _width(value_mm: float, before: Values, catalogue: Catalogue) -> str | None:
    if value_mm <= 0:
        return "A belt width of zero or less cannot be."
    widest = max((fit.widest_belt_mm(press) for press in catalogue.presses.values()), default=0.0)
    if value_mm > widest:
        return f"A width of {value_mm:g} mm cannot be: the widest press here takes belts up to {widest:g} mm."
    listed = chosen.listed_belt(before, catalogue)
    if listed and abs(value_mm / listed.width_mm - 1) > WIDTH_OFF + 1e-9:
        return f"{value_mm:g} mm does not go with the {listed.name}, which is {listed.width_mm:g} mm wide."
    if before.get("belt_guide") in GUIDES and value_mm < GUIDES[str(before["belt_guide"])][0]:
        return f"{value_mm:g} mm is narrower than the guide under it."
    return None


def _press(key: str, before: Values, catalogue: Catalogue) -> str | None:
    width = chosen.number(before, "belt_width")
    return _first(fit.press_misfits(catalogue.presses[key], width * 1e3)) if width else None


def _punch(key: str, before: Values, catalogue: Catalogue) -> str | None:
    belt, press = chosen.belt(before, catalogue), catalogue.presses.get(str(before.get("press")))
    return _first(fit.punch_misfits(catalogue.punches[key], belt, press)) if belt and press else None


def _template(key: str, before: Values, catalogue: Catalogue) -> str | None:
    belt, press = chosen.belt(before, catalogue), catalogue.presses.get(str(before.get("press")))
    punch = catalogue.punches.get(str(before.get("punch")))
    if not (belt and press and punch):
        return None
    reason = _first(fit.template_misfits(catalogue.templates[key], belt, punch, press))
    if reason is None:
        return None
    fitting = fit.fitting_templates(belt, punch, press, catalogue)
    advice = (
        f"The {fitting[0].name} fits."
        if fitting
        else "No template on the bench fits this belt with this punch: change one of them, or have a template made."
    )
    return f"{reason} {advice}"


def _cloth(key: str, before: Values, catalogue: Catalogue) -> str | None:
    belt = chosen.belt(before, catalogue)
    return _first(fit.cloth_misfits(catalogue.cloths[key], belt, catalogue)) if belt else None


def _length(value: float, before: Values, catalogue: Catalogue) -> str | None:
    press = catalogue.presses.get(str(before.get("press")))
    least = 2 * press.platen_length_mm if press else 100.0
    if not least <= value * 1e3 <= LONGEST_MM:
        return f"{value * 1e3:g} mm cannot be: the path is between {least:g} mm, twice round the platens, and {LONGEST_MM:g} mm."
    belt, punch = chosen.belt(before, catalogue), catalogue.punches.get(str(before.get("punch")))
    proposed = chosen.proposal("elongation", before, catalogue)
    elongation = before.get("elongation", proposed[0] if proposed else 0.0)
    if belt is None or isinstance(elongation, str):
        return None
    pitch = belt.guide.notch_pitch_mm if belt.guide else None
    try:
        made = endless(
            value, elongation, pitch / 1e3 if pitch else None, chosen.elongation_range(before, catalogue)
        )
        if punch:
            cut(made.endless_m, punch.length_mm / 1e3)
    except NotComputable as refused:
        return str(refused)
    return None


def _lead(value: float, before: Values, catalogue: Catalogue) -> str | None:
    press, length = catalogue.presses.get(str(before.get("press"))), chosen.number(before, "lead_length")
    try:
        table = ohm_per_km(catalogue)
        resistance_per_m(value, ohm_per_km=table)
        if press and length is not None:
            supply(
                press.power_W,
                press.voltage_V,
                press.fuse_A,
                length,
                value,
                phases=press.phases,
                ohm_per_km=table,
            )
    except NotComputable as refused:
        return str(refused)
    return None


def _first(reasons: Sequence[str]) -> str | None:
    return reasons[0] if reasons else None


def _either(keys: Sequence[str]) -> str:
    names = [key.replace("_", " ") for key in keys]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " or " + names[-1] if names else "none"
