"""The mandatory gates, as a table in code: where each stands, what re-arms it, what its sentence must repeat.

`mandatory` holds procedures to it. Nothing here can be changed by a data file.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.procedure.job_sets import KINDS_OF_JOB
from assistant.procedure.model import Act, GateId, Hazard, Rearm, Stage_id, Trait

LEAST_WORDS = 6
HEDGES = frozenset({"maybe", "perhaps", "nearly", "almost", "hardly", "unless", "probably"})


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
    sentence would not be true; counted from the last act that is like `since`. words: the sentence
    must have a word of each group, so that it repeats the act.
    """

    id: GateId
    hazards: tuple[Hazard, ...]
    rearm: tuple[Rearm, ...]
    until: Stage_id
    words: tuple[tuple[str, ...], ...]
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
        words=(("conveyor",), ("locked",), ("start", "move", "dead")),
        within=("safe",), stages=("thread", "cut"), kinds=("conveyor",), after=(Need("step", "try_start"),), until_hazard="locks_off",
    ),
    Rule(
        "energy_released", (), ("person", "resume", "back"), "return",
        words=(("tension",), ("no", "off", "gone", "blocked")),
        within=("safe",), stages=("thread", "cut"), kinds=("conveyor",), until_hazard="locks_off",
    ),
    Rule(
        "workplace_fit", ("blade",), ("person", "back"), "unfasten",
        words=(("air",), ("gloves",)), within=("safe", "thread", "cut"), stages=("cut",),
    ),
    Rule(
        "blade", ("blade",), ("each",), "ends",
        words=(("hands",), ("blade", "knife")), each=True,
    ),
    Rule(
        "lifting", ("lift",), ("each",), "unfasten",
        words=(("lift",), ("together", "two", "both")), only=("heavy", True), each=True,
    ),
    Rule(
        "leads_sound", ("connect",), ("person", "resume", "back"), "isolate",
        words=(("cables", "leads"), ("dry",), ("damaged", "good", "sound")), within=("close",),
    ),
    Rule(
        "closed", ("air_or_heat", "start"), ("resume", "back", "unfastened"), "run",
        words=(("fastened", "closed"), ("hands",), ("clear",)), within=("close", "set", "run"), stages=("run",),
        after=(Need("step", "fasten"),), since=Need("step", "lift"), until_hazard="start",
    ),
    Rule(
        "values_agree", ("start",), ("value_changed",), "run",
        words=(("press", "display"), ("values", "numbers")), within=("set", "run"), stages=("run",),
        after=(*(Need("set", slot) for slot in _SET), Need("set", "preheat_temperature", _PREHEAT)),
    ),
    Rule(
        "cold_inside", ("vent",), ("hotter_reading", "resume"), "release",
        words=(("cold",), ("pressure",)), within=("release",), needs=("cold_inside",),
        after=COLD_INSIDE, since=Need("timer", "cool"), until_hazard="vent",
    ),
    Rule(
        "dead_and_empty", ("unfasten",), ("resume", "reconnect"), "unfasten",
        words=(("plug",), ("gauge", "pressure"), ("zero",)), within=("isolate", "unfasten"), stages=("unfasten",),
        needs=("dead_and_empty",), after=DEAD_AND_EMPTY, since=Need("step", "vent"),
    ),
    Rule(
        "hot_parts", ("hot_handling",), ("each",), "unfasten",
        words=(("hot",), ("gloves",)), each=True,
    ),
    Rule(
        "guards", ("locks_off", "first_run"), ("person", "back"), "return",
        words=(("guards", "guard"), ("clear",)), within=("return",), kinds=("conveyor",),
    ),
    Rule(
        "own_lock", ("first_run",), ("person",), "return",
        words=(("own",), ("lock",), ("off", "removed")), within=("return",), kinds=("conveyor",), after=(Need("step", "locks_off"),),
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

TELLTALE: dict[Hazard, str] = {
    "blade": r"(cut|punch|trim|slit|skive) ",
    "connect": r"(connect|plug in) ",
    "vent": r"(vent|let (the )?(air|pressure) (out|go)|release (the )?(air|pressure))",
    "unfasten": r"(unfasten|loosen|undo|unbolt|unlatch) ",
    "air_or_heat": r"(let (the )?air in|open the air\b|switch (the )?heat(ers|ing)? on|start the (press|heat))",
    "locks_off": r"(take|each takes) .*\block off",
    "first_run": r"(run|start) (the conveyor|slowly)",
}
"""An instruction that begins with these words exposes somebody, so it must carry the hazard."""
