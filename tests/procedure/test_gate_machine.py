"""No way past a gate: random talk, time, power cuts and second thoughts against a real session on a real log.

A walk starts somewhere in a recorded job, because one that starts at the beginning never gets to the press.
What was reached and attacked is counted; too little of it fails the test.
LOOPWRIGHT_STEPS=200 walks that many times as often and by chance.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest
from gate_model import TABLE, Model, Put, acts, sentences
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from assistant.practice.technician import Wait
from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.rules import current
from assistant.procedure.state import State
from assistant.record.read import read_log
from intents.meaning import Heard

STEPS = int(os.environ.get("LOOPWRIGHT_STEPS", "1"))
WALKS, LENGTH = 6, 14
PHASES = (Phase.generate,)
TRAITS: dict[str, dict[str, Any]] = {
    "demo": {"job_kind": "shop", "guided": False, "notched": False, "new_pair": False},
    "guided": {"job_kind": "conveyor", "guided": True, "notched": True, "new_pair": True},
    "solid": {"job_kind": "shop", "guided": False, "notched": False, "new_pair": False},
}
seen: Counter[tuple[str, str]] = Counter()  # (gate, what was done to it)

QUESTIONS = (
    "why", "how", "where are we", "what comes next", "how long left", "how long until it is cold", "show the recipe",
    "show the job sheet", "help", "what can i say", "what time is it", "say again", "slower", "keep it short", "explain more",
    "call the supervisor", "what is the upper temperature", "what did i say for the thickness", "what happens if i use 185",
)  # fmt: skip
MOVES = (
    "yes", "okay", "no", "done", "next", "that is correct", "scratch that", "go back", "hold", "we can go on", "false alarm",
    "hand over to anna", "anna takes over", "my name is martin", "stop the session", "there is a fire", "nobody is hurt",
    "note the belt smells", "record a deviation the supervisor allows it", "i accept the joint", "accept with a note a crease",
    "cut it out", "do not keep it", "the temperature is reached", "the heat is on", "the cooling has started",
    "it looks good", "i can not measure it", "banana", "the first one", "the second one", "i did not hear it",
)  # fmt: skip
VALUES = (
    "change the dwell to three minutes", "change the dwell to four minutes", "change the upper temperature to 300 degrees",
    "change the pressure to 9 bar", "change the release temperature to 65 degrees", "change the release temperature to 110 degrees",
    "change the thickness to 2.1 millimeters", "change the thickness to 40 millimeters", "change the shop temperature to 17 degrees",
    "change the name to martin", "change the vent to i heard it", "change the vent to i did not hear it",
    "change the second try to yes", "the upper platen is 20 degrees", "the upper platen is 58 degrees",
    "the upper platen is 190 degrees", "the lower platen is 58 degrees", "the lower platen is 340 degrees",
    "the edge is 50 degrees", "the edge is 180 degrees", "the gauge is zero bar", "the gauge is one bar",
    "the pressure is zero bar", "the pressure is two bar", "it shows 180 degrees", "it shows two bar", "two", "58 degrees",
    "3 minutes", "no 3 minutes", "change the marks to 1005 millimeters", "change the joint thickness left to 2 millimeters",
)  # fmt: skip
SKIPS = ("skip", "ignore it", "just do it", "override")
ATTACKS = (
    "bare",
    "negated",
    "partial",
    "fuzzy",
    "longer",
    "other",
    "key",
    "unverified",
    "not for gates",
    "early",
    "skip",
    "value",
)


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
def folded(job: str) -> dict[int, State]:
    """The state after so many lines of the recorded job."""
    states, state = {}, State()
    for n, (raw, _, whole) in enumerate(press.recorded(job), 1):
        line = json.loads(raw)
        state = evolve(state, parse_event(line["event"]), float(line["t"]))
        if whole:
            states[n] = state
    return states


class Walk(RuleBasedStateMachine):
    near: str | None = None  # the gate at which it starts; None: anywhere

    def __init__(self) -> None:
        super().__init__()
        self._folder = tempfile.TemporaryDirectory()
        self.path = Path(self._folder.name) / "log.jsonl"

    # -- begin somewhere

    @initialize(
        job=st.sampled_from(sorted(press.JOBS)), spot=st.integers(0, 10_000), before=st.integers(0, 2),
        every_way=st.permutations(ATTACKS), pick=st.integers(0, 1000),
    )  # fmt: skip
    def begin(self, job: str, spot: int, before: int, every_way: list[str], pick: int) -> None:
        if self.near:
            places = asked_at(self.near)
            job, place = places[spot % len(places)]
            place = max(0, place - before)
        else:
            place = spot % len(press.ends(job))
        ends = press.ends(job)
        self.folded, self.size = (
            folded(job)[ends[place]],
            sum(len(raw) for raw, _, _ in press.recorded(job)[: ends[place]]),
        )
        heavy = {"demo": False, "guided": True, "solid": True}[job]
        found = press.bench().rules.catalogue.presses[str(press.sheet(job)["press"])]
        self.model = Model(
            {**TRAITS[job], "halves": found.halves, "inner_lead": found.inner_lead, "cooling": found.cooling.kind,
             "supply_until_vented": found.cooling.needs_supply, "heavy": heavy}
        )  # fmt: skip
        self.model.read((raw for raw, _, _ in press.recorded(job)[: ends[place]]), None)
        before_it, stood = self._before()
        self.talk = press.taken_up(job, ends[place], self.path)
        self.hand = press.technician(job)
        self._catch_up(Put(resumed=True))
        self._after_resume(before_it, stood)
        for _ in range(12):  # on to the gate: answers what taking up has opened again
            gate = self._gate()
            if not self.near or (gate is not None and gate[0] == self.near):
                break
            self.as_it_should_be(1)
        for n, how in enumerate(every_way if self.near else ()):
            if self._gate() is not None:
                self.attack(how, pick + n, aloud=bool((pick + n) % 2))

    # -- inputs

    def _put(
        self,
        text: str,
        way: str = "typed",
        *,
        verified: bool = True,
        grade: bool = True,
        began: float | None = None,
    ) -> None:
        clock = self.talk.clock
        clock.advance(1.5)
        began_s = clock.now().t_s if began is None else began
        before = self.model.done.copy()
        gate_before = self.model.asked
        self.talk.session.hear(Heard(text, way, began_s, clock.now().t_s, verified, grade, engine="test"))  # type: ignore[arg-type]
        put = Put(text, way, began_s, clear=way == "typed" or (verified and grade))
        added = self._catch_up(put)
        if not self.model.over and text.strip():
            assert any(event["kind"] == "said" for event in added), f"nothing was said to '{text}'"
        if text in SKIPS:
            assert self.model.done <= before, "a skip moved the job on"
        if gate_before is not None and self.model.asked != gate_before and gate_before[1] in self.model.done:
            seen[gate_before[0], "closed"] += 1

    @rule(times=st.integers(1, 4))
    def as_it_should_be(self, times: int) -> None:
        """The technician does what is asked."""
        for _ in range(times):
            if self.model.over:
                return
            if self.model.held:
                self._put("false alarm" if self.model.danger else "we can go on")
                continue
            self.hand.follow(self.talk.state)
            wish = self.hand.next(self.talk.state, self.talk.clock.t_s)
            if wish is None:
                return
            if isinstance(wish, Wait):
                self._pass(120.0)
            else:
                self._put(wish.words)

    @precondition(lambda self: self._gate() is not None)
    @rule(how=st.sampled_from(ATTACKS), pick=st.integers(0, 1000), aloud=st.booleans())
    def attack(self, how: str, pick: int, aloud: bool) -> None:
        gate, act = self._gate() or ("", "")
        own = sentences()[gate]
        words = own.split()
        way = "voice" if aloud else "typed"
        n = pick % len(words)
        seen[gate, how] += 1
        match how:
            case "bare":
                grunts = ("yes", "okay", "next", "done", "that is correct", "confirmed", "go on")
                for turn in range(3):
                    self._put(grunts[(pick + turn) % len(grunts)], way)
            case "negated":
                spot = max(1, n)
                self._put(
                    " ".join([*words[:spot], ("not", "nearly", "almost")[pick % 3], *words[spot:]]), way
                )
            case "partial":
                self._put(" ".join(words[:n] + words[n + 1 :]), way)
            case "fuzzy":
                changed = words[n] + "s" if len(words[n]) < 4 else words[n][:-2]
                self._put(" ".join([*words[:n], changed, *words[n + 1 :]]), way)
            case "longer":
                self._put(
                    (f"i think {own}", f"{own} i think", f"{own} or not", f"is it so that {own}")[pick % 4],
                    way,
                )
            case "other":
                others = [s for g, s in sentences().items() if g != gate]
                self._put(others[pick % len(others)], way)
            case "key":
                self.talk.session.key()
                self._put("done", "key")  # had it come through all the same
            case "unverified":
                self._put(own, "voice", verified=False, grade=False)
            case "not for gates":
                self._put(own, "voice", verified=True, grade=False)
            case "early":
                put_s = self.model.said_s if aloud else self.model.shown_s
                self._put(
                    own, way, began=self.talk.clock.t_s - 600 if put_s is None else put_s - (pick % 2) * 0.2
                )
            case "skip":
                self._put(SKIPS[pick % len(SKIPS)], way)
            case "value":
                self._put(VALUES[pick % len(VALUES)], way)
        if self.model.asked is not None and not self.model.over:
            assert how == "value" or act not in self.model.done, f"'{how}' closed {gate}"

    @precondition(lambda self: self._gate() is not None)
    @rule(
        first=st.lists(
            st.tuples(st.sampled_from(ATTACKS), st.integers(0, 1000), st.booleans()), min_size=2, max_size=5
        )
    )
    def attack_again_and_again(self, first: list[tuple[str, int, bool]]) -> None:
        for how, pick, aloud in first:
            if self._gate() is not None:
                self.attack(how, pick, aloud)

    @precondition(lambda self: self._gate() is not None)
    @rule(aloud=st.booleans(), written=st.booleans())
    def say_the_sentence(self, aloud: bool, written: bool) -> None:
        gate, _ = self._gate() or ("", "")
        own = sentences()[gate]
        seen[gate, "answered"] += 1
        self._put(own.capitalize() + "." if written else own, "voice" if aloud else "typed")

    @rule(text=st.sampled_from(QUESTIONS), aloud=st.booleans())
    def ask(self, text: str, aloud: bool) -> None:
        before = self.model.done.copy()
        self._put(text, "voice" if aloud else "typed")
        assert self.model.done == before, f"the question '{text}' moved the job"

    @rule(text=st.sampled_from(MOVES), aloud=st.booleans(), confirmed=st.booleans())
    def say(self, text: str, aloud: bool, confirmed: bool) -> None:
        stood, before_it = self.model.closed_gates(), self._before()
        handing = False
        self._put(text, "voice" if aloud else "typed")
        if confirmed and self.talk.state.offered is not None:
            handing = self.talk.state.offered.slot == "hand_over" and not self.model.held
            self._put("that is correct")
        if handing:
            self._after_rearm("person", before_it[0], stood)

    @rule(text=st.sampled_from(VALUES), confirmed=st.booleans())
    def tell_a_value(self, text: str, confirmed: bool) -> None:
        stood = dict(self.model.values)
        release = stood.get("release_temperature")
        vent_open = "gate_cold_inside" in self.model.done and "vented" not in self.model.marks
        self._put(text)
        if confirmed and self.talk.state.offered is not None:
            self._put("that is correct")
        changed = {s for s in set(stood) | set(self.model.values) if stood.get(s) != self.model.values.get(s)}
        if "heat_on" in self.model.marks:
            assert not changed - {
                "vent_heard",
                "technician",
                "stop_session",
                "enough_belt",
                "marks_distance",
            }, changed
        if any(
            s in changed
            for s in ("upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature")
        ):
            assert "gate_values_agree" not in self.model.done, "a value was changed and not compared again"
        last = self.model.readings[-1] if self.model.readings else None
        if (
            vent_open
            and last is not None
            and last["slot"] != "gauge_reading"
            and last["t"] == self.talk.clock.now().t_s
        ):
            hot = (
                last["slot"] in ("upper_reading", "lower_reading", "edge_reading") and last["value"] > release
            )
            assert not hot or "gate_cold_inside" not in self.model.done, (
                "a hotter reading left the gate closed"
            )

    @rule(seconds=st.sampled_from((0.2, 5.0, 29.0, 61.0, 400.0, 3000.0)), clock_set=st.booleans())
    def time_passes(self, seconds: float, clock_set: bool) -> None:
        if clock_set:
            self.talk.clock.set_note = (
                "The clock was set back by 3600 s; timers go on by the monotonic clock."
            )
        self._pass(seconds)

    @rule(gap=st.sampled_from((1.0, 90.0, 7200.0)))
    def power_cut(self, gap: float) -> None:
        if self.model.over:
            return
        before_it, stood = self._before()
        timers = {t.name: t.deadline_s for t in self.talk.state.timers}
        self.talk.session.writer.close()
        end_s = self.talk.clock.t_s
        self.talk = press.reopened(self.path, gap)
        self.talk.clock.t_s = max(self.talk.clock.t_s, end_s + gap)
        self._catch_up(Put(resumed=True))
        for timer in self.talk.state.timers:
            assert timer.name not in timers or timers[timer.name] == timer.deadline_s, (
                "a power cut moved a timer"
            )
        self._after_resume(before_it, stood)

    # -- what must hold

    @invariant()
    def nothing_is_broken(self) -> None:
        if not hasattr(self, "model"):
            return
        assert not self.model.wrong, self.model.wrong
        assert self.folded == self.talk.state, "the log on disk folds to another state"
        assert self.model.done == set(self.talk.state.done)
        assert self.model.skips == self.talk.state.skips
        gate, here = self.talk.state.gate, current(self.talk.session.rules, self.talk.state)
        if gate is not None and not self.model.over:
            assert here is not None
            assert here[1].id == gate.act, f"{gate.act} is asked at {here[1].id}"
            assert (
                gate.not_yet
                or self.talk.state.held
                or self.talk.state.asking
                or self.talk.state.offered
                or gate.shown_s is not None
            ), f"{gate.act} waits for an answer to a question that was not put"
        view = self.talk.session.view()
        assert self.model.over or view.act_say, "there is nothing to answer"
        if here is not None and not self.model.over:
            self._is_first_open(here[1].id)

    def _is_first_open(self, act_id: str) -> None:
        mine = self.model.current()
        assert mine is not None
        assert mine[1]["id"] == act_id, f"the program is at {act_id}, the list at {mine[1]['id']}"

    def teardown(self) -> None:
        if hasattr(self, "talk"):
            self.talk.session.writer.close()
            read_log(self.path)  # raises where the chain is broken
        self._folder.cleanup()

    # -- help

    def _gate(self) -> tuple[str, str] | None:
        held = not hasattr(self, "model") or self.model.held or self.model.over
        return None if held or self.talk.state.offered is not None else self.model.asked

    def _pass(self, seconds: float) -> None:
        self.talk.clock.advance(seconds)
        before = self.model.done.copy()
        self.talk.session.tick()
        self._catch_up(Put())
        now_s = self.talk.clock.now().t_s
        late = [
            n
            for n, deadline in self.model.timers.items()
            if deadline is not None and deadline <= now_s and n != "ramp"
        ]
        fresh = {t.name for t in self.talk.state.timers if t.started_s == now_s}
        assert self.model.over or not set(late) - fresh, f"{late} ran out and nobody was told"
        by_time = {a["id"] for _, a in acts() if a["kind"] == "timer"}
        assert self.model.done - before <= by_time, "time did more than end a timer"

    def _catch_up(self, put: Put) -> list[dict[str, Any]]:
        """Reads what the step has added to the file, and folds it."""
        with self.path.open("rb") as file:
            file.seek(self.size)
            added = file.readlines()
            self.size = file.tell()
        self.model.read(added, put)
        events = []
        for raw in added:
            line = json.loads(raw)
            self.folded = evolve(self.folded, parse_event(line["event"]), float(line["t"]))
            events.append(line["event"])
        if self.model.asked is not None and not self.model.over:
            seen[self.model.asked[0], "reached"] += 1
        return events

    def _before(self) -> tuple[dict[str, bool], dict[str, str]]:
        """Which gates' hazards stand, and which gate acts are closed."""
        return {gate: self.model.hazard_stands(gate) for gate in TABLE}, self.model.closed_gates()

    def _after_resume(self, stands: dict[str, bool], stood: dict[str, str]) -> None:
        self._after_rearm("resume", stands, stood)

    def _after_rearm(self, reason: str, stands: dict[str, bool], stood: dict[str, str]) -> None:
        """Gates that the reason re-arms are open where their hazard stands; those whose hazard is gone are left alone."""
        if self.model.over:
            return
        for act, gate in stood.items():
            if reason in TABLE[gate][0] and stands[gate]:
                assert act not in self.model.done, f"{act} stayed closed on '{reason}'"
            elif reason not in TABLE[gate][0] and not stands[gate]:
                assert act in self.model.done, (
                    f"{act} was asked again on '{reason}' though its hazard is gone"
                )


