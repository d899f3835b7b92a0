"""Every word that an ear must know to follow a job."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.bench.sheet import all_slots
from assistant.bench.slots import SlotInfo
from assistant.procedure.asked import ASKED
from assistant.procedure.gate_table import RULES
from assistant.procedure.inputs import names_of_inputs
from assistant.procedure.inspection import findings_sayings
from assistant.procedure.rules import Rules
from assistant.procedure.slots import SLOTS, ProcedureSlot
from intents.grammar import words
from intents.phrasebook import Phrasebook


def vocabulary(rules: Rules, book: Phrasebook) -> tuple[str, ...]:
    """Words of all that can be said in any job at this bench, with this callsign, sorted.

    They are those of the phrasebook, numbers and units, cries of danger, the gates' sentences in every wording, and the
    names of values, choices and findings, with the catalogue's own. Names of people and of recipes are in none.
    """
    said = [sentence for rule in RULES for sentence in rule.sentences]
    said += [gate.sentence for gate in rules.procedure.gates]
    return words(book, (*said, *_names(rules), rules.callsign or ""))


def _names(rules: Rules) -> Iterator[str]:
    slots: tuple[SlotInfo | ProcedureSlot, ...] = (*all_slots(rules.catalogue), *SLOTS.values())
    for slot in slots:
        yield slot.label
        yield from slot.sayings
        for choice in slot.choices:
            yield from choice.sayings
    yield "set"  # 'set upper platen': the value that was set, while the press runs
    for sayings, _ in ASKED.values():
        yield from sayings
    yield from names_of_inputs()
    yield from findings_sayings()
