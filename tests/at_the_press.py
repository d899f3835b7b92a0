"""A real session on a real log, with a clock that tests move: for tests of the talk, the gates and the record.

Nothing here is simulated but time: sessions are opened as at a press, and their logs do not say SIMULATED.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from functools import cache
from pathlib import Path
from typing import Any

from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet import build_job
from assistant.bench.sheet_file import read_sheet
from assistant.mouth import Mouth
from assistant.opening import Bench, begin_session, open_bench
from assistant.practice.press import SimulatedPress
from assistant.practice.script import Script, load_script
from assistant.practice.technician import Technician, Wait
from assistant.procedure.events import Value
from assistant.procedure.prompt import prompt
from assistant.procedure.rules import current
from assistant.record.append_signature import bare_digest
from assistant.record.heads import BenchVoucher
from assistant.record.index import whole_appends
from assistant.record.log import LogFile, LogWriter
from assistant.record.read import read_log
from assistant.record.stamp import Stamp
from assistant.session import Session
from intents.meaning import Heard

BEGUN = datetime(2026, 11, 25, 14, 5, tzinfo=timezone(timedelta(hours=1)))
JOBS = {"demo": "flat_in_the_shop", "guided": "guided_on_the_conveyor", "solid": "solid_with_water"}
"""By practice script: the job sheet that it answers for."""


class HandClock:
    """A clock that a test moves. `set_note`: what happened to the wall clock."""

    def __init__(self, t_s: float = 0.0) -> None:
        self.t_s = t_s
        self.set_note = ""

    def now(self) -> Stamp:
        wall = (BEGUN + timedelta(seconds=self.t_s)).isoformat(timespec="milliseconds")
        return Stamp(round(self.t_s, 3), wall, round(5000 + self.t_s, 3), "0badcafe")

    def note(self) -> str:
        note, self.set_note = self.set_note, ""
        return note

    def advance(self, seconds: float) -> None:
        self.t_s += seconds


class UnsyncedFile(LogFile):
    """Written, not forced to the platter: for walks of thousands of turns."""

    def sync(self) -> None:
        return


def ram_folder() -> str | None:
    """Where files never reach a disk, if there is such a place."""
    folder = Path("/dev/shm")
    return str(folder) if folder.is_dir() and os.access(folder, os.W_OK) else None


@cache
def bench() -> Bench:
    """The packaged bench, loaded once; every test makes its own log."""
    return open_bench(Path(tempfile.mkdtemp(prefix="loopwright-tests-")), callsign=None)


@cache
def sheet(script: str) -> Mapping[str, Value]:
    return read_sheet(PACKAGED / "jobs" / f"{JOBS[script]}.toml")


@cache
def script_of(name: str) -> Script:
    """The packaged practice script, without its slips, answering for the whole sheet."""
    script = load_script(name)
    usual = {**script.usual, "keep": "do not keep it"}
    return script.model_copy(update={"usual": usual, "spoken": (), "leave_out": ()})


def technician(name: str) -> Technician:
    job = build_job(sheet(name), bench().rules.catalogue)
    assert not isinstance(job, tuple)
    return Technician(bench().rules, script_of(name), SimulatedPress(job, script_of(name).press_seed))


@dataclass
class Talk:
    """A session and the clock that it goes by; every input takes a second, as it would."""

    session: Session
    clock: HandClock
    told: int = 0

    @property
    def state(self) -> Any:
        return self.session.state

    def type(self, *texts: str) -> str:
        """Types the lines one after the other. Returns: what was said to the last."""
        answer = ""
        for text in texts:
            self.told = self._lines()
            self.clock.advance(1.0)
            self.session.typed(text)
            answer = self.answer()
        return answer

    def key(self) -> str:
        self.told = self._lines()
        self.clock.advance(1.0)
        self.session.key()
        return self.answer()

    def speak(self, text: str, *, verified: bool = True, gate_grade: bool = True, ago_s: float = 0.5) -> str:
        """Says it aloud; the utterance began `ago_s` before now."""
        self.told = self._lines()
        self.clock.advance(1.0)
        self.session.hear(
            Heard(
                text,
                "voice",
                self.clock.t_s - ago_s,
                self.clock.t_s - 0.1,
                verified,
                gate_grade,
                engine="test",
            )
        )
        return self.answer()

    def wait(self, seconds: float, step: float = 1.0) -> str:
        """Time passes in ticks. Returns: what was said meanwhile."""
        self.told = self._lines()
        end = self.clock.t_s + seconds
        while self.clock.t_s < end - 1e-9:
            self.clock.t_s = min(end, self.clock.t_s + step)
            self.session.tick()
        return self.answer()

    def _lines(self) -> int:
        return self.session._conversation.count

    def answer(self) -> str:
        """What the bench has said since the last input."""
        return " ".join(line.text for line in self.session.lines_since(self.told) if line.who != "you")

    @property
    def act(self) -> str:
        here = current(self.session.rules, self.state)
        return here[1].id if here is not None else ""

    def asked(self) -> str:
        return prompt(self.session.rules, self.state, self.clock.t_s).text

    def events(self, kind: str | None = None) -> list[dict[str, Any]]:
        """The log as it is on disk."""
        return [dict(line.event) for line in read_log(self.session.writer.path) if kind in (None, line.kind)]


def fresh(path: Path, values: Mapping[str, Value], mouth: Mouth | None = None) -> Talk:
    """A new session with its log under `path`."""
    clock = HandClock()
    opened = begin_session(open_bench(path, callsign=None), values, clock, mouth)
    return Talk(opened, clock)


@cache
def recorded(name: str) -> tuple[tuple[bytes, str, bool], ...]:
    """A whole job, typed by the scripted technician: raw line, kind, whether an append ends with it."""
    clock = HandClock()
    session = begin_session(bench(), sheet(name), clock)
    hand = technician(name)
    walk(session, clock, hand, lambda: False)
    assert session.state.closed == "accepted", f"the {name} job ended at {session.question()}"
    lines = session.writer.path.read_bytes().splitlines(keepends=True)
    read = read_log(session.writer.path)
    return tuple((raw, line.kind, line.left == 0) for raw, line in zip(lines, read, strict=True))


def walk(
    session: Session, clock: HandClock, hand: Technician, stop: Callable[[], bool], tick_s: float = 5.0
) -> None:
    """The technician answers until `stop` or the end."""
    for _ in range(2000):
        if session.finished or stop():
            return
        hand.follow(session.state)
        wish = hand.next(session.state, clock.t_s)
        if wish is None:
            return
        if isinstance(wish, Wait):
            clock.advance(min(tick_s, wish.seconds))
            session.tick()
        else:
            clock.advance(4.0)
            session.typed(wish.words)
    raise AssertionError(f"the scripted technician is stuck at {session.question()}")


def ends(name: str) -> tuple[int, ...]:
    """Where the recorded job can be left: how many of its lines then stand."""
    lines = recorded(name)
    last = next(n for n, (_, kind, _) in enumerate(lines) if kind == "closed")
    return tuple(n + 1 for n, (_, _, whole) in enumerate(lines[:last]) if whole and n > 0)


def taken_up(name: str, lines: int, path: Path, gap_s: float = 5.0, mouth: Mouth | None = None) -> Talk:
    """The recorded job, left after so many lines, taken up as a real session is."""
    path.write_bytes(b"".join(raw for raw, _, _ in recorded(name)[:lines]))
    return reopened(path, gap_s, mouth)


def reopened(path: Path, gap_s: float = 5.0, mouth: Mouth | None = None) -> Talk:
    """A log taken up, `gap_s` after its last line."""
    writer = LogWriter.open_existing(path, UnsyncedFile)
    clock = HandClock(writer.lines[-1].stamp.t_s + gap_s)
    session = Session(bench().rules, bench().book, writer, clock, mouth)
    session.take_up(writer.lines, writer.torn.cut_bytes if writer.torn else 0)
    return Talk(session, clock)


def mark_back(log: Path) -> None:
    """The mark outside the session's folder as it stood when the log ended where it ends now: as a power cut leaves it."""
    *_, last = whole_appends(log)
    BenchVoucher(log.parents[2], log.parent.name).reached(last.n + 1, bare_digest(last), last.sig)


