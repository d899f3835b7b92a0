"""Everything that an answer rests on, by the names under which 'what if' and 'why' are asked of it."""

from __future__ import annotations

from dataclasses import replace

from assistant.bench.slots import OTHER, SlotInfo
from assistant.bench.slots import SLOTS as SHEET
from assistant.procedure.as_planned import AS_PLANNED, LEAST, MOST
from assistant.procedure.otherwise import PLATENS
from assistant.procedure.rules import Rules, recipe_of, sheet_slots
from assistant.procedure.slots import RECIPE_SLOTS
from assistant.procedure.state import State
from assistant.recent import remembered
from intents.meaning import Choice, Topic

NOT_COMPUTED_WITH = frozenset(("technician", "job_kind", "new_pair"))
BY_NAME_ONLY = frozenset(
    ("upper_temperature", "lower_temperature", "preheat_temperature", "preheat_time", *AS_PLANNED)
)
"""A bare temperature is meant for both platens, as a technician says it."""
IN_OTHER_WORDS: dict[str, tuple[Choice, ...]] = {
    "lead_coiled": (
        Choice("yes", ("coiled", "still coiled", "coiled up", "rolled up", "on the drum", "on the reel")),
        Choice("no", ("unrolled", "not coiled", "rolled out", "uncoiled")),
    ),
}
"""Choices that are 'yes' and 'no' where they are asked for."""
ALSO_CALLED: dict[str, tuple[str, ...]] = {
    "shop_temperature": ("shop", "workshop", "room", "hall", "air here", "temperature here"),
    "supply_voltage": ("mains", "mains voltage"),
    "belt_thickness": ("belt",),
    "belt_width": ("belt",),
    "lead_length": ("extension lead", "cable", "extension"),
    "lead_coiled": ("lead", "extension lead", "cable"),
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
    preheated = bool(getattr(recipe_of(rules, state), "preheated", False))
    return _inputs(state.values.get("belt") == OTHER, sheet_slots(rules, state), preheated)


@remembered(16)
def _inputs(unlisted: bool, listed: tuple[SlotInfo, ...], preheated: bool) -> tuple[Topic, ...]:
    topics = [_platens(), *_planned()]
    for slot in RECIPE_SLOTS.values():
        topics.append(Topic(slot.slot, (slot.label, *slot.sayings), slot.quantity, slot.low, slot.high))
    if not preheated:
        topics = [t for t in topics if not t.slot.startswith("preheat")]
    if not unlisted:
        listed = (*listed, *(info for info in SHEET if info.slot == "notch_pitch"))
    for info in listed:
        if info.slot in NOT_COMPUTED_WITH:
            continue
        choices = IN_OTHER_WORDS.get(info.slot) or tuple(c for c in info.choices if c.key != OTHER)
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


def names_of_inputs() -> tuple[str, ...]:
    """Every name and choice that an input goes by beside those of its slot, whatever the job."""
    return (
        *_platens().sayings,
        *(saying for topic in _planned() for saying in topic.sayings),
        *(saying for choices in IN_OTHER_WORDS.values() for choice in choices for saying in choice.sayings),
        *(saying for sayings in ALSO_CALLED.values() for saying in sayings),
    )


def _planned() -> list[Topic]:
    return [Topic(one.slot, one.sayings, "ratio", LEAST, MOST) for one in AS_PLANNED.values()]


def _platens() -> Topic:
    upper = RECIPE_SLOTS["upper_temperature"]
    names = ("both platens", "platens", "plates", "both plates", "temperature", "temperatures")
    return Topic(PLATENS, names, "temperature", upper.low, upper.high)
