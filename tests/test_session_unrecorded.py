"""What goes on when nothing can be recorded: danger and timers; and what is said together stays together."""

from __future__ import annotations

import errno
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest

from assistant.record.log import LogFile
from assistant.record.read import read_log
from assistant.view import Line

OWN_STOP = "Use the press's own stop now"


class FullFile(LogFile):
    def write(self, data: bytes) -> int:
        del data
        raise OSError(errno.ENOSPC, "No space left on device")


def fill_the_disk(talk: press.Talk) -> None:
    file: Any = talk.session.writer._file
    file.__class__ = FullFile


@dataclass
class Ledger(press.SlowMouth):
    """Keeps what it was given to say, with its rank."""

    said: list[tuple[str, str]] = field(default_factory=list)

    def say(self, text: str, rank: str, ended: Any) -> None:
        self.said.append((rank, text))
        super().say(text, rank, ended)


def test_danger_is_answered_and_held_when_the_disk_is_full(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    fill_the_disk(talk)
    before, lines = talk.state, len(read_log(talk.session.writer.path))
    said = talk.type("there is smoke and fire")  # the very input at which writing fails
    assert "I can't write the record" in said
    assert OWN_STOP in said
    assert "not recorded" in said
    assert OWN_STOP in talk.type("i am burnt")
    assert talk.session.view().act_title == "USE THE PRESS'S OWN STOP"
    assert "false alarm" not in talk.type("false alarm").lower()
    assert talk.session.view().act_title != "USE THE PRESS'S OWN STOP"
    assert talk.state == before
    assert len(read_log(talk.session.writer.path)) == lines


def test_timers_are_called_out_and_questions_of_time_answered_when_the_disk_is_full(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    fill_the_disk(talk)
    talk.type("note the disk is full")
    before, act = talk.state, talk.act
    left = talk.type("how long left")
    assert "Dwell:" in left
    assert "Not recorded" in left
    assert "Cooling has not begun" in talk.type("how long until it is cold")
    timer = talk.state.timer("dwell")
    said = talk.wait(timer.deadline_s - talk.clock.t_s + 1)
    assert "Dwell: one minute. Not recorded." in said
    assert "The dwell is over. Not recorded." in said
    assert said.count("The dwell is over") == 1
    assert talk.state == before
    assert "I can't write the record" in talk.type("done")
    assert talk.act == act


@pytest.mark.parametrize("words", ["fire \ud800 fire", "there is fire \udfff"])
def test_danger_in_words_that_cannot_be_written_is_answered_and_recorded_without_them(
    tmp_path: Path, words: str
) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    assert OWN_STOP in talk.type(words)
    assert talk.state.danger
    assert "?" in talk.events("danger")[-1]["words"]


def test_stopping_while_hot_says_what_is_left_behind_before_and_after(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    asked = talk.type("stop the session")
    left = "heating, under pressure and connected to its supply"
    assert f"The press is still {left}, and my timers and call-outs end with the session." in asked
    talk.type("that is correct")
    said = [(event["rank"], event["text"]) for event in talk.events("said")]
    assert said[-1][0] == "alarm"
    assert f"The press is still {left}. My timers have ended" in said[-1][1]
    assert [event["kind"] for event in talk.events()][-1] == "closed"


def test_stopping_a_cold_press_warns_of_nothing(tmp_path: Path) -> None:
    talk = press.at("demo", "sheet", tmp_path)
    assert talk.type("stop the session") == "Stop the session here. Say 'that is correct', or 'no'."
    assert "still" not in talk.type("that is correct")


def test_danger_after_the_session_was_stopped_is_answered_and_leaves_the_sealed_log_alone(
    tmp_path: Path,
) -> None:
    mouth = Ledger()
    talk = press.at("demo", "dwell", tmp_path, mouth=mouth)
    talk.type("stop the session", "that is correct")
    log = talk.session.writer.path.read_bytes()
    said = talk.type("fire i am burnt")
    assert OWN_STOP in said
    assert "not recorded" in said
    assert "Timers go on" not in said
    assert mouth.said[-1][0] == "alarm"
    assert talk.session.writer.path.read_bytes() == log
    assert talk.type("done") == ""


def test_a_refusal_and_the_question_put_again_are_one_saying(tmp_path: Path) -> None:
    mouth = Ledger()
    talk = press.at("demo", "gate_closed", tmp_path, mouth=mouth)
    mouth.end()
    talk.clock.advance(2)
    mouth.said.clear()
    talk.speak("yes")
    assert len(mouth.said) == 1
    rank, text = mouth.said[0]
    assert rank == "prompt"
    assert text.index("That is not the sentence.") < text.index("Safety question")
    assert not any(event["how"] == "said" for event in talk.events("question_put")[-1:])
    mouth.end()
    assert talk.events("question_put")[-1] == {
        "kind": "question_put",
        "question": "gate:gate_closed",
        "how": "said",
    }


def test_an_alarm_is_said_by_itself_before_what_belongs_to_it(tmp_path: Path) -> None:
    mouth = Ledger()
    talk = press.at("demo", "dwell", tmp_path, mouth=mouth)
    mouth.said.clear()
    talk.type("there is a fire")
    assert [rank for rank, _ in mouth.said] == ["alarm", "prompt"]
    assert OWN_STOP in mouth.said[0][1]


def test_the_seal_code_does_not_cancel_what_was_said_with_the_outcome(tmp_path: Path) -> None:
    mouth = Ledger()
    talk = press.fresh(tmp_path, press.sheet("demo"), mouth)
    talk.type("that is correct", "stop the session")
    mouth.said.clear()
    talk.type("that is correct")
    assert len(mouth.said) == 1
    assert "Seal code" in mouth.said[0][1]


def test_whoever_takes_up_a_long_session_is_told_its_last_lines_once(tmp_path: Path) -> None:
    talk = press.at("demo", "sheet", tmp_path)
    for _ in range(250):
        talk.session.typed("where are we")
    talk.session.writer.close()
    again = press.reopened(talk.session.writer.path)
    told: list[Line] = []
    count = 0
    while fresh := again.session.lines_since(count):
        told += fresh
        count += len(fresh)
    assert len(told) < 20  # class: common practice, no published source -- what a screen of talk holds
    assert "Taken up again" in " ".join(line.text for line in told)
