"""Every word that can be said in a job is looked up in the ear's model: at each moment of whole jobs, with the bench's own names."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest
from at_the_press import JOBS, bench, recorded

from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.rules import Rules
from assistant.procedure.sayable import sayable
from assistant.procedure.state import State
from assistant.vocabulary import vocabulary
from intents.canonical import canonical
from intents.cries import PHRASES, WORDS
from intents.grammar import phrases

CALLSIGN = "captain nemo"
EVERY = 5  # of the moments: looking at them takes less than playing the jobs


@cache
def rules() -> Rules:
    return replace(bench().rules, callsign=CALLSIGN)


def moments(name: str) -> Iterator[State]:
    """The state after each event at which what can be said has changed, of those every fifth."""
    state, asked, number = State(), "", 0
    for raw, _, _ in recorded(name):
        line = json.loads(raw)
        state = evolve(state, parse_event(line["event"]), line["t"])
        now = f"{state.act}{state.offered}{state.held}{state.inquiry}{state.heat_on_s}"
        if now == asked:
            continue
        asked, number = now, number + 1
        if number % EVERY == 1:
            yield state


@pytest.mark.parametrize("name", sorted(JOBS))
def test_every_word_that_can_be_said_at_a_moment_of_a_job_is_among_its_words(name: str) -> None:
    known = set(vocabulary(rules(), bench().book))
    seen = set()
    for state in moments(name):
        seen.add(state.act)
        said = {word for one in phrases(sayable(rules(), state), bench().book) for word in one.split()}
        assert said <= known, f"{state.act}: {sorted(said - known)}"
    assert len(seen) > 8, "too few moments were looked at"


def test_every_name_that_something_can_be_asked_by_is_among_the_words_of_a_job() -> None:
    known = set(vocabulary(rules(), bench().book))
    for state in (*moments("demo"), *moments("solid")):
        for topic in sayable(rules(), state).inputs:
            for saying in (*topic.sayings, *(one for choice in topic.choices for one in choice.sayings)):
                assert set(canonical(saying).split()) <= known, saying


def test_callsign_dangers_and_the_names_of_all_the_bench_has_are_among_the_words_of_a_job() -> None:
    known = set(vocabulary(rules(), bench().book))
    assert {*CALLSIGN.split(), "thickness", "vent", "clamp", "technician", "silicone"} <= known
    assert {*WORDS, *(word for phrase in PHRASES for word in phrase.split())} <= known
    catalogue = bench().rules.catalogue
    for items in (
        catalogue.belts,
        catalogue.presses,
        catalogue.punches,
        catalogue.templates,
        catalogue.cloths,
    ):
        for item in items.values():
            for saying in item.sayings:
                assert set(canonical(saying).split()) <= known, saying


def test_a_belt_of_the_works_own_and_the_callsign_bring_their_words() -> None:
    catalogue = bench().rules.catalogue
    belt = next(iter(catalogue.belts.values()))
    own = belt.model_copy(update={"sayings": ("the zebra belt",)})
    with_it = replace(rules(), catalogue=replace(catalogue, belts={**catalogue.belts, belt.key: own}))
    assert "zebra" not in vocabulary(rules(), bench().book)
    assert "zebra" in vocabulary(with_it, bench().book)
    assert "nemo" not in vocabulary(bench().rules, bench().book)
