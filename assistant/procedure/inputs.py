"""Everything that an answer rests on, by the names under which 'what if' and 'why' are asked of it."""

from __future__ import annotations

from dataclasses import replace

from assistant.bench.sheet import slots_for
from assistant.bench.slots import OTHER
from assistant.bench.slots import SLOTS as SHEET
from assistant.procedure.otherwise import PLATENS
from assistant.procedure.rules import Rules, recipe_of
from assistant.procedure.slots import RECIPE_SLOTS
from assistant.procedure.state import State
from intents.meaning import Topic

NOT_COMPUTED_WITH = frozenset(("technician", "job_kind", "new_pair", "lead_coiled"))
BY_NAME_ONLY = frozenset(("lower_temperature", "preheat_temperature", "preheat_time", PLATENS))
ALSO_CALLED: dict[str, tuple[str, ...]] = {
    "shop_temperature": ("shop", "workshop", "room", "hall", "air here", "temperature here"),
    "supply_voltage": ("mains", "mains voltage"),
    "belt_thickness": ("belt",),
    "belt_width": ("belt",),
    "lead_length": ("extension lead", "cable", "extension"),
    "lead_section": ("lead", "extension lead", "cable"),
    "endless_length": ("path",),
    "notch_pitch": ("pitch of the notches", "pitch"),
    "cloth_above": ("cloth", "release cloth"),
    "dwell": ("dwell time", "time"),
    "release_temperature": ("release", "opening temperature"),
}
"""A thing stands for its value here ('what if the shop is five degrees'); which one, the value tells."""


def inputs_of(rules: Rules, state: State) -> tuple[Topic, ...]:
    """The recipe's values first: a bare value is meant for them where it can be."""
    topics = [_platens()]
    for slot in RECIPE_SLOTS.values():
        topics.append(Topic(slot.slot, (slot.label, *slot.sayings), slot.quantity, slot.low, slot.high))
    if not getattr(recipe_of(rules, state), "preheated", False):
        topics = [t for t in topics if not t.slot.startswith("preheat")]
    listed = slots_for(state.values, rules.catalogue)
    if state.values.get("belt") != OTHER:
        listed = (*listed, *(info for info in SHEET if info.slot == "notch_pitch"))
    for info in listed:
        if info.slot in NOT_COMPUTED_WITH:
            continue
        choices = tuple(choice for choice in info.choices if choice.key != OTHER)
        topics.append(
            Topic(
                info.slot, (info.label, *info.sayings), info.quantity, info.low, info.high, choices=choices,
                usual=info.usual, unit=info.unit,
            )
        )  # fmt: skip
    return tuple(
        replace(
            topic,
            sayings=tuple(dict.fromkeys((*topic.sayings, *ALSO_CALLED.get(topic.slot, ())))),
            by_name_only=topic.slot in BY_NAME_ONLY,
        )
        for topic in topics
    )


def _platens() -> Topic:
    upper = RECIPE_SLOTS["upper_temperature"]
    names = ("both platens", "platens", "plates", "both plates", "temperature", "temperatures")
    return Topic(PLATENS, names, "temperature", upper.low, upper.high)
