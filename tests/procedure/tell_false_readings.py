"""How far false readings get: `python tests/procedure/tell_false_readings.py`.

On each press of the bench somebody tells readings that are not so, in every way below, at many moments of the
cooling, and then says the gate's sentence. Counted: what was told, what was not believed, how often the gate opened,
how often that was with the computed inside above release (it must be never), and how hot the belt then really was
inside: on a press as planned, and on one with everything 22 % the wrong way. Exit code 1 where the computed inside
did not bar it.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

import at_the_press as press  # noqa: E402
from walk_the_gates import quicken  # noqa: E402

from assistant.bench.job import Job  # noqa: E402
from assistant.practice.press import Hidden, SimulatedPress  # noqa: E402
from assistant.procedure import events as e  # noqa: E402
from assistant.procedure.decide import hear  # noqa: E402
from assistant.procedure.gates import answer_gate  # noqa: E402
from assistant.procedure.readings import take_reading  # noqa: E402
from assistant.procedure.rules import Rules, job_of, recipe_of, timeline_of  # noqa: E402
from assistant.procedure.state import GateQuestion, State  # noqa: E402
from assistant.procedure.turn import Turn  # noqa: E402
from assistant.recipe.during import expected_reading, inside_now  # noqa: E402
from assistant.recipe.outcome import Recipe  # noqa: E402
from intents.meaning import Heard, Meaning  # noqa: E402

AS_PLANNED = Hidden(1, 1, 1, 1, 1, 1, 0, 0)
WRONG_WAY = Hidden(0.78, 0.78, 0.78, 0.78, 1.22, 0.78, 0, 0)  # slow to cool, and the belt slow to follow
STEP_S, LONGEST_S = 30.0, 6000.0
ZERO_C_K = 273.15

Readings = tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Moment:
    """What a liar may know: now, what is expected and believed of each platen, what a thermometer would show."""

    after_s: float
    release_K: float
    shop_K: float
    coldest_K: tuple[float, float]
    expected_K: tuple[float, float]
    shown_K: tuple[float, float]


def both(upper_K: float, lower_K: float) -> Readings:
    return (("upper_reading", upper_K), ("lower_reading", lower_K))


LIES: dict[str, Callable[[Moment], Readings]] = {
    "both 20 °C": lambda _: both(20 + ZERO_C_K, 20 + ZERO_C_K),
    "both as the shop": lambda m: both(m.shop_K, m.shop_K),
    "both just at release": lambda m: both(m.release_K, m.release_K),
    "both as cold as is believed": lambda m: both(*m.coldest_K),
    "the same for both, the colder one's": lambda m: both(min(m.coldest_K), min(m.coldest_K)),
    "upper cold, lower as it is": lambda m: both(m.coldest_K[0], m.shown_K[1]),
    "lower cold, upper as it is": lambda m: both(m.shown_K[0], m.coldest_K[1]),
    "as it is, the edge at 20 °C": lambda m: (*both(*m.shown_K), ("edge_reading", 20 + ZERO_C_K)),
    "both cold, the edge at 20 °C": lambda m: (*both(*m.coldest_K), ("edge_reading", 20 + ZERO_C_K)),
    "as planned, whatever it shows": lambda m: both(*m.expected_K),
    "as it is": lambda m: both(*m.shown_K),
}
AGAIN = "both as cold as is believed, every ten seconds"


@dataclass
class Told:
    """What came of one way of lying on one press."""

    told: int = 0
    not_believed: int = 0
    opened: int = 0
    too_hot: int = 0  # opened with the computed inside above release
    first_s: float | None = None  # after cooling began
    over_K: dict[str, float] = field(default_factory=dict)  # over release, really, at the first opening


class Bench:
    """One press with its job, from the moment at which cooling begins."""

    def __init__(self, name: str, folder: Path) -> None:
        talk = press.at(name, "cool", folder)
        talk.session.writer.close()
        state: State = talk.state
        self.rules: Rules = press.bench().rules
        job, recipe, timeline = job_of(self.rules, state), recipe_of(self.rules, state), timeline_of(state)
        assert isinstance(job, Job)
        assert isinstance(recipe, Recipe)
        assert timeline is not None
        assert state.cool_on_s is not None
        self.job, self.recipe, self.timeline, self.cool_s = job, recipe, timeline, state.cool_on_s
        self.release_K = float(state.values["release_temperature"])
        gates = [a.id for _, a in self.rules.acts() if a.kind == "gate" or a.slot in ("upper_reading", "lower_reading", "edge_reading")]  # fmt: skip
        asked = GateQuestion("cold_inside", "gate_cold_inside", shown_s=self.cool_s, said_s=self.cool_s)
        done = (state.done | set(gates) | {"cool"}) - {"gate_cold_inside"}
        done -= {a.id for _, a in self.rules.acts() if a.gate == "dead_and_empty"}
        self.state = replace(state, readings=(), gate=asked, done=done, inquiry=None, act="gate_cold_inside")
        act = self.rules.act("gate_cold_inside")
        assert act is not None
        self.sentence = self.rules.gate(act).sentence
        self.really = {"as planned": self._real(AS_PLANNED), "22 % the wrong way": self._real(WRONG_WAY)}

    def _real(self, secret: Hidden) -> SimulatedPress:
        real = SimulatedPress(self.job, secret=secret)
        for slot in ("upper_temperature", "lower_temperature", "preheat_temperature", "preheat_time"):
            if slot in self.state.values:
                real.enter(slot, float(self.state.values[slot]))
        real.heat_on(self.timeline.heat_on_s)
        real.cool_on(self.cool_s)
        return real

    def moment(self, t_s: float, on: str) -> Moment:
        bands = [
            expected_reading(self.job, self.recipe, self.timeline, slot, t_s)
            for slot in ("upper_reading", "lower_reading")
        ]
        shown = [self.really[on].read(slot, t_s) for slot in ("upper_reading", "lower_reading")]
        return Moment(
            t_s - self.cool_s, self.release_K, self.job.shop_degC + ZERO_C_K,
            (bands[0].low_K, bands[1].low_K), (bands[0].mean_K, bands[1].mean_K), (shown[0], shown[1]),
        )  # fmt: skip

    def answered(self, state: State, readings: Readings, t_s: float) -> tuple[State, int, bool]:
        """State after the readings, how many were not believed, and whether the sentence then closed the gate."""
        turn = Turn(self.rules, state, t_s)
        for slot, value_K in readings:
            take_reading(turn, slot, value_K)
        doubted = sum(not reading.plausible for reading in turn.state.readings[len(state.readings) :])
        after = turn.state
        asked = Turn(self.rules, replace(after, gate=self.state.gate, done=self.state.done), t_s)
        answer_gate(asked, Heard(self.sentence, "typed", t_s, t_s), self.sentence)
        return after, doubted, any(isinstance(event, e.GateClosed) for event in asked.events)

    def count(self, told: Told, state: State, doubted: int, opened: bool, t_s: float) -> None:
        told.told += 1
        told.not_believed += doubted > 0
        told.opened += opened
        if opened:
            hottest_K = inside_now(self.job, self.recipe, self.timeline, state.readings, t_s).hottest_upper_K
            told.too_hot += hottest_K > self.release_K + 1e-6
        if opened and told.first_s is None:
            told.first_s = t_s - self.cool_s
            told.over_K = {on: real.inside_hottest(t_s) - self.release_K for on, real in self.really.items()}

    def moments(self, step_s: float) -> Iterator[float]:
        after_s = 10.0
        while after_s < LONGEST_S:
            yield self.cool_s + after_s
            after_s += step_s

    def lie(self, way: Callable[[Moment], Readings], step_s: float = STEP_S, on: str = "as planned") -> Told:
        """Told once, at each moment for itself, until a while after it first opened the gate."""
        told = Told()
        for t_s in self.moments(step_s):
            state, doubted, opened = self.answered(self.state, way(self.moment(t_s, on)), t_s)
            self.count(told, state, doubted, opened, t_s)
            if told.opened > 5:
                break
        return told

    def lie_again(self, step_s: float = 10.0, on: str = "as planned") -> Told:
        """Told over and over, each time as cold as is believed: what makes the computed inside coldest."""
        told, state = Told(), self.state
        for t_s in self.moments(step_s):
            state, doubted, opened = self.answered(state, both(*self.moment(t_s, on).coldest_K), t_s)
            self.count(told, state, doubted, opened, t_s)
            if opened:
                break
        return told


def gauge_lies(name: str, folder: Path) -> tuple[int, int]:
    """The gauge told as zero while there is pressure, before and after the valve: tried, and what opened the press."""
    tried = opened = 0
    rules = press.bench().rules
    for act in ("upper_cold", "vent", "vent_heard"):
        talk = press.at(name, act, folder)
        talk.session.writer.close()
        for heard_it in ("no", "unknown"):
            state = replace(talk.state, gate=GateQuestion("dead_and_empty", "gate_dead_and_empty", 0.0, 0.0))
            turn = Turn(rules, state, talk.clock.t_s)
            take_reading(turn, "gauge_reading", 0.0)
            if heard_it == "no":
                told = hear(
                    rules, turn.state, Heard("i did not hear it", "typed", talk.clock.t_s, talk.clock.t_s),
                    Meaning("value", "vent_heard", "no"), talk.clock.t_s,
                )  # fmt: skip
                turn = Turn(rules, told.state, talk.clock.t_s)
            gate = next(a for _, a in rules.acts() if a.gate == "dead_and_empty")
            before = frozenset(a.id for _, a in rules.acts()) - {gate.id}
            asked = GateQuestion("dead_and_empty", gate.id, 0.0, 0.0)
            turn = Turn(rules, replace(turn.state, gate=asked, done=before), talk.clock.t_s)
            sentence = rules.gate(gate).sentence
            answer_gate(turn, Heard(sentence, "typed", talk.clock.t_s, talk.clock.t_s), sentence)
            tried += 1
            opened += any(isinstance(event, e.GateClosed) for event in turn.events)
    return tried, opened


def main() -> int:
    quicken(weigh=False)  # what a bad reading may come of is words only, and slow
    bad = 0
    print(f"{'press':<14}{'what is told':<50}{'told':>6}{'doubted':>8}{'opened':>7}{'too hot':>8}{'first':>8}{'over release, K':>28}")  # fmt: skip
    with tempfile.TemporaryDirectory() as name:
        for job in sorted(press.JOBS):
            bench = Bench(job, Path(name))
            rows = {what: bench.lie(way) for what, way in LIES.items()}
            rows[AGAIN] = bench.lie_again()
            for what, told in rows.items():
                bad += told.too_hot
                over = ", ".join(f"{over_K:+.1f}" for over_K in told.over_K.values())
                first = "-" if told.first_s is None else f"{told.first_s / 60:.1f} min"
                print(
                    f"{bench.job.press.name[:13]:<14}{what:<50}{told.told:>6}{told.not_believed:>8}{told.opened:>7}"
                    f"{told.too_hot:>8}{first:>10}{over:>26}",
                    flush=True,
                )
            tried, opened = gauge_lies(job, Path(name))
            bad += opened
            print(f"{bench.job.press.name[:13]:<14}{'the gauge at zero, nobody heard the air go out':<50}{tried:>6}{'':>8}{opened:>7}")  # fmt: skip
    print("over release: on a press as planned, on one with everything 22 % the wrong way")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
