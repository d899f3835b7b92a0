"""A whole job typed at the real program, which is killed again and again and taken up, until the job is closed."""

from __future__ import annotations

import random
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import at_the_press as press
from asked_again import acts
from judged import cooling_faults, left_faults, taken_up_faults, time_faults, timers, told_faults
from log_bytes import LogBytes, read_bytes
from moved_time import MovedTime
from program import BY_NAME, ON_MOVED_TIME, Program, at_call

from assistant.bench.catalogue import PACKAGED
from assistant.practice.technician import Wait
from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.gates import READ_AFTER_S
from assistant.procedure.state import State
from assistant.review.verify import verify

Moment = Literal[
    "starting", "after a line", "at once", "while time passes", "idle", "before a write", "before the sync"
]
BY_HAND: tuple[Moment, ...] = ("starting", "after a line", "at once", "while time passes", "idle")
BY_TRACE: tuple[Moment, ...] = ("before a write", "before the sync")
RESTARTED = 0.5  # of the kills
CLOCKS = ("right", "right", "right", "ahead", "behind")
HEAT = "heat_on"  # as far as a job goes on the real clocks


@dataclass
class Tally:
    kills: Counter[str] = field(default_factory=Counter)  # by moment
    stages: Counter[str] = field(default_factory=Counter)
    power_cuts: int = 0  # kills after which what nobody had been told was cut at some byte too
    torn: int = 0  # of these, tails that were not whole
    mended: int = 0  # torn tails that were noted in the log
    restarts: Counter[str] = field(
        default_factory=Counter
    )  # of the computer, by what its wall clock was then
    torn_by_restart: int = 0  # of these, with a part of an entry left on the disk
    told_left: int = 0  # times that a timer's rest was asked after a kill
    gates: int = 0  # gates asked again
    before_the_opening: int = 0  # kills that left no session
    closed: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


class Lost(Exception):  # noqa: N818 - says what happened
    """The job cannot go on; the fault has been told."""


