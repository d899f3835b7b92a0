"""The session loop: disk before voice, questions that are put before they are answered, the end and the seal."""

from __future__ import annotations

import errno
from pathlib import Path

import at_the_press as press
import pytest

from assistant.practice.bench import PracticeBench
from assistant.practice.script import load_script
from assistant.procedure import events as e
from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.state import State
from assistant.record.log import LogFile, LogWriter
from assistant.record.read import read_log
from assistant.review.verify import verify
from assistant.session import Session
from intents.meaning import Heard

CLOSED = "the press is locked together and my hands are out of the way"


class FullDisk(LogFile):
    """Takes what comes until it is `full`."""

    full = False

    def write(self, data: bytes) -> int:
        if FullDisk.full:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(data)


def test_a_failing_disk_holds_the_session_says_so_and_nothing_has_happened(tmp_path: Path) -> None:
    FullDisk.full = False
    clock = press.HandClock()
    opened = e.Opened(
        session="s", program="loopwright", version="0", procedure="splice", digests={}, simulated=False
    )
    writer = LogWriter.create(tmp_path / "log.jsonl", opened.model_dump(mode="json"), clock.now(), FullDisk)
    session = Session(press.bench().rules, press.bench().book, writer, clock)
    session.begin(opened, press.sheet("demo"), clock.now())
    talk = press.Talk(session, clock)
    talk.type("that is correct")
    before, lines = talk.state, len(read_log(writer.path))
    FullDisk.full = True
    said = talk.type("that is correct")
    assert "I can't write the record, so I hold" in said
    assert talk.state == before
    assert len(read_log(writer.path)) == lines
    FullDisk.full = False
    assert "I can't write the record" in talk.type("that is correct")  # never as if nothing had been
    assert talk.state == before
    assert "can't be written" in session.view().held