@pytest.mark.parametrize("near", [*TABLE, None])
def test_no_walk_finds_a_way_past_a_gate(near: str | None) -> None:
    """Each way of attacking it is tried on every gate, and then whatever comes to mind."""
    seen.clear()
    kind = type("Walk", (Walk,), {"near": near})
    walks = WALKS * STEPS * (1 if near else 3)
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        kind,
        settings=settings(
            max_examples=walks, stateful_step_count=LENGTH, deadline=None, derandomize=STEPS == 1,
            suppress_health_check=list(HealthCheck), print_blob=True, phases=PHASES, report_multiple_bugs=False,
        ),
    )  # fmt: skip
    if near is None:
        return
    tried = {how: seen[near, how] for how in ATTACKS}
    print(
        f"{near}: reached {seen[near, 'reached']}, attacked {sum(tried.values())} {tried}, closed {seen[near, 'closed']}"
    )
    assert seen[near, "reached"] >= walks, "too seldom reached to prove anything"
    assert min(tried.values()) >= walks // 2, f"too seldom attacked to prove anything: {tried}"
    assert seen[near, "closed"] >= 2, "it was never closed as it should be: it may be stuck"


def test_the_model_finds_a_gate_that_was_passed_by() -> None:
    """The model itself can fail: a log in which an act is done over an open gate, or a gate closed by another sentence."""
    lines = [raw for raw, _, _ in press.recorded("demo")]
    found = press.bench().rules.catalogue.presses[str(press.sheet("demo")["press"])]
    traits = {
        **TRAITS["demo"], "halves": found.halves, "inner_lead": found.inner_lead, "cooling": found.cooling.kind,
        "supply_until_vented": found.cooling.needs_supply, "heavy": False,
    }  # fmt: skip
    whole = Model(traits)
    whole.read(lines, None)
    assert not whole.wrong
    without = Model(traits)
    without.read([raw for raw in lines if b'"gate":"blade"' not in raw or b"gate_closed" not in raw], None)
    assert any("'cut_first' was done while" in sentence for sentence in without.wrong)
    other = Model(traits)
    own = sentences()["closed"].encode()
    other.read(
        [raw.replace(own, own.replace(b"clear", b"near")) if b"gate_closed" in raw else raw for raw in lines],
        None,
    )
    assert any("closed by" in sentence for sentence in other.wrong)
    warm = Model(traits)
    warm.read([raw for raw in lines if b'"slot":"lower_reading"' not in raw], None)
    assert any("without a reading of lower_reading" in sentence for sentence in warm.wrong)
    assert (
        pytest.approx(whole.inside_K(whole.marks["vented"]), abs=80) == 330
    )  # class: regression -- a belt between shop and set temperature
