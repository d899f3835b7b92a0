"""The assistant's own voice in its own microphone: it closes no gate and raises no alarm, and a cry comes through."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from at_the_press import SlowMouth, at, bench, close_open_gates
from voiced import Voiced, real_ear, said

from assistant.procedure.model import Gate
from intents.canonical import canonical
from intents.spoken_text import aloud
from speech.listen import hear_sound
from speech.sound import RATE_HZ, Sound
from speech.utterance import Utterance
from tui.own_voice import OwnVoice, cry_among

CRIES = (
    "fire", "there is a fire", "fire fire", "i am hurt", "stop stop", "my hand is trapped", "he is burnt",
    "help help my hand is trapped in the press", "there is smoke coming out of the press",
    "he got a shock from the lead", "somebody is hurt over here", "the press is burning", "somebody help me",
    "stop the press", "there are fumes here", "the cable is live", "steam is coming out of the press",
)  # fmt: skip


def question_of(gate: Gate) -> str:
    """As the session puts it."""
    return aloud(
        f"Safety question: {gate.hazard}. {' '.join(gate.cautions)} When it is so, say: '{gate.sentence}'."
    )


def utterance(text: str, *alternatives: str) -> Utterance:
    return Utterance(1.0, 4.0, text, "test", alternatives=alternatives)


@pytest.mark.parametrize("cry", CRIES)
def test_a_cry_comes_through_every_safety_question(cry: str) -> None:
    for gate in bench().rules.procedure.gates:
        own = OwnVoice()
        own.began(question_of(gate), 0.0)
        assert own.cry_in(utterance(cry)) == cry, gate.id


def test_our_own_words_of_danger_are_no_cry() -> None:
    for gate in bench().rules.procedure.gates:
        own = OwnVoice()
        own.began(question_of(gate), 0.0)
        for sentence in (gate.hazard, *gate.cautions):
            if len(sentence.split()) > 3:
                assert own.cry_in(utterance(sentence)) is None, sentence


def test_a_word_of_ours_that_was_misheard_is_no_cry_but_a_new_one_is() -> None:
    own = OwnVoice()
    own.began(
        "Switch the cooling air through the platens on. It must blow out at the far end of both halves.", 0.0
    )
    heard = "Switch the cooling air through the plane on. It must blow out at the fire end."
    assert own.cry_in(utterance(heard)) is None
    cried = "Switch the cooling air through the plane smoke on."
    assert own.cry_in(utterance(cried)) == cried


def test_our_voice_is_remembered_for_a_second_after_its_end_and_no_longer() -> None:
    own = OwnVoice()
    own.began("A damaged or wet lead gives a shock or starts a fire.", 0.0)
    own.ended(4.0)
    late = Utterance(4.9, 7.0, "a wet lead gives a shock", "test")
    assert own.cry_in(late) is None
    later = Utterance(5.1, 7.0, "a wet lead gives a shock", "test")
    assert own.cry_in(later) == later.text


def test_the_ears_other_texts_are_searched_for_a_cry() -> None:
    assert cry_among(utterance("he is bad", "he is bent", "he is burnt")) == "he is burnt"
    assert cry_among(utterance("he is burnt", "he is bent")) is None  # the text itself says it already
    assert OwnVoice().cry_in(utterance("he is bad", "he is burnt")) == "he is burnt"


@pytest.mark.slow
@pytest.mark.parametrize("gate", ["gate_closed", "gate_leads_sound"])
def test_a_question_said_aloud_into_its_own_microphone_closes_nothing(tmp_path: Path, gate: str) -> None:
    mouth = SlowMouth()
    talk = at("demo", gate, tmp_path, mouth)
    close_open_gates(talk, gate)
    voiced = Voiced(talk, real_ear())
    words = aloud(mouth.waiting[-1][0])
    assert "Safety question" in words
    voiced.hearing.sounding(True, words)
    voiced.play(said(words))
    voiced.hearing.sounding(False, "")
    mouth.end()
    voiced.play(np.zeros(2 * RATE_HZ, np.float32))
    assert voiced.heard == []
    assert talk.act == gate
    assert not talk.state.danger


@pytest.mark.slow
def test_a_question_from_a_loudspeaker_elsewhere_closes_nothing(tmp_path: Path) -> None:
    """Nothing is deaf, and the recogniser hears the sentence at the question's end by itself, word for word."""
    talk = at("demo", "gate_closed", tmp_path)
    close_open_gates(talk, "gate_closed")
    voiced = Voiced(talk, real_ear())
    voiced.play(np.pad(said(aloud(talk.asked())), (RATE_HZ, 2 * RATE_HZ)))
    assert voiced.passed
    assert talk.act == "gate_closed"


@pytest.mark.slow
def test_no_safety_question_ends_in_a_sentence_that_would_count() -> None:
    sentences = {canonical(gate.sentence) for gate in bench().rules.procedure.gates}
    alone = 0
    for gate in bench().rules.procedure.gates:
        for heard in hear_sound(Sound(np.pad(said(question_of(gate)), (RATE_HZ, RATE_HZ))), real_ear()):
            if canonical(heard.text) in sentences:
                alone += 1
                assert not heard.gate_grade, heard
                assert not heard.verified, heard
    print(f"sentences heard by themselves at the end of their question: {alone}")
    assert alone > 0, "the test has lost what it tests: no question was cut before its sentence"
