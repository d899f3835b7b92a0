"""One walk through a job by somebody who tries everything: a real session on a real log, judged by `gate_model`.

`test_gate_machine` lets hypothesis choose the steps, which finds the shortest way to a fault;
`walk_the_gates` chooses them at random, which is many times quicker.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import at_the_press as press
import edited_procedure as edited
import plain_walk
from fake_computer import Computer, take_up
from gate_model import OTHER_WORDINGS, TABLE, Model, Put, acts, sentences
from gate_talk import FALSE_READINGS, GRUNTS, SKIPS, VALUES
from pydantic import ValidationError

from assistant.opening import NotTakenUp, _check_can_be_taken_up
from assistant.practice.technician import Wait
from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.rules import current
from assistant.procedure.state import State
from assistant.record.chain import RecordError
from assistant.record.log import LogWriter
from assistant.record.read import read_log
from assistant.session import Session
from intents.meaning import Heard

TRAITS: dict[str, dict[str, Any]] = {
    "demo": {"job_kind": "shop", "guided": False, "notched": False, "new_pair": False, "heavy": False},
    "guided": {"job_kind": "conveyor", "guided": True, "notched": True, "new_pair": True, "heavy": True},
    "solid": {"job_kind": "shop", "guided": False, "notched": False, "new_pair": False, "heavy": True},
}
RUN_SETTINGS = ("upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature")
MAY_CHANGE_IN_THE_RUN = {"vent_heard", "technician", "stop_session", "enough_belt", "marks_distance"}

SURE = -0.25  # mean log probability of a text that is clearly heard

seen: Counter[tuple[str, str]] = Counter()  # (gate, what was done to it)


def traits_of(job: str) -> dict[str, Any]:
    """What chooses the acts of a recorded job, before its recipe is known."""
    found = press.bench().rules.catalogue.presses[str(press.sheet(job)["press"])]
    return {
        **TRAITS[job], "halves": found.halves, "inner_lead": found.inner_lead, "cooling": found.cooling.kind,
        "supply_until_vented": found.cooling.needs_supply,
    }  # fmt: skip


@cache
def asked_at(gate: str) -> tuple[tuple[str, int], ...]:
    """Where a recorded job asks the gate: the job, and which of its ends that is."""
    found = []
    for job in sorted(press.JOBS):
        ends, lines = press.ends(job), press.recorded(job)
        mark = f'"gate":"{gate}"'.encode()
        for n, end in enumerate(ends):
            turn = lines[ends[n - 1] if n else 0 : end]
            if any(kind == "gate_asked" and mark in raw for raw, kind, _ in turn):
                found.append((job, n))
    return tuple(found)


@cache
def _recorded_until(job: str) -> dict[int, tuple[State, Model, int]]:
    """After so many lines of the recorded job: the state, the model and the size of the file."""
    found, state, model, size = {}, State(), Model(traits_of(job)), 0
    for n, (raw, _, whole) in enumerate(press.recorded(job), 1):
        line = json.loads(raw)
        state = evolve(state, parse_event(line["event"]), float(line["t"]))
        model.read([raw], None)
        size += len(raw)
        if whole:
            found[n] = (state, model.copy(), size)
    return found


class Walk:
    """Everything that can be done to a session, and after each step what must hold."""

    def __init__(self, path: Path) -> None:
        self.path = path

    # -- begin somewhere

    def begin(self, job: str, place: int, gap_s: float = 5.0) -> None:
        """Takes up a recorded job where it has come to the end number `place`."""
        end = press.ends(job)[place]
        self.job = job
        self.folded, model, self.size = _recorded_until(job)[end]
        self.model = model.copy()
        self.path.write_bytes(b"".join(raw for raw, _, _ in press.recorded(job)[:end]))
        before_it, stood = self._before()
        writer = LogWriter.open_existing(self.path, press.UnsyncedFile)
        self.clock = Computer(writer.lines[-1].stamp)
        self.clock.advance(gap_s)
        pattern = Session(press.bench().rules, press.bench().book, writer, self.clock.clock)
        self.session = take_up(pattern, writer, self.clock)
        self.hand = press.technician(job)
        self.inputs = 0
        self._last: Heard | None = None
        self._catch_up(Put(resumed=True))
        self._after_rearm("resume", before_it, stood)

    def begin_near(self, gate: str, which: int, before: int) -> None:
        """Somewhere before a recorded job asks the gate, and on until it is asked."""
        places = asked_at(gate)
        job, place = places[which % len(places)]
        self.begin(job, max(0, place - before))
        for _ in range(12):
            asked = self.gate()
            if asked is not None and asked[0] == gate:
                return
            self.as_it_should_be(1)

    @property
    def over(self) -> bool:
        return self.model.over

    @property
    def state(self) -> State:
        return self.session.state

    def gate(self) -> tuple[str, str] | None:
        """The gate and act that are being asked, if an answer can close it now."""
        return None if self.model.held or self.over or self.state.offered is not None else self.model.asked

    # -- inputs

    def put(
        self,
        text: str,
        way: str = "typed",
        *,
        verified: bool = True,
        grade: bool = True,
        began: float | None = None,
        others: tuple[str, ...] = (),
        against: bool = False,
    ) -> None:
        self.clock.advance(1.5)
        now_s = self.clock.t_s
        began_s = now_s if began is None else began
        before, gate_before = self.model.done.copy(), self.model.asked
        scores = tuple(SURE - 0.05 * n for n in range(1, len(others) + 1))
        heard = Heard(
            text, way, began_s, now_s, verified, grade, SURE if way == "voice" else None, others, scores, engine="test"  # type: ignore[arg-type]
        )  # fmt: skip
        self._last = heard
        self.session.hear(heard)
        self.inputs += 1
        clear = way == "typed" or (verified and grade)
        added = self._catch_up(Put(text, way, began_s, clear, against=against))
        if not self.over and text.strip():
            marked = any(event.get("understood") in ("no callsign", "nothing") for event in added)
            assert marked or any(event["kind"] == "said" for event in added), f"nothing was said to '{text}'"
        if text in SKIPS:
            assert self.model.done <= before, "a skip moved the job on"
        if gate_before is not None and self.model.asked != gate_before and gate_before[1] in self.model.done:
            seen[gate_before[0], "closed"] += 1

    def as_it_should_be(self, times: int) -> None:
        """The technician does what is asked."""
        for _ in range(times):
            if self.over:
                return
            if self.model.held:
                self.put("false alarm" if self.model.danger else "we can go on")
                continue
            self.hand.follow(self.state)
            wish = self.hand.next(self.state, self.clock.t_s)
            if wish is None:
                return
            if isinstance(wish, Wait):
                self.time_passes(120.0)
            else:
                self.put(wish.words)

    def attack(self, how: str, pick: int, aloud: bool) -> None:
        """Tries to get past the gate that is asked."""
        gate, act = self.gate() or ("", "")
        if not gate:
            return
        own = sentences()[gate]
        words = own.split()
        way = "voice" if aloud else "typed"
        n = pick % len(words)
        seen[gate, how] += 1
        match how:
            case "bare":
                for turn in range(3):
                    self.put(GRUNTS[(pick + turn) % len(GRUNTS)], way)
            case "negated":
                spot, no = max(1, n), ("not", "nearly", "almost", "never", "un")[pick % 5]
                self.put(" ".join([*words[:spot], no, *words[spot:]]), way)
            case "partial":
                self.put(" ".join(words[:n] + words[n + 1 :]), way)
            case "reordered":
                self.put(" ".join([*words[n:], *words[:n]] if n else words[::-1]), way)
            case "fuzzy":
                changed = words[n] + "s" if len(words[n]) < 4 else words[n][:-2]
                self.put(" ".join([*words[:n], changed, *words[n + 1 :]]), way)
            case "longer":
                longer = (f"i think {own}", f"{own} i think", f"{own} or not", f"is it so that {own}")
                self.put(longer[pick % 4], way)
            case "other":
                others = [s for g, s in sentences().items() if g != gate]
                others += 3 * [
                    s for s in OTHER_WORDINGS[gate] if s not in (*self.model.wordings, self.model.wording)
                ]
                self.put(others[pick % len(others)], way)
            case "key":
                self.session.key()
                self.put("done", "key")  # had it come through all the same
            case "unverified":
                self.put(own, "voice", verified=False, grade=False)
            case "not for gates":
                self.put(own, "voice", verified=True, grade=False)
            case "misheard":
                self.nearly_heard(pick)
            case "turned round":
                spot = max(1, n)
                turned = " ".join([*words[:spot], ("not", "nearly", "never")[pick % 3], *words[spot:]])
                others = (own + " then", turned) if pick % 2 else (turned,)
                self.put(own, "voice", others=others, against=True)
            case "early":
                put_s = self.model.said_s if aloud else self.model.shown_s
                self.put(own, way, began=self.clock.t_s - 600 if put_s is None else put_s - (pick % 2) * 0.2)
            case "typed ahead":  # or pasted: sooner than the question can be read
                if self.model.shown_s is not None:
                    self.put(own, "typed", began=self.model.shown_s + pick % 7 * 0.1)
            case "repeated":  # what was said before, once more as it was
                if self._last is not None:
                    self.session.hear(self._last)
                    self._catch_up(Put(self._last.text, "again", self._last.began_s, clear=False))
            case "silence":
                self.put("", "voice", verified=False, grade=False)
                self.time_passes((1.0, 30.0, 900.0)[pick % 3])
            case "skip":
                self.put(SKIPS[pick % len(SKIPS)], way)
            case "value":
                self.put(VALUES[pick % len(VALUES)], way)
        assert act not in self.model.done or self.over, f"'{how}' closed {gate}"

    def nearly_heard(self, pick: int, *, clear: bool = True) -> None:
        """The gate's sentence is only among what it may have been, once or several times in a row."""
        asked = self.gate()
        if asked is None:
            return
        own = sentences()[asked[0]]
        words = own.split()
        n = pick % len(words)
        first = " ".join([*words[:n], words[n][:-1] or "an", *words[n + 1 :]])
        for _ in range(1 + pick % 3):
            others = (first + " then", own) if pick % 2 else (own,)
            self.put(first, "voice", verified=clear, grade=clear, others=others)

    def say_the_sentence(self, aloud: bool, written: bool) -> None:
        gate, _ = self.gate() or ("", "")
        if gate:
            own = self.model.wording if written else sentences()[gate]
            seen[gate, "answered"] += 1
            self.put(own.capitalize() + "." if written else own, "voice" if aloud else "typed")

    def false_readings(self, pick: int, hasty: bool) -> None:
        """Tells readings that cannot be, or contradict each other, each confirmed; then the gate's sentence."""
        asked = self.gate()
        for turn in range(3):
            self.put(FALSE_READINGS[(pick + turn * 3) % len(FALSE_READINGS)])
            if self.state.offered is not None:
                self.put("that is correct")
            if not hasty:
                self.time_passes(20.0)
        if asked is not None:
            seen[asked[0], "false readings"] += 1
        self.say_the_sentence(aloud=bool(pick % 2), written=False)

    def ask(self, text: str, aloud: bool) -> None:
        before = self.model.done.copy()
        self.put(text, "voice" if aloud else "typed")
        assert self.model.done == before, f"the question '{text}' moved the job"

    def say(self, text: str, aloud: bool, confirmed: bool) -> None:
        stood, before_it = self.model.closed_gates(), self._before()
        self.put(text, "voice" if aloud else "typed")
        if confirmed and self.state.offered is not None:
            before = self.model.taken_over
            self.put("that is correct")
            if self.model.taken_over > before:
                self._after_rearm("person", before_it[0], stood)

    def tell_a_value(self, text: str, confirmed: bool) -> None:
        stood = dict(self.model.values)
        release = stood.get("release_temperature")
        vent_open = "gate_cold_inside" in self.model.done and "vented" not in self.model.marks
        self.put(text)
        if confirmed and self.state.offered is not None:
            self.put("that is correct")
        changed = {s for s in set(stood) | set(self.model.values) if stood.get(s) != self.model.values.get(s)}
        if "heat_on" in self.model.marks:
            assert not changed - MAY_CHANGE_IN_THE_RUN, changed
        if changed & set(RUN_SETTINGS):
            assert "gate_values_agree" not in self.model.done, "a value was changed and not compared again"
        last = self.model.readings[-1] if self.model.readings else None
        if vent_open and last is not None and last["t"] == self.clock.t_s:
            hot = (
                last["slot"] in ("upper_reading", "lower_reading", "edge_reading") and last["value"] > release
            )
            assert not hot or "gate_cold_inside" not in self.model.done, (
                "a hotter reading left the gate closed"
            )

    def chatter(self, words: str, way: str, verified: bool) -> None:
        """Any words at all."""
        self.put(words, way, verified=verified, grade=verified)

    def press_the_key(self) -> None:
        kind = next((a["kind"] for _, a in acts() if self.state.act == a["id"]), "")
        before = self.model.done.copy()
        self.clock.advance(1.0)
        self.session.key()
        self.inputs += 1
        self._catch_up(Put("done", "key", self.clock.t_s))
        assert kind == "step" or self.model.done == before, f"the key moved a {kind} on"

    def time_passes(self, seconds: float) -> None:
        self.clock.advance(seconds)
        before = self.model.done.copy()
        self.session.tick()
        self.inputs += 1
        self._catch_up(Put())
        now_s = self.clock.t_s
        counted = ("cool",) if self.state.inquiry is not None else ("preheat", "dwell", "cool")
        late = {
            n for n, end in self.model.timers.items() if end is not None and end <= now_s and n in counted
        }
        fresh = {t.name for t in self.state.timers if t.started_s == now_s}
        assert self.over or not late - fresh, f"{late} ran out and nobody was told"
        by_time = {a["id"] for _, a in acts() if a["kind"] == "timer"}
        assert self.model.done - before <= by_time, "time did more than end a timer"

    def clock_jumps(self, wall_s: float, mono_s: float) -> None:
        """Somebody sets the clock, or the machine's own count jumps. Session time never runs back."""
        before_s = self.clock.t_s
        self.clock.wall_s += wall_s
        self.clock.mono_s += mono_s
        self.time_passes(0.1)
        assert self.clock.t_s >= before_s, "session time ran back"
        assert mono_s > 0 or self.clock.t_s <= before_s + 0.11, "the wall clock moved session time"

    def power_cut(self, gap_s: float, restarted: bool) -> None:
        """The program is killed and started again; restarted: so was the computer."""
        if self.over:
            return
        before_it, stood = self._before()
        timers = {t.name: t.deadline_s for t in self.state.timers}
        self.session.writer.close()
        if restarted:
            self.clock.restart(gap_s)
        else:
            self.clock.advance(gap_s)
        self._open_again()
        assert bool(self.model.unchecked) >= restarted, "a restart of the computer went by unnoticed"
        for timer in self.state.timers:
            unknown = restarted and timer.deadline_s is None
            assert timer.name not in timers or unknown or timers[timer.name] == timer.deadline_s, (
                "a power cut moved a timer"
            )
        self._after_rearm("resume", before_it, stood)

    def killed_while_writing(self, text: str, share: float) -> None:
        """The program dies somewhere within what an input appends: half an append never was."""
        if self.over:
            return
        whole, before, folded = self.size, self.model.copy(), self.folded
        self.put(text)
        if self.over:
            return
        self.session.writer.close()
        raw = self.path.read_bytes()
        cut = whole + int(share * (len(raw) - whole))
        self.path.write_bytes(raw[:cut])
        with LogWriter.open_existing(self.path, press.UnsyncedFile) as writer:
            kept = len(writer.lines)
        self.size = sum(len(line) for line in raw.splitlines(keepends=True)[:kept])
        assert self.size >= whole, "a torn append took acknowledged lines with it"
        self.model, self.folded, self.size = before, folded, whole
        self._catch_up(None)
        before_it, stood = self._before()
        self.clock.advance(2.0)
        self._open_again()
        self._after_rearm("resume", before_it, stood)

    def forged(self, how: str, pick: int) -> None:
        """A copy of the log with lines replayed, left out, swapped, altered or from elsewhere is not taken up."""
        lines = self.path.read_bytes().splitlines(keepends=True)
        n = 1 + pick % (len(lines) - 2)
        foreign = [raw for raw, _, _ in press.recorded("solid" if self.job != "solid" else "demo")]
        match how:
            case "replayed":
                lines[n:n] = [lines[n]]
            case "closings replayed":
                lines += [raw for raw in lines if b'"gate_closed"' in raw] or [lines[-1]]
            case "left out":
                del lines[n]
            case "swapped":
                lines[n], lines[n + 1] = lines[n + 1], lines[n]
            case "spliced":
                lines[n:] = foreign[n:] or foreign[-1:]
            case "altered":
                spot = pick % len(lines[n])
                lines[n] = lines[n][:spot] + bytes([lines[n][spot] ^ 1]) + lines[n][spot + 1 :]
        forged = self.path.with_name("forged.jsonl")
        forged.write_bytes(b"".join(lines))
        try:
            LogWriter.open_existing(forged, press.UnsyncedFile).close()
        except RecordError:
            seen["", "forged"] += 1
        else:
            raise AssertionError(f"a log with line {n + 1} {how} was taken up")
        finally:
            forged.unlink()

    def edited_procedure(self, edits: list[tuple[str, int, int]]) -> None:
        """A procedure edited while the session is left is refused, or lets nobody past a gate; never is it taken up with."""
        data = edited.packaged()
        edited.spoil(data, edits)
        try:
            wrong = edited.wrong_with(data)
        except ValidationError:
            wrong = ["it is no procedure"]
        passed_by = None if wrong else plain_walk.passes_a_gate_by(data)
        assert passed_by is None, f"a procedure edited by {edits} was accepted: {passed_by}"
        seen["", "edited and refused" if wrong else "edited and accepted"] += 1
        if self.over or data == edited.packaged():
            return
        digest = hashlib.sha256(repr(data).encode()).hexdigest()
        rules = replace(press.bench().rules, digests={**press.bench().rules.digests, "procedure": digest})
        lines = read_log(self.path)
        refusal = ""
        try:
            _check_can_be_taken_up(replace(press.bench(), rules=rules), str(lines[0].event["session"]), lines)
        except NotTakenUp as refused:
            refusal = str(refused)
        assert "begun with other procedure" in refusal, f"edited by {edits}: '{refusal}'"

    # -- what must hold

    def nothing_is_broken(self) -> None:
        model, state = self.model, self.state
        assert not model.wrong, model.wrong
        assert self.folded == state, "the log on disk folds to another state"
        assert model.done == set(state.done)
        assert model.skips == state.skips
        gate, here = state.gate, current(self.session.rules, state)
        if gate is not None and not self.over:
            assert here is not None
            assert here[1].id == gate.act, f"{gate.act} is asked at {here[1].id}"
            waits = gate.not_yet or state.held or state.asking or state.offered or gate.shown_s is not None
            assert waits, f"{gate.act} waits for an answer to a question that was not put"
        if here is not None and not self.over:
            assert self.session.question(), "there is nothing to answer"
            mine = model.current()
            assert mine is not None
            assert mine[1]["id"] == here[1].id, f"the program is at {here[1].id}, the list at {mine[1]['id']}"

    def end(self) -> None:
        self.session.writer.close()
        read_log(self.path)  # raises where the chain is broken

    # -- inside

    def _open_again(self) -> None:
        writer = LogWriter.open_existing(self.path, press.UnsyncedFile)
        self.session = take_up(self.session, writer, self.clock)
        self.inputs += 1
        self._catch_up(Put(resumed=True))

    def _catch_up(self, put: Put | None) -> list[dict[str, Any]]:
        """Reads what the step has added to the file, and folds it."""
        with self.path.open("rb") as file:
            file.seek(self.size)
            added = file.readlines()
            self.size = file.tell()
        lines = [json.loads(raw) for raw in added]
        self.model.follow(lines, put)
        for line in lines:
            self.folded = evolve(self.folded, parse_event(line["event"]), float(line["t"]))
        if self.model.asked is not None and not self.over:
            seen[self.model.asked[0], "reached"] += 1
        return [line["event"] for line in lines]

    def _before(self) -> tuple[dict[str, bool], dict[str, str]]:
        """Which gates' hazards stand, and which gate acts are closed."""
        return {gate: self.model.hazard_stands(gate) for gate in TABLE}, self.model.closed_gates()

    def _after_rearm(self, reason: str, stands: dict[str, bool], stood: dict[str, str]) -> None:
        """Gates that the reason re-arms are open where their hazard stands; those whose hazard is gone are left alone."""
        if self.over:
            return
        for act, gate in stood.items():
            if reason in TABLE[gate][0] and stands[gate]:
                assert act not in self.model.done, f"{act} stayed closed on '{reason}'"
            elif reason not in TABLE[gate][0] and not stands[gate]:
                assert act in self.model.done, (
                    f"{act} was asked again on '{reason}' though its hazard is gone"
                )


def scrambled(draw: random.Random) -> str:
    """Words of every gate and of every kind of answer, in any order."""
    every = [word for sentence in sentences().values() for word in sentence.split()]
    return " ".join(
        draw.choice((*every, "not", "yes", "bar", "two", "and")) for _ in range(draw.randint(1, 12))
    )