def at(name: str, act: str, path: Path, mouth: Mouth | None = None) -> Talk:
    """The recorded job at the moment when `act` is asked, taken up from there by a technician as before."""
    return taken_up(name, _entered(name, act), path / "log.jsonl", mouth=mouth)


@cache
def _entered(name: str, act: str) -> int:
    import json

    lines = recorded(name)
    for n, (raw, kind, _) in enumerate(lines):
        if kind == "act_entered" and json.loads(raw)["event"]["act"] == act:
            return next(m + 1 for m in range(n, len(lines)) if lines[m][2])
    raise AssertionError(f"the {name} job never comes to '{act}'")


def at_gate(path: Path, act: str, job: str = "demo", mouth: SlowMouth | None = None) -> Talk:
    """The recorded job at a gate, with the gates before it that taking up has opened again answered."""
    talk = at(job, act, path, mouth)
    if mouth is not None:
        mouth.end()
    close_open_gates(talk, act)
    return talk


def close_open_gates(talk: Talk, until: str) -> None:
    """Answers the gates that taking up has opened again, until `until` is asked."""
    for _ in range(20):
        if talk.act == until:
            return
        here = current(talk.session.rules, talk.state)
        assert here is not None
        assert here[1].gate is not None, f"at '{here[1].id}', not at '{until}'"
        talk.type(talk.session.rules.gate(here[1]).sentence)
    raise AssertionError(f"'{until}' is not reached")


@dataclass
class SlowMouth:
    """Says nothing and ends when the test says so."""

    waiting: list[tuple[str, Callable[[], None]]] = field(default_factory=list)
    adjusted: list[str] = field(default_factory=list)
    cues: list[str] = field(default_factory=list)

    def say(self, text: str, rank: str, ended: Callable[[], None]) -> None:  # noqa: ARG002
        self.waiting.append((text, ended))

    def hush(self) -> None:
        self.end()

    def adjust(self, how: str) -> None:
        self.adjusted.append(how)

    def cue(self, which: str) -> None:
        self.cues.append(which)

    def end(self) -> None:
        """All that was begun has been said."""
        waiting, self.waiting = self.waiting, []
        for _, ended in waiting:
            ended()