class CrashedJob:
    """One job in a folder of its own. real_time: on the computer's own clocks, by the command's own name.

    restarted: share of the kills after which the computer is restarted too, where its clocks are moved.
    """

    def __init__(
        self,
        script: str,
        folder: Path,
        rng: random.Random,
        tally: Tally,
        *,
        traced: bool,
        real_time: bool = False,
        restarted: float = RESTARTED,
    ) -> None:
        self.script, self.folder, self.rng, self.tally = script, folder, rng, tally
        self.real_time, self.restarted = real_time, restarted
        self.moments = BY_HAND + (BY_TRACE if traced else ())
        folder.mkdir(parents=True)
        self.time = MovedTime(folder / "moved.bin")
        self.hand = press.technician(script)
        self._state, self._folded = State(), 0
        self._log: Path | None = None
        self._seen: tuple[object, LogBytes] = (None, LogBytes(b"", (), ()))
        self._starts_s = 1.0  # how long a start takes here, of late

    # -- to the end

    def run(self, at_most: int) -> int:
        """Kills until the job is closed, at most so often; then it is brought to its end. Returns: kills."""
        begun = self.tally.kills.total()
        try:
            while not self._over():
                self._one_run(self.rng.choice(self.moments) if self._kills(begun) < at_most else None)
        except Lost as lost:
            self._fault(str(lost))
        self._judge_the_end()
        return self._kills(begun)

    def _kills(self, begun: int) -> int:
        return self.tally.kills.total() - begun

    def _over(self) -> bool:
        return any(event["kind"] == "sealed" for event in self._now().events())

    # -- one run of the program

    def _one_run(self, moment: Moment | None) -> None:
        """Starts the program, types on and kills it at `moment`; None: types to the end."""
        if not self.real_time and self._now().ends and self.rng.random() < self.restarted:
            self._restart()
        left, before = self._now(), self._sessions()
        began = time.monotonic()
        program = self._start(left, moment)
        if moment == "starting":
            time.sleep(self.rng.uniform(0.0, 1.4) * self._starts_s)
        elif program.until(lambda: self._ready(left, before), within_s=90):
            self._starts_s = 0.5 * self._starts_s + 0.5 * (time.monotonic() - began)
            self._type_on(program, moment)
        if moment is None and program.alive:
            code = program.end_of_input()
            if code != 0:
                self._fault(f"the finished job ended with {code}: {program.told[-2:]}")
        else:
            if moment in BY_HAND and not program.alive and not self._over():
                self._fault(f"it ended by itself: {program.told[-2:]} {program.errors[-300:]}")
            program.kill()
        if "Traceback" in program.errors:
            self._fault(program.errors[-400:])
        self._judge(program.told, left, before, moment)

    def _restart(self) -> None:
        """The computer is restarted before the program is: its own wall clock may come up wrong."""
        clock = self.rng.choice(CLOCKS)
        wrong_s = {"right": 0.0, "ahead": self.rng.uniform(60, 7200), "behind": -self.rng.uniform(60, 7200)}
        self.time.advance(self.rng.uniform(20, 200))  # it takes a while
        self.time.restart(self.rng.uniform(5, 60), wrong_s[clock])
        self.tally.restarts[clock] += 1
        log = self._now()
        if self._log is not None and log.raw == log.whole and len(log.ends) > 1 and self.rng.random() < 0.5:
            begun = log.raw.splitlines()[-1]  # an entry was being written that nobody had been told of
            with self._log.open("ab") as file:
                file.write(begun[: self.rng.randrange(1, len(begun))])
            self.tally.torn_by_restart += 1

    def _start(self, left: LogBytes, moment: Moment | None) -> Program:
        command = list(BY_NAME) if self.real_time else [*ON_MOVED_TIME, str(self.time.path)]
        if moment in BY_TRACE:
            call = "fsync" if moment == "before the sync" else "write"
            # Opening alone takes a few of either; later ones come while it is talked to.
            command = at_call(f"signal=SIGKILL:when={self.rng.randint(2, 16)}", call) + command
        sheet = (
            []
            if len(left.ends) > 1
            else ["--job", str(PACKAGED / "jobs" / f"{press.JOBS[self.script]}.toml")]
        )
        return Program(command, ["talk", "--typed", "--folder", str(self.folder), *sheet])

    def _ready(self, left: LogBytes, before: set[Path]) -> bool:
        """The session is begun or taken up, and its first question is on disk."""
        if len(left.ends) < 2 and self._sessions() == before:
            return False
        now = self._now()
        begun = 0 if len(left.ends) < 2 else len(left.rows)
        return any(row["event"]["kind"] in ("question_put", "sealed") for row in now.rows[begun:])

    def _type_on(self, program: Program, moment: Moment | None) -> None:
        if self.rng.random() < 0.8 and timers(self._now().rows):
            self._say(program, "how long left")
            self.tally.told_left += 1
        lines = {None: 10_000, "before a write": 12, "before the sync": 12}.get(
            moment, self.rng.choice((0, 0, 1, 2))
        )
        waits = 2000 if moment is None else self.rng.randint(1, 12)
        for _ in range(lines):
            if not program.alive or self._over():
                return
            words = self._next_words(program, waits)
            if words is None or not self._say(program, words):
                return
        if moment in ("after a line", "at once"):
            words = self._next_words(program, waits)
            if words is not None:
                program.send(words)
                time.sleep(
                    self.rng.uniform(0, 0.12) if moment == "after a line" else self.rng.uniform(0, 0.004)
                )
        elif moment == "while time passes":
            self._pass(self.rng.uniform(5, 120), wait_s=self.rng.uniform(0, 0.4))

    # -- the technician

    def _next_words(self, program: Program, waits: int = 2000) -> str | None:
        """What is said next, after waiting as long as a wait takes, at most so often; None: not yet, or it is over."""
        for _ in range(waits):
            self._fold()
            self.hand.follow(self._state)
            if self.real_time and self._state.act == HEAT:
                return "that is correct" if self._state.offered is not None else "stop the session"
            wish = self.hand.next(self._state, self._now_s())
            if wish is None or not program.alive:
                return None
            if not isinstance(wish, Wait):
                return wish.words
            self._pass(wish.seconds)
        if waits == 2000:
            raise Lost(f"the technician waits for ever at '{self._state.act}'")
        return None

    def _say(self, program: Program, words: str) -> bool:
        heard = len(self._now().events("heard"))
        if not self.real_time:
            self.time.advance(self.rng.uniform(2, 6))
        elif self._state.act.startswith("gate_"):
            time.sleep(READ_AFTER_S + 0.1)  # as one who reads it first
        program.send(words)
        answered = program.until(lambda: len(self._now().events("heard")) > heard, within_s=90)
        if not answered and program.alive:
            raise Lost(f"no answer to '{words}': {program.told[-2:]}")
        return answered

    def _pass(self, seconds: float, wait_s: float = 0.3) -> None:
        """Time passes, and the program has a beat to see it."""
        if not self.real_time:
            self.time.advance(seconds)
        time.sleep(wait_s)

    def _now_s(self) -> float:
        last = self._now().rows[-1]
        return self.time.mono_s() - (last["mono"] - last["t"])

    def _fold(self) -> None:
        rows = self._now().rows
        for row in rows[self._folded :]:
            self._state = evolve(self._state, parse_event(dict(row["event"])), row["t"])
        self._folded = len(rows)

    # -- judging

    def _judge(self, told: Sequence[str], left: LogBytes, before: set[Path], moment: Moment | None) -> None:
        now = self._now()
        if moment is not None:
            self.tally.kills[moment] += 1
            self.tally.stages[_stage(now)] += 1
        if len(left.ends) < 2:
            self._new_session(before)
            now = self._now()
            left = LogBytes(b"", (), ())
        elif self._sessions() != before:
            raise Lost("another session was begun in place of the one that was left")
        for fault in told_faults(told, left, now):
            self._fault(fault)
        if left.rows:
            for fault in taken_up_faults(left, now):
                self._fault(fault)
            new = now.rows[len(left.rows) :]
            self.tally.mended += sum(row["event"]["kind"] == "torn_tail" for row in new)
            self.tally.gates += sum(row["event"]["kind"] == "gate_rearmed" for row in new)
        if now.raw == now.whole and now.rows and not (found := verify(self._log or Path())).ok:
            self._fault(f"verify: {found.sentences[0]}")
        if moment is not None and now.ends:
            self._cut_power(told, left, now)

    def _cut_power(self, told: Sequence[str], left: LogBytes, now: LogBytes) -> None:
        """Half the time: of an append that nobody was told of, any part may have reached the disk."""
        begin, end = now.last_append
        untold = end > len(left.whole) and bool(told_faults(told, left, now)) is False
        said = [f"bench: {event['text']}" for event in _events_of(now, begin) if event["kind"] == "said"]
        if not untold or not said or self._log is None or len(now.ends) < 3 or self.rng.random() < 0.5:
            return
        if any(line in told for line in (*said, *(line.replace("bench: ", "ALARM: ", 1) for line in said))):
            return
        heard = [f"you: {event['text']}" for event in _events_of(now, begin) if event["kind"] == "heard"]
        if heard and told and told[-1] == heard[0]:
            return
        cut = self.rng.randrange(begin, len(now.raw))
        with self._log.open("r+b") as file:
            file.truncate(cut)
        press.mark_back(self._log)  # it is written after the log is synced
        self.tally.power_cuts += 1
        self.tally.torn += read_bytes(self._log).whole != now.raw[:cut]
        if len(self._now().rows) < self._folded:
            self._state, self._folded = State(), 0

    def _new_session(self, before: set[Path]) -> None:
        """The run had to begin one: it did, or it was killed before anybody was told of it."""
        new = self._sessions() - before
        if len(new) > 1:
            self._fault(f"{len(new)} sessions were begun at once")
        for log in new:
            self._log, self._state, self._folded = log, State(), 0
        if len(self._now().ends) < 2:
            self.tally.before_the_opening += 1

    def _judge_the_end(self) -> None:
        now = self._now()
        for fault in time_faults(now) + left_faults(now) + cooling_faults(now):
            self._fault(fault)
        closed = now.events("closed")
        self.tally.closed[str(closed[0]["outcome"]) if closed else "never"] += 1
        if self._log is not None:
            verdict = verify(self._log)
            if not (verdict.ok and verdict.closed and verdict.sealed):
                self._fault(
                    f"at its end: {verdict.sentences}, closed {verdict.closed}, sealed {verdict.sealed}"
                )

    def _now(self) -> LogBytes:
        """The log as it is on disk; read again only where it has changed."""
        if self._log is None or not self._log.exists():
            return LogBytes(b"", (), ())
        seen = self._log.stat()
        key = (self._log, seen.st_size, seen.st_mtime_ns)
        if key != self._seen[0]:
            self._seen = (key, read_bytes(self._log))
        return self._seen[1]

    def _sessions(self) -> set[Path]:
        found = set(self.folder.glob("sessions/*/log.jsonl"))
        if self._log is None or (len(self._now().ends) < 2 and found - {self._log}):
            newest = max(found, key=lambda path: path.stat().st_mtime_ns, default=None)
            self._log = newest or self._log
        return found

    def _fault(self, sentence: str) -> None:
        self.tally.faults.append(
            f"{self.script}, kill {self.tally.kills.total()}, at {_stage(self._now())}: {sentence}"
        )


def _events_of(log: LogBytes, begin: int) -> list[dict[str, object]]:
    """Of the last append, which begins at that byte."""
    lines = log.raw[:begin].count(b"\n")
    return [row["event"] for row in log.rows[lines:]]


def _stage(log: LogBytes) -> str:
    entered = [event["act"] for event in log.events("act_entered")]
    return next((stage for stage, act in acts() if entered and act["id"] == entered[-1]), "beginning")
