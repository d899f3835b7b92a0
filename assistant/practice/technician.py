"""A scripted technician at a simulated press: says what a person would say, does what the steps say.

Answers gates as anybody must, with their sentences. Reads the press's displays, not the prediction.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.practice.press import SimulatedPress
from assistant.practice.script import Script
from assistant.procedure.cold import cold_reasons
from assistant.procedure.gate_wording import asked_now, wordings
from assistant.procedure.model import Act
from assistant.procedure.prompt import described
from assistant.procedure.rules import Rules, current
from assistant.procedure.slots import SLOTS
from assistant.procedure.state import Inquiry, State
from assistant.procedure.unchecked import reads_since_s
from assistant.procedure.untimed import is_untimed
from assistant.procedure.want import want_of
from intents.meaning import Expected, QuantityKind
from intents.quantities import Parsed, parse_quantity
from intents.spoken import edge_value

WAIT_S = 15.0
REREAD_S = 60.0
GAUGE_STEP_Pa = 0.1e5  # to which a gauge is read
SAFELY_COLD_K = 6.0  # a practised hand waits a little longer than it must
CONFIRM = "that is correct"
WRONG = "that is not right"
_ORDINALS = ("the first one", "the second one", "the third one")
TO_BE_COLD = ("upper_reading", "lower_reading", "edge_reading")
READ = frozenset({"upper_reading", "lower_reading", "edge_reading", "pressure_reading", "gauge_reading"})


@dataclass(frozen=True)
class Say:
    """words: to be said. meant: the value they stand for, where they carry one."""

    words: str
    meant: float | str | None = None


@dataclass(frozen=True)
class Wait:
    seconds: float


def written_aloud(value_si: float, kind: QuantityKind) -> str:
    """In figures, as a voice reads them best: '180 degrees', '2.0 bar', '2 minutes 50 seconds'."""
    value = edge_value(value_si, kind)
    if kind == "temperature":
        return f"{value:g} degrees"
    if kind == "pressure":
        return f"{value:.1f} bar" if value == round(value, 1) else f"{value:.2f} bar"
    if kind == "duration":
        minutes, seconds = divmod(round(value), 60)
        return f"{minutes} minutes {seconds} seconds" if seconds else f"{minutes} minutes"
    return f"{value:g} millimeters" if kind == "length" else f"{value:g}"


def _of_the_press(inquiry: Inquiry) -> str:
    """Asked what happened at the press: as somebody says who stood beside it and saw it go on."""
    if inquiry.waits:
        return "the power is back"
    return "it went on as it was" if inquiry.cause == "" else "just now"


class Technician:
    """Keeps its place in the script and the simulated press in step with what was done."""

    def __init__(self, rules: Rules, script: Script, press: SimulatedPress) -> None:
        self.rules, self.script, self.press = rules, script, press
        self._left: dict[str, list[str]] = {line.at: list(line.say) for line in script.spoken}
        self._meant: float | str | None = None
        self._done: set[str] = set()
        self._timed_from: dict[str, float] = {}  # when the press's own timers were started [session second]

    def follow(self, state: State) -> None:
        """Does at the press what has been said to be done."""
        for slot in ("upper_temperature", "lower_temperature"):
            if slot in state.shown or f"set:{slot}" in self._done:
                self.press.enter(slot, float(state.values[slot]))
        self._timed_from = {t.name: self._timed_from.get(t.name, t.started_s) for t in state.timers}
        if "air_on" in state.done and self._once("air"):
            self.press.pressure_on(state.t_s, float(state.values["pressure"]))
        if state.heat_on_s is not None and self._once("heat"):
            self.press.heat_on(state.heat_on_s)
        if state.cool_on_s is not None and self._once("cool"):
            self.press.cool_on(state.cool_on_s)
        if state.vented_s is not None and self._once("vent"):
            self.press.vent(state.vented_s)

    def _once(self, what: str) -> bool:
        new = what not in self._done
        self._done.add(what)
        return new

    def next(self, state: State, now_s: float) -> Say | Wait | None:
        """What comes next; None when there is nothing left to say."""
        here = current(self.rules, state)
        if here is None:
            return None
        act = here[1]
        if state.asking is not None:
            return self._choose(state)
        if state.offered is not None:
            if scripted := self._left.get(f"offered:{state.offered.slot}"):
                self._meant = None
                return Say(scripted.pop(0))
            return Say(CONFIRM) if self._is_meant(state.offered.value) else self._put_right(state)
        if state.inquiry is not None:
            self._meant = None
            return Say(_of_the_press(state.inquiry))
        want = want_of(self.rules, state, act)
        scripted = self._left.get(f"sheet:{want.slot}" if act.topic == "job" and want is not None else act.id)
        if scripted:
            self._meant = None
            return Say(scripted.pop(0))
        return self._usual(act, state, now_s)

    def _is_meant(self, value: float | str) -> bool:
        if isinstance(self._meant, float) and isinstance(value, float):
            return abs(self._meant - value) < 1e-6
        return self._meant is None or self._meant == value

    def _put_right(self, state: State) -> Say:
        """Something else was understood than what was meant."""
        assert state.offered is not None
        _, expected = described(self.rules, state, state.offered.slot)
        if isinstance(self._meant, float) and expected.quantity is not None:
            return Say(f"no it is {written_aloud(self._meant, expected.quantity)}", self._meant)
        return Say(WRONG)

    def _choose(self, state: State) -> Say:
        """Asked which of several was meant."""
        if state.offered is not None and any(option.intent == "confirm" for option in state.options):
            return Say(CONFIRM) if self._is_meant(state.offered.value) else self._put_right(state)
        for place, option in enumerate(state.options[: len(_ORDINALS)]):
            if option.value == self._meant:
                return Say(_ORDINALS[place])
        return Say(WRONG)

    def _usual(self, act: Act, state: State, now_s: float) -> Say | Wait:
        want = want_of(self.rules, state, act)
        if act.kind == "gate":
            return self._gate(act, state, now_s)
        if act.kind == "timer":
            if act.timer == "ramp" and self.press.at_set(now_s):
                return Say(self.script.usual["at_set"])
            timer = state.timer(act.timer or "")
            if timer is not None and is_untimed(state, timer.name):  # so it goes by the press's own
                ends_s = self._timed_from.get(timer.name, timer.started_s) + (timer.total_s or 0.0)
                return Say(self.script.usual["step"]) if now_s >= ends_s else Wait(WAIT_S)
            return Wait(WAIT_S)
        if act.kind == "set":
            lead_in = "the pressure is " if act.slot == "pressure" else "it shows "
            return self._value(act.slot or "", float(state.values[act.slot or ""]), lead_in)
        if act.kind == "reading" and act.slot in READ:
            lead_in = "the pressure is " if act.slot == "pressure_reading" else "it shows "
            return self._value(act.slot, self.press.read(act.slot, now_s), lead_in)
        if act.kind == "reading" and state.heat_on_s is not None:
            minutes = round((now_s - state.heat_on_s) / 60)
            return self._value(act.slot or "", minutes * 60.0)
        if want is not None and want.slot in self.script.answers:
            answer = self.script.answers[want.slot]
            self._meant = self._value_of(answer, want.expected)
            choice = next((c for c in want.expected.choices if c.key == answer), None)
            return Say(answer if choice is None else choice.sayings[0])
        self._meant = None
        return Say(self.script.usual[act.kind])

    def _value_of(self, words: str, expected: Expected) -> float | str | None:
        """What the words of an answer stand for."""
        if expected.kind == "choice":
            return words
        if expected.quantity is None:
            return None
        parsed = parse_quantity(words, expected.quantity, expected.low, expected.high)
        return parsed.value_si if isinstance(parsed, Parsed) else None

    def _gate(self, act: Act, state: State, now_s: float) -> Say | Wait:
        gate = self.rules.gate(act)
        if "cold_inside" in gate.needs and cold_reasons(self.rules, state, now_s):
            release = float(state.values["release_temperature"])
            shown = {slot: self.press.read(slot, now_s) for slot in TO_BE_COLD}
            for slot, shows in shown.items():
                last = state.last_reading(slot, since_s=reads_since_s(state))
                cold = max(shown.values()) <= release - SAFELY_COLD_K
                if last is None or last.value > release:
                    due = cold
                else:
                    due = now_s - last.t_s >= REREAD_S and shows < last.value
                if due:
                    return self._value(slot, shows, f"the {SLOTS[slot].sayings[0]} is ")
            self._meant = None
            return Wait(WAIT_S)
        self._meant = None
        return Say(asked_now(self.rules, state, act))

    def again(self, state: State, words: str) -> str:
        """What is said where `words` did not get across: a gate's sentence as it is asked now, else the same."""
        here = current(self.rules, state)
        if here is None or here[1].gate is None or words not in wordings(self.rules.gate(here[1])):
            return words
        return asked_now(self.rules, state, here[1])

    def _value(self, slot: str, value: float, lead_in: str = "") -> Say:
        kind = SLOTS[slot].quantity
        assert kind is not None  # a display shows quantities only
        if kind == "pressure":
            value = round(value / GAUGE_STEP_Pa) * GAUGE_STEP_Pa
        self._meant = value
        return Say(f"{lead_in}{written_aloud(value, kind)}", value)
