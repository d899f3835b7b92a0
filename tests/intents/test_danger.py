"""Danger is heard in whatever is said, and plain speech about things is not danger."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intents.canonical import canonical
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
     "the first aid", "i cut my hand", "fire extinguisher! fire!", "he is bleeding", "lantern smoke", "the plate is on fire", "my hand is trapped",
     "there is a fire up here", "the belt is on fire up top", "fire watch out", "fire exit now", "the air trapped my hand",
     "my arm is trapped air on", "I am not hurt but he is", "nobody is hurt except me", "nobody is hurt, except me", "my hand's stuck",
     "my finger's caught", "my hands are stuck", "my foot is caught", "cannot get my hand out", "I can't get my hand out", "get me out",
     "stop please stop", "stop it stop it", "Stop it! Stop it!", "help me help me", "a flame", "flames", "it can scald", "it is exploding",
     "it will explode", "he has collapsed", "the hose burst", "cut my thumb", "i have cut his finger", "call 911", "call nine one one",
     "call a doctor", "fire, up", "Fire! Up!", "bring the fire extinguisher", "no smoke but it burns", "his sleeve got caught"],
)  # fmt: skip
def test_danger_is_heard(text: str) -> None:
    assert is_danger(text)


@pytest.mark.parametrize(
    "text",
    ["no smoke", "No, no smoke.", "fire the press up", "fire it up", "fire up the compressor", "shock cord", "the shock absorber is off",
     "there is no fire", "no sign of smoke", "nobody is hurt", "no one was hurt", "i am not hurt", "it is not burnt", "without any smoke",
     "where is the fire extinguisher", "the first aid kit is here", "stop", "please stop the session", "help", "trapped air in the joint",
     "there is air trapped", "a smoke break", "no shock", "not burning", "185", "the plug is in my hand and the gauge is at zero", GATE,
     "is there any smoke", "the fire extinguisher is here", "False alarm. There is no fire.", "false alarm, nobody is hurt", "no smoke and no fire",
     "a burn mark", "i cut the belt", "i got it", "the clamps are held", "i cut out the joint", "the fingers are stuck together"],
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


DENIED = (
    "no smoke", "no sign of fire", "nobody is hurt", "no one was hurt", "i am not hurt", "it is not burnt", "not on fire", "fire the press up",
    "where is the fire extinguisher", "the first aid kit is here", "the shock cord is off", "a burn mark", "trapped air in the joint",
    "there is air trapped", "is there any smoke", "there is no fire", "without any smoke", "a smoke break",
)  # fmt: skip


@pytest.mark.parametrize("denied", DENIED)
def test_a_denial_is_plain_speech_while_it_is_all_that_is_said(denied: str) -> None:
    assert not is_danger(denied)
    assert not is_danger(f"It was a false alarm, {denied}.")


@given(
    st.sampled_from(DENIED),
    st.sampled_from(
        [*sorted(WORDS | set(PHRASES)), "my hand's stuck", "stop stop", "get me out", "cut my thumb"]
    ),
    st.sampled_from(
        [
            "{0} {1}",
            "{1} {0}",
            "{0}, {1}",
            "{1}! {0}",
            "{0} but {1}",
            "{0} and {1}",
            "{0} and my {1} over there",
        ]
    ),
)
def test_a_cry_beside_a_denial_counts(denied: str, cry: str, together: str) -> None:
    assert is_danger(together.format(denied, cry))


@given(
    st.sampled_from(DENIED),
    st.sampled_from(["except me", "but he is", "my hand", "quick", "upper platen", "look"]),
)
def test_a_denial_with_anything_more_is_a_cry(denied: str, more: str) -> None:
    assert is_danger(f"{denied} {more}")
    assert is_danger(f"{more}, {denied}")


@given(st.text(max_size=80))
def test_any_text_is_listened_to_without_an_error(text: str) -> None:
    word = danger_word(text)
    assert word is None or word in canonical(text)


def test_danger_needs_no_callsign_and_is_sayable_always(book: Phrasebook) -> None:
    closed = Sayable(frozenset(), sentence=GATE, callsign="lantern", asked_s=0)
    understood = understand(Heard("there is smoke", "voice", 900, 901, verified=False), closed, book)
    assert understood == Meaning("danger", value="smoke", said="there is smoke")


def test_no_command_hides_behind_danger(book: Phrasebook) -> None:
    assert not [s for c in book.commands.values() for s in c.says if is_danger(s)]
    assert "danger" not in COMMANDS
