"""The state of a session: nothing but the fold of its events."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from assistant.procedure.events import Cause, Interrupted, Option, Outcome, TimerName, Value, Way
from assistant.procedure.model import GateId


def _empty() -> Mapping[str, Any]:
    return MappingProxyType({})


@dataclass(frozen=True)
class Offered:
    """A value waiting for its confirmation. gone: what is dropped with it if it is scratched."""

    slot: str
    value: Value
    said: str
    way: Way


@dataclass(frozen=True)
class Timer:
    name: TimerName
    started_s: float
    deadline_s: float | None
    total_s: float | None
    called: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Reading:
    slot: str
    value: float
    t_s: float  # session seconds
    plausible: bool
    sentence: str


@dataclass(frozen=True)
class Finding:
    item: str
    finding: Value
    found: str
    severity: str
    sentence: str


@dataclass(frozen=True)
class GateQuestion:
    """The gate that is being asked; when its question was shown and when it had been said, None: not yet.

    not_yet: readings are missing or wrong; its sentence is not asked for before they stand.
    wordings: those asked in this putting, without repetition; the last is the one asked now.
    """

    gate: GateId
    act: str
    shown_s: float | None = None
    said_s: float | None = None
    not_yet: bool = False
    wordings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Put:
    """The question put last: when it was shown and when it had been said, None: not yet."""

    question: str
    shown_s: float | None = None
    said_s: float | None = None


@dataclass(frozen=True)
class Inquiry:
    """What happened at the press, as far as it has been told; waits: for the supply to come back."""

    cause: Cause
    since_s: float
    at_s: float | None = None
    waits: bool = False


@dataclass(frozen=True)
class State:
    session: str = ""
    simulated: bool = False
    t_s: float = 0.0
    count: int = 0  # events so far
    values: Mapping[str, Value] = field(default_factory=_empty)  # what counts
    from_file: frozenset[str] = frozenset()
    offered: Offered | None = None
    last_taken: str | None = None
    asking: str | None = None  # the question last asked back, and what it chooses from
    options: tuple[Option, ...] = ()
    done: frozenset[str] = frozenset()  # act ids
    trail: tuple[str, ...] = ()  # acts in the order they were done
    act: str = ""  # last entered
    gate: GateQuestion | None = None
    put_s: float = 0.0  # when the last question of any kind had been put
    put: Put | None = None  # None: nothing said before counts for what is asked next
    agreed: frozenset[str] = frozenset()  # recipe slots agreed
    overruled: frozenset[str] = frozenset()  # recipe slots whose value is the person's, not the recipe's
    shown: frozenset[str] = frozenset()  # set slots read back from the display
    computed: Mapping[str, Mapping[str, Any]] = field(default_factory=_empty)
    timers: tuple[Timer, ...] = ()
    heat_on_s: float | None = None
    at_set_s: float | None = None
    cool_on_s: float | None = None
    vented_s: float | None = None
    inquiry: Inquiry | None = None
    interruptions: tuple[Interrupted, ...] = ()
    readings: tuple[Reading, ...] = ()
    findings: tuple[Finding, ...] = ()
    put_right: tuple[Finding, ...] = ()  # not passed at first and passed later: to be mentioned when accepted
    outcome: Outcome | None = None
    causes: tuple[str, ...] = ()
    note: str = ""
    kept: str | None = None
    held: str = ""
    danger: bool = False
    held_before: str = ""  # why it was held before the danger: a false alarm does not lift that
    skips: int = 0
    gate_refusals: int = 0
    moved: str = ""  # what the last utterance for us did: 'act ID', 'gate ACT', 'value SLOT', 'offered', 'asked', 'held', 'stays' or ''
    misses: int = 0  # utterances in a row that were not understood
    manner: str = "full"
    deviations: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    closed: Outcome | None = None
    last_said: str = ""
    last_heard: str = ""  # the last words for us but 'what did you hear'
    resumed: int = 0
    unchecked: tuple[tuple[float, float], ...] = ()  # from and to: the clock of that time nothing checks

    @property
    def technician(self) -> str:
        return str(self.values.get("technician", ""))

    def timer(self, name: str) -> Timer | None:
        return next((t for t in self.timers if t.name == name), None)

    def last_reading(self, slot: str, since_s: float | None = None) -> Reading | None:
        """The newest reading of a slot, taken at or after `since_s`."""
        for reading in reversed(self.readings):
            if reading.slot == slot and (since_s is None or reading.t_s >= since_s):
                return reading
        return None
