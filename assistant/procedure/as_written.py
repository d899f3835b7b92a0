"""Changes of inputs as they are written on a command line: 'shop_temperature=5', 'supply_voltage=210 V'."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assistant.bench.bad_data import BadData
from assistant.bench.sheet import slots_for
from assistant.bench.sheet_file import QUANTITIES
from assistant.bench.slots import OTHER, SLOTS, Value
from assistant.bench.units import NoQuantity, in_unit
from assistant.procedure.as_planned import AS_PLANNED
from assistant.procedure.otherwise import PLATENS
from assistant.procedure.slots import RECIPE_SLOTS
from intents.canonical import canonical
from intents.meaning import Choice, QuantityKind
from intents.units import edge_unit

if TYPE_CHECKING:
    from assistant.bench.catalogue import Catalogue

# How the unit of a bare number is written.
_BARE: dict[QuantityKind, str] = {
    "temperature": "c", "duration": "s", "pressure": "bar", "length": "mm", "ratio": "percent", "voltage": "v",
    "section": "mm2", "count": "",
}  # fmt: skip
_FIGURES = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,2})?")
_LONGEST = 60
_MOST_JOINTS = 1000.0  # times as planned: more is another unit
_MOST = 1e7  # in any unit of the edges
_A_LEAD: Mapping[str, Value] = {"lead_length": 1.0}  # so that its section is among the slots
_NOT_COMPUTED_WITH = ("technician", "new_pair")


@dataclass(frozen=True)
class _Input:
    """unit: of a bare number, '' for the kind's own."""

    slot: str
    kind: QuantityKind | None
    unit: str = ""
    choices: tuple[Choice, ...] = ()


def names(values: Mapping[str, Value], catalogue: Catalogue) -> tuple[str, ...]:
    """What can be written before the '='; keys of a job file mean the same as their slots."""
    return tuple(_inputs(values, catalogue))


def read_changes(pairs: Iterable[str], values: Mapping[str, Value], catalogue: Catalogue) -> dict[str, Value]:
    """Slot to value, SI or key. A bare number is in the unit of the edges: °C, bar, mm, s, V, %; m for the lead.
    Conductivity and heat capacity are in % of what is planned; contact in m²K/W of each dry joint, or with a '%'.

    Raises: BadData, one sentence, for a name or value that cannot be understood. Whether it can be is not judged.
    """
    known = _inputs(values, catalogue)
    slot_of = {key: slot for key, (slot, _, _) in QUANTITIES.items()}
    changes: dict[str, Value] = {}
    for pair in pairs:
        name, equals, text = (part.strip() for part in pair.partition("="))
        if not equals or not text or len(pair) > _LONGEST:
            raise BadData(f"--set '{pair[:_LONGEST]}': write SLOT=VALUE, as in shop_temperature=5.")
        found = known.get(slot_of.get(name, name))
        if found is None:
            raise BadData(f"--set: there is no '{name}'; there is {', '.join(known)}.")
        if found.slot in changes:
            raise BadData(f"--set: '{found.slot}' is given twice; give it once.")
        changes[found.slot] = _value(found, text)
    return changes


def _inputs(values: Mapping[str, Value], catalogue: Catalogue) -> dict[str, _Input]:
    found = {PLATENS: _Input(PLATENS, "temperature")}
    found |= {slot.slot: _Input(slot.slot, slot.quantity) for slot in RECIPE_SLOTS.values()}
    found |= {slot: _Input(slot, "ratio") for slot in AS_PLANNED}
    with_lead = values if values.get("lead_length") else {**values, **_A_LEAD}
    listed = slots_for(with_lead, catalogue)
    if values.get("belt") != OTHER:
        listed = (*listed, *(info for info in SLOTS if info.slot == "notch_pitch"))
    for info in listed:
        if info.slot not in _NOT_COMPUTED_WITH:
            unit = info.unit if info.unit == "m" else ""
            choices = tuple(choice for choice in info.choices if choice.key != OTHER)
            found[info.slot] = _Input(info.slot, info.quantity, unit, choices)
    return found


def _value(about: _Input, text: str) -> Value:
    if about.kind is None:
        said = canonical(text)
        for choice in about.choices:
            if text == choice.key or said in map(canonical, choice.sayings):
                return choice.key
        keys = ", ".join(choice.key for choice in about.choices)
        raise BadData(f"--set {about.slot}: there is no '{text}'; there is {keys}.")
    own = edge_unit(about.kind, about.unit)
    if _FIGURES.fullmatch(text):
        if abs(float(text)) > _MOST:
            raise BadData(f"--set {about.slot}: {text} cannot be; it is a slip of the keys.")
        if about.slot == "contact":
            from assistant.recipe.stack import DRY_JOINT_M2K_W

            if not 0 <= float(text) / DRY_JOINT_M2K_W <= _MOST_JOINTS:
                raise BadData(
                    f"--set contact: {text} m²K/W cannot be; a dry joint is planned with {DRY_JOINT_M2K_W:g}. For twice as bad "
                    "write contact=200%."
                )
            return float(text) / DRY_JOINT_M2K_W
        return own.to_si(float(text))
    try:
        return own.to_si(in_unit(text, about.kind, about.unit or _BARE[about.kind]))
    except NoQuantity as refusal:
        raise BadData(f"--set {about.slot}: {refusal}") from None
