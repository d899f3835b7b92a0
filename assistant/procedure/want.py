"""The one value that is asked for now, wherever it is defined: job sheet, recipe, reading, inspection."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.bench.sheet import missing
from assistant.bench.slots import SlotInfo
from assistant.procedure.inspection import item_choices, item_of
from assistant.procedure.model import Act
from assistant.procedure.rules import Rules, sheet_slots
from assistant.procedure.slots import SLOTS as PROCEDURE_SLOTS
from assistant.procedure.state import State
from intents.meaning import Choice, Expected


@dataclass(frozen=True)
class Want:
    slot: str
    label: str
    question: str
    why: str
    expected: Expected
    steering: bool = True  # steers heat, pressure, time or acceptance: confirmed before it counts


def want_of(rules: Rules, state: State, act: Act) -> Want | None:
    """What `act` asks for in this state; None where it asks for no value."""
    if act.kind == "tell" and act.topic == "job":
        gaps = missing(state.values, rules.catalogue)
        return sheet_want(gaps[0]) if gaps else None
    if act.kind == "keep":
        return Want("keep_name", "recipe name", act.say, act.why, Expected("keep_name", "name"))
    if act.slot is None or act.kind in ("agree",):
        return None
    if act.kind == "ask":
        for info in sheet_slots(rules, state):
            if info.slot == act.slot:
                return sheet_want(info)
    if act.kind == "look":
        choices = tuple(Choice(key, sayings) for key, sayings in item_choices(act.slot).items())
        return Want(
            act.slot, item_of(act.slot).label, act.say, act.why, Expected(act.slot, "choice", choices=choices)
        )
    slot = PROCEDURE_SLOTS[act.slot]
    name = f"shown_{slot.slot}" if act.kind == "set" else slot.slot
    expected = Expected(name, slot.kind, slot.quantity, slot.low, slot.high, slot.choices)
    return Want(name, slot.label, act.say, act.why, expected)


def sheet_want(info: SlotInfo) -> Want:
    expected = Expected(
        info.slot, info.kind, info.quantity, info.low, info.high, info.choices, info.usual, info.unit
    )
    return Want(info.slot, info.label, info.question, info.why, expected, info.steering)
