"""The quick copy of a state is the same as the standard library's, and refuses the same."""

from __future__ import annotations

from dataclasses import fields, replace

import at_the_press as press
import pytest

from assistant.procedure import state as kept
from assistant.procedure.changed import changed
from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.state import GateQuestion, Put, State
from assistant.record.chain import decode


def test_a_copy_is_what_the_standard_library_makes_of_it() -> None:
    state = State()
    for n, (raw, _, _) in enumerate(press.recorded("demo"), 1):
        line = decode(raw.rstrip(b"\n"), n)
        before, twin = state, replace(state)
        state = evolve(state, parse_event(dict(line.event)), line.t)
        assert before == twin, "the state before was changed"
        assert changed(state, misses=7, held="x") == replace(state, misses=7, held="x")
    assert state.closed == "accepted"


def test_an_unknown_field_is_refused() -> None:
    with pytest.raises(TypeError, match="GateQuestion has no field"):
        changed(GateQuestion("closed", "gate_closed"), said=1.0)  # type: ignore[call-arg]


def test_it_can_copy_all_that_the_fold_copies() -> None:
    """No slots and nothing that is done after `__init__`: what the copy leaves out."""
    for held in (State(), GateQuestion("closed", "gate_closed"), Put("x"), kept.Inquiry("", 0.0)):
        assert not hasattr(type(held), "__slots__")
        assert not hasattr(type(held), "__post_init__")
        assert held.__dict__.keys() == {field.name for field in fields(held)}
