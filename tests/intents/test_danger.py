"""Danger is heard in whatever is said, and plain speech about things is not danger."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intents.canonical import canonical
from intents.cries import PHRASES, PLAIN_CRIES, WORDS
from intents.danger import (
    INNOCENT,
    danger_word,
    is_danger,
    may_end_harmless,
    once,
)
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
     "call a doctor", "fire, up", "Fire! Up!", "bring the fire extinguisher", "no smoke but it burns", "his sleeve got caught", "hit the emergency stop", "emergency style", "this is an emergency stop"],
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


RUN_TOGETHER = (
    "the press will not stop it is crushing my hand", "help me it has my hand", "open the press my hand is in it", "stop the press he is on the floor",
    "he is not answering he is on the floor", "it is pulling me in", "the belt pulled his arm in", "the press is coming down on my hand",
    "the plate came down on his fingers", "get the plate off my foot", "the knife went into my leg", "i got zapped", "my glove is melting",
    "my eyes are stinging", "do not start it i am inside", "the conveyor is starting i am still on it", "the air hose is loose look out",
    "it will not open my hand is inside", "turn it off now it is on my arm", "somebody help he is not moving he is on the floor",
)  # fmt: skip
"""As people shout: no commas, several cries in one breath."""


@pytest.mark.parametrize("cry", RUN_TOGETHER)
def test_cries_run_together_without_a_stop_between_them_count(cry: str) -> None:
    assert is_danger(cry, "computer")
    assert is_danger(f"computer {cry}", "computer")


PLAIN = (
    "help me", "somebody help me", "please help me", "help him", "emergency stop", "stop the press", "it will not stop", "it is not stopping",
    "i can not stop it", "there are fumes", "fumes everywhere", "i smell chlorine", "chlorine gas", "we breathed in the fumes",
    "it smells of chlorine", "there is hydrogen chloride", "the cable is live", "the pins are live", "steam is coming out",
    "gas is leaking out of the press",
    "stop it now", "turn it off quick", "cut the power", "switch off the power now", "hit the stop", "it has my hand",
    "the press has got my arm", "the roller has my sleeve", "the press is on my hand", "it is on my foot", "my hand is in the press",
    "his fingers are between the plates", "my leg is under it", "my hand is still in there", "i am still inside", "he is still in the press",
    "i can not get out", "he can not let go of the cable", "it will not let go", "he is on the floor", "somebody is lying on the floor", "he is down",
    "open the press my hand", "man down", "she fell down", "he is not moving", "he does not wake up", "he is screaming",
    "the air hose is whipping around", "the hose has come off", "the press is moving by itself",
    "it is going to blow", "i need help quick", "get help", "get somebody quick", "get it off now", "everybody run",
    "get away from the press", "watch out", "i feel dizzy", "i am dizzy",
    "the heater will not switch off", "it is lashing about", "it hit me", "the coupling flew off and hit me", "wait my hand is in the press",
    "do not close it my hand is in there", "he is under the beam", "it has got me", "turn off the power", "shut it down now",
)  # fmt: skip
"""Cries without a word that is one wherever it stands."""


@pytest.mark.parametrize("cry", PLAIN)
@pytest.mark.parametrize(
    "called",
    ["{0}", "{0}!", "{0} now", "{0} {0} {0}", "Oh no, {0}!", "Quick, {0}", "Look {0}", "Computer, {0}", "computer {0}", "{0} computer", "John, {0}",
     "no smoke, {0}", "computer {0} computer {0} computer"],
)  # fmt: skip
def test_a_cry_of_plain_words_counts_as_all_that_is_said(cry: str, called: str) -> None:
    assert is_danger(called.format(cry), "computer")


@pytest.mark.parametrize("words", ["if you can hear me, help me!", "in case anybody hears this: help me"])
def test_who_is_not_sure_to_be_heard_cries_all_the_same(words: str) -> None:
    assert is_danger(words, "computer")


def test_there_is_a_row_for_each_kind_of_plain_cry() -> None:
    for kind in PLAIN_CRIES:
        assert any(re.search(rf"(?:^| )(?:{kind})$", cry) for cry in PLAIN), kind


NEAR_MISSES = (
    "help", "help please", "can you help me", "can somebody help me", "help me with the belt", "who can help me",
    "stop the session", "when do i stop the press", "how do i stop the press", "do not stop the press", "stop the press when it is cold",
    "it will not stop raining", "the timer will not stop", "the conveyor is locked and it will not stop", "it will not start", "why does it not stop",
    "i can not stop now", "no fumes", "there are no fumes", "the fumes are gone", "the fume extractor is on", "what about the fumes",
    "are there fumes", "if there are fumes", "if it gets too hot, there are fumes", "stay out of the fumes", "i do not smell chlorine",
    "do you smell chlorine", "it gives off hydrogen chloride", "there is chlorine in the tap water", "i smell plastic", "it smells of rubber",
    "is the cable live", "is the cable live?", "the cable is not live", "the conveyor is live", "who decides when the press is live",
    "let the steam out", "the steam is gone", "no steam is coming out", "is steam coming out", "steam is coming out of the outlet",
    "the first water comes as steam", "where is the emergency stop", "the emergency stop is reset", "does the emergency stop work",
    "where is the emergency spot", "i have tested the emergency style", "the emergency stock is reset",  # as it was heard
    "the belt is not moving", "the conveyor is not moving", "it is not moving", "he is not moving the belt", "it has my handwriting", "it has my name on it",
    "the press is on my list", "the press is on", "the press is in my hands", "the belt is on the floor", "he is on the phone", "he is on the other shift",
    "turn it off", "turn it off when it is cold", "open the press", "get it off the shelf", "the air hose is connected", "i took the air hose off",
    "the knife is in my hand", "the plate came down to sixty degrees", "the temperature is coming down", "i need help", "we need help with the belt",
    "cut the power cable to length", "i can not get out of this menu", "my hand is on the lever", "i am inside", "the conveyor started",
    "and it will not stop", "the heater will switch off at sixty", "i have a knife in my tool box", "he hit the target temperature",
    "the hot plate is at sixty", "he dripped glue on the belt", "it will not switch over",
    "the conveyor is running", "we are down to sixty", "no chlorine", "no steam coming out", "watch out for the edge", "get help from the manual",
    "it will not let go of the backing", "he fell asleep", "hit the button", "the needle is not moving",
)  # fmt: skip


@pytest.mark.parametrize("plain", NEAR_MISSES)
def test_what_only_begins_or_ends_as_a_cry_of_plain_words_is_none_and_never_was_an_early_one(
    plain: str,
) -> None:
    for said in (plain, f"Computer, {plain}.", f"{plain} computer"):
        assert not is_danger(said, "computer")
        words = said.split()
        for count in range(1, len(words)):
            begun = " ".join(words[:count])
            assert not is_danger(begun, "computer") or may_end_harmless(begun, "computer"), begun


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
    "there is air trapped", "is there any smoke", "there is no fire", "without any smoke", "a smoke break", "there is not any smoke",
    "can you smell smoke", "fire up the press", "there is the fire extinguisher", "air was trapped under the cloth", "burnt edges",
    "note a burnt spot on the left edge", "the edge is burnt", "does it smoke", "will it burn me", "will i burn my fingers",
    "can i get a shock", "how hot can it get before it burns", "the emergency stop", "emergency stop is reset", "is the emergency stop released",
    "i have tested the emergency stop", "how do i reset the emergency stop button", "does the emergency stop work", "what is the emergency stop for",
    "it does not smoke", "does not smoke any more", "there is a burnt mark",
    "no burn spot", "burn edges", "the fire extinguishers on the wall", "where is the emergency stopped",  # as it was heard
)  # fmt: skip


def test_there_is_a_row_for_each_kind_of_innocent_saying() -> None:
    for kind in INNOCENT:
        assert any(re.fullmatch(kind, denied) for denied in DENIED), kind


@pytest.mark.parametrize("denied", DENIED)
@pytest.mark.parametrize(
    "called",
    ["{0}, {1}", "{0} {1}", "{0}. {1}!", "Hey {0}, {1}", "{1}, {0}", "{1} {0}", "{0}, false alarm, {1}"],
)
def test_our_name_beside_an_innocent_saying_makes_no_cry_of_it(denied: str, called: str) -> None:
    assert not is_danger(called.format("Computer", denied), "computer")
    assert not is_danger(called.format("work bench", denied), "work bench"), "a name of two words"
    assert is_danger(called.format("Lantern", denied), "computer"), "another's name"


@pytest.mark.parametrize(
    "cry",
    ["fire", "stop stop", "i am hurt", "nobody is hurt except me", "no! smoke!", "burnt", "my hand is stuck",
     "fire! up!", "it burns", "help, help", "no computer smoke", "help me", "it will not stop", "there are fumes"],
)  # fmt: skip
def test_our_name_before_a_cry_takes_nothing_from_it(cry: str) -> None:
    for text in (f"computer {cry}", f"Computer, {cry}", f"{cry} computer", f"computer, computer, {cry}"):
        assert is_danger(text, "computer")


@pytest.mark.parametrize("name", ["fire", "stop", "help", "mayday", "hurt"])
def test_a_name_that_is_a_cry_itself_hides_none(name: str) -> None:
    assert is_danger(f"{name}, {name}!", name)
    assert is_danger(f"{name}, no smoke!", name)


@given(
    st.sampled_from(DENIED),
    st.sampled_from([*sorted(WORDS), "stop stop", "my hand's stuck"]),
    st.integers(2, 5),
    st.sampled_from([" ", ", ", "! "]),
)
def test_a_saying_that_the_ear_writes_over_and_over_is_judged_once_and_a_repeated_cry_stays_one(
    denied: str, cry: str, times: int, between: str
) -> None:
    loop = between.join([f"computer{between}{denied}"] * times)
    assert not is_danger(loop, "computer")
    assert not is_danger(f"{loop}{between}comp", "computer"), "broken off at the last letters it may write"
    assert is_danger(between.join([cry] * times), "computer")
    assert is_danger(f"{loop}{between}{cry}", "computer")
    assert is_danger(f"{cry}{between}{loop}", "computer")


@pytest.mark.parametrize(
    ("words", "folded"),
    [
        ("no smoke no smoke no smoke", "no smoke"),
        ("no smoke no smoke no", "no smoke"),
        ("fire fire fire", "fire fire fire"),  # one word is no loop: it is how people cry
        ("no smoke and no smoke", "no smoke and no smoke"),
    ],
)
def test_only_whole_runs_of_words_are_a_loop(words: str, folded: str) -> None:
    assert once(words) == folded


@pytest.mark.parametrize(
    "text",
    ["computer fire", "computer, fire the", "computer there is a burn", "burnt", "computer no smoke computer no", "will i burn my"],
)  # fmt: skip
def test_the_beginning_of_an_innocent_saying_may_end_harmless_behind_our_name_too(text: str) -> None:
    assert is_danger(text, "computer")
    assert may_end_harmless(text, "computer")


@pytest.mark.parametrize(
    "cry",
    ["burnt", "i am burnt", "it burns", "it is burnt", "the edge is burning", "my edge is burnt", "he burnt the edge of his hand",
     "fire the press up fire the press up fire", "why does it smoke", "does it burn", "will, i burned my fingers", "i will burn", "burnt edge help my hand is caught",
     "the edge is burnt and it burns", "the cloth is on fire"],
)  # fmt: skip
def test_words_about_the_joint_hide_no_person_and_no_fire(cry: str) -> None:
    assert is_danger(cry, "computer")


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
