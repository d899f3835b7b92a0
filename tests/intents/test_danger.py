"""Danger is heard in whatever is said, and plain speech about things is not danger."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intents.danger import PHRASES, WORDS, danger_word, is_danger
from intents.match import understand
from intents.meaning import Heard, Meaning, Sayable
from intents.phrasebook import COMMANDS, Phrasebook

GATE = "everything is fastened and my hands are clear"


@pytest.mark.parametrize(
    "text",
    ["Fire!", "there is a fire", "There's smoke coming out", "smoke", "I'm burnt", "I burned my hand", "shock", "I got an electric shock",
     "He's trapped", "my fingers are stuck", "I'm hurt", "she is hurt", "Stop, stop!", "stop stop stop", "emergency", "call an ambulance",
     "no! smoke!", "oh no smoke", "No, there is a fire", "no no fire", "no i am hurt", "there was no smoke but now there is fire",
     "the first aid", "i cut my hand", "fire extinguisher! fire!", "he is bleeding", "lantern smoke", "the plate is on fire", "my hand is trapped"],
)  # fmt: skip
def test_danger_is_heard(text: str) -> None:
    assert is_danger(text)


@pytest.mark.parametrize(
    "text",
    ["no smoke", "No, no smoke.", "fire the press up", "fire it up", "fire up the compressor", "shock cord", "the shock absorber is off",
     "there is no fire", "no sign of smoke", "nobody is hurt", "no one was hurt", "i am not hurt", "it is not burnt", "without any smoke",
     "where is the fire extinguisher", "the first aid kit is here", "stop", "please stop the session", "help", "trapped air in the joint",
     "there is air trapped", "a smoke break", "no shock", "not burning", "185", "the plug is in my hand and the gauge is at zero", GATE],
)  # fmt: skip
def test_plain_speech_is_no_danger(text: str) -> None:
    assert not is_danger(text)


@given(
    st.sampled_from(sorted(WORDS | set(PHRASES))),
    st.sampled_from(["lantern", "the", "upper platen 142", "yes", "okay that is"]),
)
def test_a_word_of_danger_counts_wherever_it_stands(word: str, other: str) -> None:
    assert is_danger(f"{other} {word}")
    assert is_danger(f"{word}, {other}")


@given(st.text(max_size=80))
def test_any_text_is_listened_to_without_an_error(text: str) -> None:
    word = danger_word(text)
    assert word is None or word in WORDS or word in PHRASES


def test_danger_needs_no_callsign_and_is_sayable_always(book: Phrasebook) -> None:
    closed = Sayable(frozenset(), sentence=GATE, callsign="lantern", asked_s=0)
    understood = understand(Heard("there is smoke", "voice", 900, 901, verified=False), closed, book)
    assert understood == Meaning("danger", value="smoke", said="there is smoke")


def test_no_command_hides_behind_danger(book: Phrasebook) -> None:
    assert not [s for c in book.commands.values() for s in c.says if is_danger(s)]
    assert "danger" not in COMMANDS
