"""What an alarm that was none costs: one sentence to undo it, and few words until then."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from at_the_press import Talk, at, bench

from assistant.procedure.state import State
from intents.meaning import Heard

NOT_MEANT = ("that was not for you", "i was not talking to you", "that was the radio")


def alarmed(path: Path, callsign: str | None = None) -> Talk:
    talk = at("demo", "bench_clear", path)
    talk.session.rules = replace(talk.session.rules, callsign=callsign)
    assert "press's own stop" in talk.speak("there is smoke", verified=False)
    assert talk.state.danger
    return talk


@pytest.mark.parametrize("said", NOT_MEANT)
def test_that_was_not_for_you_undoes_an_alarm_when_it_was_heard_clearly(tmp_path: Path, said: str) -> None:
    talk = alarmed(tmp_path)
    assert "well enough" in talk.speak(said, verified=False)
    assert talk.state.danger
    assert "We go on" in talk.speak(said)
    assert not talk.state.danger
    assert not talk.state.held
    assert len(talk.events("false_alarm")) == 1  # class: analytic -- the second of two sayings counts
    assert talk.act == "bench_clear"


def test_that_was_not_for_you_lifts_no_hold_that_was_asked_for_before_the_alarm(tmp_path: Path) -> None:
    talk = at("demo", "bench_clear", tmp_path)
    talk.type("hold", "there is smoke", "that was not for you")
    assert not talk.state.danger
    assert talk.state.held == "asked for"


def test_an_alarm_without_a_record_is_undone_in_the_same_way(tmp_path: Path) -> None:
    talk = at("demo", "bench_clear", tmp_path)
    talk.session.failed = "The disk is full."
    talk.speak("there is smoke", verified=False)
    talk.speak("that was not for you", verified=False)
    assert talk.session.view().act_title == "USE THE PRESS'S OWN STOP"
    talk.speak("that was not for you")
    assert talk.session.view().act_title != "USE THE PRESS'S OWN STOP"


@pytest.mark.parametrize("saying", bench().book.commands["false_alarm"].says)
def test_every_way_to_say_false_alarm_ends_the_alarm_behind_the_callsign_too(
    tmp_path: Path, saying: str
) -> None:
    talk = alarmed(tmp_path, "computer")
    talk.clock.advance(60)
    talk.speak(f"Computer, {saying}.")
    assert not talk.state.danger
    assert len(talk.events("danger")) == 1  # class: analytic -- it is not raised again


def test_a_cry_behind_the_callsign_raises_the_alarm_again(tmp_path: Path) -> None:
    talk = alarmed(tmp_path, "computer")
    talk.speak("Computer, nobody is hurt but there is a fire", verified=False)
    assert talk.state.danger
    assert len(talk.events("danger")) == 2  # class: analytic -- two cries


def test_what_else_is_said_in_an_alarm_gets_few_words(tmp_path: Path) -> None:
    talk = alarmed(tmp_path)
    for said in ("go back", "explain more", "skip it", "note the cloth is new", "done"):
        answer = talk.type(said)
        assert "Held for danger." in answer
        assert "false alarm" in answer
        assert "stop the session" in answer
        # class: common practice, no published source -- what is taken in while something else goes on
        assert len(answer.split()) <= 18, answer
    assert talk.state.danger
    assert "press's own stop" in talk.type("fire"), "another cry is answered in full"


def unmoved(talk: Talk) -> State:
    """The state without what was heard and said, and when."""
    return replace(talk.state, t_s=0.0, put_s=0.0, count=0, last_heard="", last_said="", put=None)


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("louder", "Louder."),
        ("quieter", "Quieter."),
        ("slower", "Slower."),
        ("faster", "Faster."),
        ("what did you hear", "I heard: "),
        ("say again", "say 'false alarm'"),
    ],
)
def test_who_could_not_hear_the_alarm_can_turn_it_up_and_ask_again(
    tmp_path: Path, said: str, answer: str
) -> None:
    talk = alarmed(tmp_path)
    before = unmoved(talk)
    told = talk.speak(said)
    assert answer in told
    assert "Held for danger" not in told
    assert unmoved(talk) == before
    assert "Held for danger." in talk.speak("done"), "nothing moves by it"


def test_a_note_that_only_a_less_likely_text_has_is_asked_about_before_it_is_in_the_record(
    tmp_path: Path,
) -> None:
    talk = at("demo", "bench_clear", tmp_path)
    talk.clock.advance(3.0)
    heard = Heard(
        "no 55.", "voice", talk.clock.t_s - 1.0, talk.clock.t_s - 0.1, sureness=-0.71, alternatives=("note 55.",),
        scores=(-0.76,), engine="test",
    )  # fmt: skip
    talk.told = talk.session._conversation.count
    talk.session.hear(heard)
    assert "Did you mean 'note 55.'?" in talk.answer()
    assert talk.events("noted") == []
    talk.speak("no")
    assert talk.events("noted") == []
    talk.session.hear(replace(heard, began_s=talk.clock.t_s + 1.0, ended_s=talk.clock.t_s + 1.5))
    talk.speak("yes")
    assert [event["text"] for event in talk.events("noted")] == ["55"]


@pytest.mark.parametrize(("place", "left"), [(0, False), (1, True)])
def test_nothing_that_must_be_heard_clearly_rests_on_a_less_likely_text(
    tmp_path: Path, place: int, left: bool
) -> None:
    from assistant.procedure import decide
    from intents.meaning import Meaning

    talk = alarmed(tmp_path)
    heard = Heard("false alarm", "voice", talk.clock.t_s, talk.clock.t_s + 1)
    meant = Meaning("false_alarm", said="false alarm", place=place)
    turn = decide.hear(talk.session.rules, talk.state, heard, meant, talk.clock.t_s + 1)
    assert turn.state.danger is left
