"""The mandatory gates, as a table in code: where each stands, what re-arms it, the sentences that may close it.

`mandatory` holds procedures to it. Nothing here can be changed by a data file.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.procedure.job_sets import KINDS_OF_JOB
from assistant.procedure.model import Act, GateId, Hazard, Rearm, Stage_id, Trait


@dataclass(frozen=True)
class Need:
    """An act that must have been done before another: by kind, and by its slot, timer, id or a hazard."""

    kind: str
    what: str
    only: tuple[Trait, str | bool] | None = None  # needed only where this trait has this value

    def met_by(self, act: Act) -> bool:
        return act.kind == self.kind and self.what in (act.slot, act.timer, act.topic, act.id, *act.hazards)


@dataclass(frozen=True)
class Rule:
    """A mandatory gate: where it stands and what it is at least.

    hazards, stages: it stands before every act with one of these hazards, and before the first act
    of these stages. within: the stages in which it may be asked: not so early that its answer is old.
    each: a fresh one directly before every such act. after: what must be done before it, else its
    sentence would not be true; counted from the last act that is like `since`. sentences: all that
    may close it, the packaged one first; free wording could state the opposite.
    """

    id: GateId
    hazards: tuple[Hazard, ...]
    rearm: tuple[Rearm, ...]
    until: Stage_id
    sentences: tuple[str, ...]
    within: tuple[Stage_id, ...] = ()  # empty: any
    stages: tuple[Stage_id, ...] = ()
    kinds: tuple[str, ...] = KINDS_OF_JOB
    only: tuple[Trait, str | bool] | None = None
    each: bool = False
    needs: tuple[str, ...] = ()
    after: tuple[Need, ...] = ()
    since: Need | None = None
    until_hazard: Hazard | None = None

    @property
    def name(self) -> str:
        return f"gate '{self.id.replace('_', ' ')}'"


_SET = ("upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature")
_PREHEAT: tuple[Trait, bool] = ("preheat", True)

COLD_INSIDE = (Need("reading", "upper_reading"), Need("reading", "lower_reading"))
"""A reading of both sides after cool-down began; the computed inside is judged when the gate is asked."""

DEAD_AND_EMPTY = (
    Need("step", "controller_off"),
    Need("step", "plug_out"),
    Need("step", "air_off"),
    Need("reading", "gauge_reading"),
    Need("ask", "vent_heard"),
)
"""Gauge at zero and vent heard (a gauge can stick), controller off, supply plug out, air off."""

RULES: tuple[Rule, ...] = (
    Rule(
        "conveyor_dead", (), ("person", "resume", "back"), "return",
        sentences=("the conveyor is locked and it will not start", "the conveyor is locked and it does not start"),
        within=("safe",), stages=("thread", "cut"), kinds=("conveyor",), after=(Need("step", "try_start"),), until_hazard="locks_off",
    ),
    Rule(
        "energy_released", (), ("person", "resume", "back"), "return",
        sentences=("there is no tension in the belt and no air pressure", "the tension is gone and the belt is blocked"),
        within=("safe",), stages=("thread", "cut"), kinds=("conveyor",), until_hazard="locks_off",
    ),
    Rule(
        "workplace_fit", ("blade",), ("person", "back"), "unfasten",
        sentences=("the air is fresh and i have my gloves and my safety glasses on", "there is fresh air and i am wearing gloves and glasses", "the air is moving and my gloves and glasses are on"),
        within=("safe", "thread", "cut"), stages=("cut",),
    ),
    Rule(
        "blade", ("blade",), ("each",), "ends",
        sentences=("both hands are safely behind the blade", "both my hands are well behind the knife"),
        each=True,
    ),
    Rule(
        "lifting", ("lift",), ("each",), "unfasten",
        sentences=("we will lift this part together", "two of us will lift this part together"),
        only=("heavy", True), each=True,
    ),
    Rule(
        "leads_sound", ("connect",), ("person", "resume", "back"), "isolate",
        sentences=("all the cables are dry and in good condition", "all the leads are dry and none is damaged"),
        within=("close",),
    ),
    Rule(
        "closed", ("air_or_heat", "start"), ("resume", "back", "unfastened"), "run",
        sentences=("the press is locked together and my hands are out of the way", "the press is closed and my hands are clear", "every fastener is closed and my hands are clear"),
        within=("close", "set", "run"), stages=("run",),
        after=(Need("step", "fasten"),), since=Need("step", "lift"), until_hazard="start",
    ),
    Rule(
        "values_agree", ("start",), ("value_changed",), "run",
        sentences=("the press shows the same numbers", "the display shows the same values as the list"),
        within=("set", "run"), stages=("run",),
        after=(*(Need("set", slot) for slot in _SET), Need("set", "preheat_temperature", _PREHEAT)),
    ),
    Rule(
        "cold_inside", ("vent",), ("hotter_reading", "resume"), "release",
        sentences=("the inside has cooled down and i am going to release the pressure", "it is cold enough and i will release the pressure", "it is cold inside and i will let the pressure out"),
        within=("release",), needs=("cold_inside",),
        after=COLD_INSIDE, since=Need("timer", "cool"), until_hazard="vent",
    ),
    Rule(
        "dead_and_empty", ("unfasten",), ("resume", "reconnect"), "unfasten",
        sentences=("the plug is in my hand and the pressure is zero", "the plug is in my hand and the gauge is at zero"),
        within=("isolate", "unfasten"), stages=("unfasten",),
        needs=("dead_and_empty",), after=DEAD_AND_EMPTY, since=Need("step", "vent"),
    ),
    Rule(
        "hot_parts", ("hot_handling",), ("each",), "unfasten",
        sentences=("i know the plates are hot and i am wearing gloves", "the plates are hot and my hot gloves are on"),
        each=True,
    ),
    Rule(
        "guards", ("locks_off", "first_run"), ("person", "back"), "return",
        sentences=("every guard is back and everybody is clear", "the guards are on and everyone is clear"),
        within=("return",), kinds=("conveyor",),
    ),
    Rule(
        "own_lock", ("first_run",), ("person",), "return",
        sentences=("i have removed my own lock from the conveyor", "i have taken my own lock off the conveyor"),
        within=("return",), kinds=("conveyor",), after=(Need("step", "locks_off"),),
    ),
)  # fmt: skip
BY_ID: dict[GateId, Rule] = {rule.id: rule for rule in RULES}


@dataclass(frozen=True)
class Must:
    """An act that a stage must have: at least `count` of them in every job of these kinds."""

    stage: Stage_id
    hazard: Hazard | None = None
    need: Need | None = None
    count: int = 1
    kinds: tuple[str, ...] = KINDS_OF_JOB
    only: tuple[Trait, str | bool] | None = None

    @property
    def words(self) -> str:
        if self.need is not None:
            return f"the {self.need.kind} '{self.need.what}'"
        return (
            f"an act with the hazard '{self.hazard}'"
            if self.count == 1
            else f"{self.count} acts with the hazard '{self.hazard}'"
        )


MUSTS: tuple[Must, ...] = (
    Must("job", need=Need("tell", "job")),
    *(Must("recipe", need=Need("agree", slot)) for slot in _SET),
    Must("recipe", need=Need("agree", "preheat_temperature"), only=_PREHEAT),
    Must("recipe", need=Need("agree", "preheat_time"), only=_PREHEAT),
    Must("cut", hazard="blade"),
    Must("ends", hazard="blade", count=2),
    Must("layup", hazard="lift", only=("heavy", True)),
    Must("close", hazard="lift", only=("heavy", True)),
    Must("close", hazard="connect"),
    Must("run", hazard="air_or_heat", count=2),
    Must("run", hazard="start"),
    Must("run", need=Need("timer", "preheat"), only=_PREHEAT),
    *(Must("run", need=Need("timer", timer)) for timer in ("ramp", "dwell", "cool")),
    Must("release", hazard="vent"),
    Must("release", need=Need("reading", "cycle_time")),
    Must("unfasten", hazard="unfasten"),
    Must("unfasten", hazard="hot_handling", count=2),
    Must("unfasten", hazard="lift", only=("heavy", True)),
    *(Must("inspect", need=Need("look", slot)) for slot in ("upper_face", "lower_face", "after_flex")),
    Must("decide", need=Need("decide", "decide")),
    Must("return", hazard="locks_off", kinds=("conveyor",)),
    Must("return", hazard="first_run", kinds=("conveyor",)),
)
