"""What is said at the press is short: a value in words and digits, one clause of reason, and less after a miss."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from at_the_press import JOBS, at, bench, recorded

from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.prompt import Prompt, prompt
from assistant.procedure.state import State
from intents.spoken_text import aloud

MOST_AGAIN = 30  # class: regression -- words said again after a miss; a gate's sentence alone has up to 17
MOST_OF_A_VALUE = 45  # class: regression -- words of a recipe's value when it is first put
AGREED = ("agree_upper", "agree_lower", "agree_dwell", "agree_pressure", "agree_release")


def prompts_of(job: str) -> Iterator[tuple[State, Prompt]]:
    """Every question of a whole job, with the state in which it stood."""
    state, seen = State(), set()
    for raw, _, whole in recorded(job):
        line = json.loads(raw)
        state = evolve(state, parse_event(line["event"]), line["t"])
        asked = prompt(bench().rules, state, line["t"]) if whole and state.closed is None else None
        if asked is not None and asked.text and asked.key not in seen:
            seen.add(asked.key)
            yield state, asked


def words(text: str) -> int:
    return len(aloud(text).split())


@pytest.mark.parametrize("job", sorted(JOBS))
def test_after_a_miss_every_question_of_a_whole_job_is_short(job: str) -> None:
    asked = [one for _, one in prompts_of(job)]
    assert len(asked) > 80  # class: regression
    assert not [one for one in asked if words(one.again or one.text) > MOST_AGAIN]
    assert all(words(one.again) <= words(one.text) for one in asked)


@pytest.mark.parametrize("job", sorted(JOBS))
def test_a_gate_is_asked_again_with_its_whole_sentence(job: str) -> None:
    gates = [
        (state, one)
        for state, one in prompts_of(job)
        if state.gate is not None and one.key.startswith("gate:")
    ]
    assert len(gates) > 10  # class: regression
    for state, one in gates:
        if not one.key.endswith("not yet"):
            assert state.gate is not None
            gate = next(g for g in bench().rules.procedure.gates if g.id == state.gate.gate)
            assert f"'{gate.sentence}'" in one.again


@pytest.mark.parametrize("act", AGREED)
def test_a_value_is_put_in_words_and_digits_with_one_sentence_of_reason_and_all_of_it_at_why(
    act: str, tmp_path: Path
) -> None:
    talk = at("demo", act, tmp_path)
    first, slot = talk.asked(), act.removeprefix("agree_")
    full = {
        "upper": "fusion",
        "lower": "fusion",
        "dwell": "holding time",
        "pressure": "cm²",
        "release": "inside the belt",
    }[slot]
    assert words(first) <= MOST_OF_A_VALUE
    assert first.count(". ") == 2  # class: analytic -- value, reason, what to say
    assert ": " in first
    assert words(talk.type("what on earth")) < words(first) + 25
    assert full in talk.type("why")
    talk.type("keep it short")
    assert words(talk.asked()) < words(first)
    assert "that is correct" in talk.asked()


def test_the_whole_question_comes_when_it_is_asked_for(tmp_path: Path) -> None:
    talk = at("demo", "agree_upper", tmp_path)
    whole = talk.asked()
    assert whole not in talk.type("what on earth")
    assert whole in talk.type("say again")
    assert whole in talk.type("explain more")