def test_what_is_on_disk_folds_to_the_state_in_memory(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    talk.type("how long left", "hold", "we can go on", "hand over to martin", "that is correct")
    state = State()
    for line in read_log(talk.session.writer.path):
        state = evolve(state, parse_event(dict(line.event)), line.stamp.t_s)
    assert state == talk.state


def test_a_spoken_answer_during_the_question_does_not_count_and_one_after_it_does(tmp_path: Path) -> None:
    mouth = press.SlowMouth()
    talk = press.at("demo", "gate_closed", tmp_path, mouth=mouth)
    talk.clock.advance(5)
    assert "before the question" in talk.speak(CLOSED)
    assert talk.act == "gate_closed"
    mouth.end()
    talk.clock.advance(1)
    began = talk.clock.t_s
    talk.speak(CLOSED, ago_s=talk.clock.t_s + 1 - began - 0.5)
    assert talk.act == "gate_leads_sound"


def test_a_typed_answer_counts_from_when_the_question_stands_on_the_screen(tmp_path: Path) -> None:
    talk = press.at("demo", "gate_closed", tmp_path, mouth=press.SlowMouth())
    began = talk.clock.t_s - 30
    talk.session.typed(CLOSED, began_s=began)
    assert talk.act == "gate_closed"
    talk.type(CLOSED)
    assert talk.act == "gate_leads_sound"


def test_a_question_that_another_answer_cut_short_is_put_again_before_it_can_be_answered(
    tmp_path: Path,
) -> None:
    mouth = press.SlowMouth()
    talk = press.at("demo", "gate_closed", tmp_path, mouth=mouth)
    questions = mouth.waiting
    mouth.waiting = []
    talk.speak("why")
    for _, ended in questions:
        ended()  # the first one ends only now, cut short
    talk.clock.advance(2)
    assert "before the question" in talk.speak(CLOSED)
    assert "Safety question" in mouth.waiting[-1][0]
    mouth.end()
    talk.clock.advance(2)
    talk.speak(CLOSED)
    assert talk.act == "gate_leads_sound"


def test_an_answer_to_why_does_not_put_the_gates_question(tmp_path: Path) -> None:
    talk = press.at("guided", "gate_cold_inside", tmp_path)
    press.close_open_gates(talk, "gate_cold_inside")
    talk.type("why")
    assert talk.state.gate.said_s is None
    assert talk.state.gate.shown_s is None


def test_words_that_are_not_for_us_are_noted_quietly_and_move_nothing(tmp_path: Path) -> None:
    from dataclasses import replace

    talk = press.at("demo", "bench_clear", tmp_path)
    talk.session.rules = replace(talk.session.rules, callsign="computer")
    talk.clock.advance(120)
    act, said = talk.act, talk.speak("done")
    assert said == "not for me"
    assert talk.act == act
    talk.speak("computer done")
    assert talk.act != act


def test_a_closed_session_is_sealed_verifies_and_takes_nothing_more(tmp_path: Path) -> None:
    talk = press.fresh(tmp_path, press.sheet("demo"))
    talk.type("that is correct", "stop the session")
    said = talk.type("that is correct")
    assert "The session is closed: stopped. Seal code" in said
    verdict = verify(talk.session.writer.path)
    assert verdict.ok
    assert verdict.closed
    assert verdict.sealed
    lines = len(read_log(talk.session.writer.path))
    talk.type("done")
    talk.session.tick()
    assert len(read_log(talk.session.writer.path)) == lines


def test_a_clock_that_was_set_is_noted_and_moves_no_timer(tmp_path: Path) -> None:
    talk = press.at("demo", "dwell", tmp_path)
    deadline = talk.state.timer("dwell").deadline_s
    talk.clock.set_note = "The clock was set back by 3600 s; timers go on by the monotonic clock."
    talk.wait(2)
    assert "set back" in talk.events("clock_noted")[-1]["text"]
    assert talk.state.timer("dwell").deadline_s == deadline


def test_danger_is_taken_up_while_the_bench_speaks(tmp_path: Path) -> None:
    mouth = press.SlowMouth()
    talk = press.at("demo", "gate_closed", tmp_path, mouth=mouth)
    talk.session.hear(
        Heard("stop stop", "voice", talk.clock.t_s, talk.clock.t_s, verified=False, gate_grade=False)
    )
    assert talk.state.danger
    assert any("own stop" in text for text, _ in mouth.waiting)


def _keep(tmp_path: Path, name: str) -> str:
    """A whole real job on a bench of its own, its recipe kept; what is said at the end."""
    bench = press.open_bench(tmp_path, callsign=None)
    clock = press.HandClock()
    session = press.begin_session(bench, press.sheet("demo"), clock)
    talk = press.Talk(session, clock)
    press.walk(session, clock, press.technician("demo"), lambda: talk.act == "agree_upper")
    talk.type("178 degrees", "that is correct")
    press.walk(session, clock, press.technician("demo"), lambda: talk.act == "keep")
    talk.type(name)
    return talk.type("that is correct")


@pytest.mark.slow
def test_a_kept_recipe_is_told_at_the_next_joint_of_that_belt_and_its_values_are_still_agreed_one_by_one(
    tmp_path: Path,
) -> None:
    assert "The recipe is kept as shed one" in _keep(tmp_path, "shed one")
    talk = press.fresh(tmp_path, press.sheet("demo"))
    press.walk(talk.session, talk.clock, press.technician("demo"), lambda: talk.act == "recipe")
    assert "kept as shed one on 2026-11-25" in talk.asked()
    talk.type("that is correct")
    assert "Kept as shed one: 178 °C" in talk.asked()
    assert not talk.state.agreed
    talk.type("178 degrees", "that is correct")
    assert "The same was kept as shed one" in talk.asked()
    other = press.fresh(tmp_path, press.sheet("solid"))
    press.walk(other.session, other.clock, press.technician("solid"), lambda: other.act == "recipe")
    assert "shed one" not in other.asked()  # another belt, another press


def test_a_spoilt_recipe_in_the_book_stops_no_job(tmp_path: Path) -> None:
    (tmp_path / "recipes").mkdir(parents=True)
    (tmp_path / "recipes" / "spoilt.json").write_text("{", encoding="utf-8")
    talk = press.fresh(tmp_path, press.sheet("demo"))
    assert any("No kept recipe is told" in line.text for line in talk.session.lines_since(0))
    assert talk.act == "sheet"


@pytest.mark.slow
def test_a_simulated_job_keeps_nothing(tmp_path: Path) -> None:
    practice = PracticeBench(press.open_bench(tmp_path, callsign=None), load_script("solid"), press.BEGUN)
    while (wish := practice.next()) is not None:
        practice.typed(wish.words)
    assert practice.session.state.kept is None
    assert not (tmp_path / "recipes").exists()
