"""In which of its approved wordings a gate is asked, and which of them close it.

A putting of a gate begins with the sentence that the procedure has chosen. A voice that slips on one wording seldom
slips on the next, so an answer that was heard well and was other words brings the next wording; against noise the
same words again do better, and the wording stays for another try. People repeat what they were asked first, so
whatever has been asked in this putting closes the gate, whole, and nothing that has not been asked does.
"""

from __future__ import annotations

from assistant.procedure.gate_table import BY_ID
from assistant.procedure.model import Act, Gate
from assistant.procedure.rules import Rules
from assistant.procedure.state import State


def wordings(gate: Gate) -> tuple[str, ...]:
    """Every approved wording, the procedure's own first, then in the table's order and round again."""
    approved = BY_ID[gate.id].sentences
    first = approved.index(gate.sentence)
    return (*approved[first:], *approved[:first])


def next_wording(gate: Gate, now: str) -> str:
    """The wording after `now`; the first after the last."""
    every = wordings(gate)
    return every[(every.index(now) + 1) % len(every)]


def asked_so_far(rules: Rules, state: State, act: Act) -> tuple[str, ...]:
    """The wordings asked in this putting of the act's gate; the last is the one asked now.

    Only approved ones, whatever a log holds; the procedure's own where the gate has not been asked yet.
    """
    gate = rules.gate(act)
    if state.gate is None or state.gate.act != act.id:
        return (gate.sentence,)
    approved = wordings(gate)
    return tuple(s for s in state.gate.wordings if s in approved) or (gate.sentence,)


def asked_now(rules: Rules, state: State, act: Act) -> str:
    """The wording that is asked now."""
    return asked_so_far(rules, state, act)[-1]
