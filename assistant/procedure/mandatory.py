"""The gates that no procedure may drop, weaken or pass by. They stand here in code, not in data.

`check` goes through every combination of the traits that choose acts (a set of combinations is one
whole number, a bit for each) and walks the acts of each as the assistant does: all stages in order.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass
from functools import cache

from assistant.procedure.model import (
    STAGE_ORDER,
    Act,
    Gate,
    GateId,
    Hazard,
    Procedure,
    Rearm,
    Stage_id,
    Trait,
)

KINDS_OF_JOB = ("shop", "conveyor")

DOMAINS: dict[Trait, tuple[str | bool, ...]] = {
    "job_kind": KINDS_OF_JOB,
    "guided": (False, True),
    "notched": (False, True),
    "halves": ("hinged", "loose"),
    "inner_lead": (False, True),
    "cooling": ("none", "fan", "air", "water"),
    "supply_until_vented": (False, True),
    "heavy": (False, True),
    "new_pair": (False, True),
    "preheat": (False, True),
    "asymmetric": (False, True),
}
"""Every value that a trait can have."""

LEAST_WORDS = 6


@dataclass(frozen=True)
class Need:
    """An act that must have been done before another: by kind, and by its slot, timer or id."""

    kind: str
    what: str
    only: tuple[Trait, str | bool] | None = None  # needed only where this trait has this value

    def met_by(self, act: Act) -> bool:
        return act.kind == self.kind and self.what in (act.slot, act.timer, act.topic, act.id)


@dataclass(frozen=True)
class Rule:
    """A mandatory gate: where it stands and what it is at least.

    hazards, stages: it stands before every act with one of these hazards, and before the first act
    of these stages. each: a fresh one directly before every such act. after: what must be done
    between the start and the gate, else its sentence would not be true. words: the sentence must
    have a word of each group, so that it repeats the act.
    """

    id: GateId
    hazards: tuple[Hazard, ...]
    rearm: tuple[Rearm, ...]
    until: Stage_id
    words: tuple[tuple[str, ...], ...]
    stages: tuple[Stage_id, ...] = ()
    kinds: tuple[str, ...] = KINDS_OF_JOB
    only: tuple[Trait, str | bool] | None = None
    each: bool = False
    needs: tuple[str, ...] = ()
    after: tuple[Need, ...] = ()
    until_hazard: Hazard | None = None

    @property
    def name(self) -> str:
        return f"gate '{self.id.replace('_', ' ')}'"


_SET = ("upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature")
_PREHEAT: tuple[Trait, bool] = ("preheat", True)

COLD_INSIDE = (Need("timer", "cool"), Need("reading", "upper_reading"), Need("reading", "lower_reading"))
"""Cool-down first, then a reading of both sides; the computed inside is the engine's part."""

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
        words=(("conveyor", "machine"), ("locked", "lock", "locks"), ("start", "move", "run", "dead")),
        stages=("thread", "cut"), kinds=("conveyor",), after=(Need("step", "try_start"),), until_hazard="locks_off",
    ),
    Rule(
        "energy_released", (), ("person", "resume", "back"), "return",
        words=(("tension", "take-up", "energy", "weight"), ("off", "out", "gone", "released", "blocked")),
        stages=("thread", "cut"), kinds=("conveyor",), until_hazard="locks_off",
    ),
    Rule(
        "workplace_fit", ("blade",), ("person", "back"), "unfasten",
        words=(("air", "fan", "window", "door"), ("gloves", "glove")), stages=("cut",),
    ),
    Rule(
        "blade", ("blade",), ("each",), "ends",
        words=(("hands", "fingers", "hand"), ("blade", "knife", "punch")), each=True,
    ),
    Rule(
        "lifting", ("lift",), ("each",), "unfasten",
        words=(("lift", "carry", "lifting"), ("together", "two", "both", "crane")), only=("heavy", True), each=True,
    ),
    Rule(
        "leads_sound", ("connect",), ("person", "resume", "back"), "isolate",
        words=(("cables", "leads", "cable", "lead"), ("dry",), ("damaged", "damage", "sound", "good", "whole")),
    ),
    Rule(
        "closed", ("air_or_heat", "start"), ("resume", "back", "unfastened"), "run",
        words=(("fastened", "closed", "locked", "tight"), ("hands", "clear")), stages=("run",),
        after=(Need("step", "fasten"),), until_hazard="start",
    ),
    Rule(
        "values_agree", ("start",), ("value_changed",), "run",
        words=(("press", "display"), ("values", "numbers", "value")), stages=("run",),
        after=(*(Need("set", slot) for slot in _SET), Need("set", "preheat_temperature", _PREHEAT)),
    ),
    Rule(
        "cold_inside", ("vent",), ("hotter_reading", "resume"), "release",
        words=(("cold",), ("pressure", "air")), needs=("cold_inside",), after=COLD_INSIDE, until_hazard="vent",
    ),
    Rule(
        "dead_and_empty", ("unfasten",), ("resume", "reconnect"), "unfasten",
        words=(("plug",), ("gauge",), ("zero",)), stages=("unfasten",), needs=("dead_and_empty",), after=DEAD_AND_EMPTY,
    ),
    Rule(
        "hot_parts", ("hot_handling",), ("each",), "unfasten",
        words=(("hot", "heat", "leather"), ("gloves", "glove")), each=True,
    ),
    Rule(
        "guards", ("locks_off", "first_run"), ("person", "back"), "return",
        words=(("guards", "guard"), ("clear", "away", "everyone")), kinds=("conveyor",),
    ),
    Rule(
        "own_lock", ("first_run",), ("person",), "return",
        words=(("lock",), ("my", "own"), ("off", "removed")), kinds=("conveyor",), after=(Need("step", "locks_off"),),
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


@cache
def _combinations() -> tuple[dict[Trait, str | bool], ...]:
    every = (dict(zip(DOMAINS, values, strict=True)) for values in itertools.product(*DOMAINS.values()))
    return tuple(traits for traits in every if traits["guided"] or not traits["notched"])


@cache
def _jobs_where(trait: Trait, value: str | bool) -> int:
    """The combinations with this value, as bits. A value that a trait cannot have: none."""
    return sum(
        1 << bit
        for bit, traits in enumerate(_combinations())
        if type(traits[trait]) is type(value) and traits[trait] == value
    )


@cache
def _all_jobs() -> int:
    return (1 << len(_combinations())) - 1


def _jobs_of_act(act: Act) -> int:
    jobs = _all_jobs()
    for trait, value in act.when.items():
        jobs &= _jobs_where(trait, value)
    return jobs


def _jobs(kinds: tuple[str, ...], only: tuple[Trait, str | bool] | None) -> int:
    jobs = 0
    for kind in kinds:
        jobs |= _jobs_where("job_kind", kind)
    return jobs & _jobs_where(*only) if only else jobs


def _an_example(jobs: int) -> str:
    """One of the combinations in words."""
    traits = _combinations()[(jobs & -jobs).bit_length() - 1]
    return ", ".join(f"{trait.replace('_', ' ')} {str(value).lower()}" for trait, value in traits.items())


@dataclass(frozen=True)
class _Placed:
    """An act at its place in the walk, with the jobs that it applies to."""

    act: Act
    stage: Stage_id
    jobs: int


def check(procedure: Procedure) -> list[str]:
    """What is wrong with the procedure, a sentence each; empty when every mandatory gate stands."""
    wrong = _wrong_stages(procedure)
    if wrong:
        return wrong
    walk = [_Placed(act, stage.id, _jobs_of_act(act)) for stage in procedure.stages for act in stage.acts]
    wrong += _wrong_acts(walk)
    given: dict[GateId, Gate] = {gate.id: gate for gate in procedure.gates}
    for rule in RULES:
        copies = sum(gate.id == rule.id for gate in procedure.gates)
        if copies != 1:
            wrong.append(
                f"{rule.name} is {'missing' if not copies else 'defined more than once'} in gates.toml."
            )
        else:
            wrong += _weakened(rule, given[rule.id])
        wrong += _badly_placed(rule, walk)
    wrong += _alike(procedure.gates)
    wrong += _missing_acts(walk)
    return wrong


def _wrong_stages(procedure: Procedure) -> list[str]:
    given = tuple(stage.id for stage in procedure.stages)
    if given == STAGE_ORDER:
        return []
    missing = [stage for stage in STAGE_ORDER if stage not in given]
    if missing:
        return [f"stage '{missing[0]}' is missing; the stages are {', '.join(STAGE_ORDER)}, in this order."]
    return [f"the stages are not in their order; it is {', '.join(STAGE_ORDER)}."]


def _wrong_acts(walk: list[_Placed]) -> list[str]:
    wrong = []
    seen: set[str] = set()
    for place in walk:
        act = place.act
        if act.id in seen:
            wrong.append(f"act '{act.id}' stands twice; give each act an id of its own.")
        seen.add(act.id)
        if not place.jobs:
            wrong.append(f"act '{act.id}' can never apply; correct its 'when'.")
        if act.kind == "gate" and act.hazards:
            wrong.append(f"act '{act.id}' is a gate and a hazard at once; put the hazard in an act after it.")
        if act.kind != "gate" and act.gate is not None:
            wrong.append(f"act '{act.id}' names a gate but is a {act.kind}; its kind must be 'gate'.")
        if act.kind == "step":
            wrong += _unflagged(act)
    return wrong


def _unflagged(act: Act) -> list[str]:
    clauses = [
        clause.strip().lower()
        for text in (act.title, act.say)
        for clause in re.split(r"[.;:,]|\bthen\b|\band\b", text)
    ]
    return [
        f"act '{act.id}' says '{clause}' but does not carry the hazard '{hazard}', so no gate would stand before it."
        for hazard, words in TELLTALE.items()
        for clause in clauses
        if hazard not in act.hazards and re.match(words, clause + " ")
    ][:1]


def _weakened(rule: Rule, gate: Gate) -> list[str]:
    wrong = []
    dropped = [reason for reason in rule.rearm if reason not in gate.rearm]
    if dropped:
        wrong.append(f"{rule.name} is weakened: it must be asked again on '{dropped[0].replace('_', ' ')}'.")
    lacking = [need for need in rule.needs if need not in gate.needs]
    if lacking:
        wrong.append(f"{rule.name} is weakened: it must need the readings '{lacking[0].replace('_', ' ')}'.")
    if STAGE_ORDER.index(gate.until) < STAGE_ORDER.index(rule.until):
        wrong.append(
            f"{rule.name} is weakened: its hazard lasts until '{rule.until}', not only until '{gate.until}'."
        )
    if gate.until_hazard not in (None, rule.until_hazard):
        wrong.append(f"{rule.name} is weakened: its hazard does not end with '{gate.until_hazard}'.")
    if any(not caution.strip() for caution in gate.cautions) or not gate.hazard.strip():
        wrong.append(f"{rule.name} is weakened: its hazard and its cautions must be in words.")
    words = gate.sentence.split()
    if not re.fullmatch(r"[a-z]+( [a-z]+)*", gate.sentence):
        wrong.append(
            f"{rule.name}: its sentence '{gate.sentence}' must be small letters and single spaces only."
        )
    if len(words) < LEAST_WORDS or len(set(words)) < LEAST_WORDS - 1:
        wrong.append(
            f"{rule.name} is weakened: its sentence '{gate.sentence}' has fewer than {LEAST_WORDS} words."
        )
    for group in rule.words:
        if not set(group) & set(words):
            wrong.append(
                f"{rule.name} is weakened: its sentence must repeat the act ('{group[0]}'), not '{gate.sentence}'."
            )
    return wrong


def _alike(gates: tuple[Gate, ...]) -> list[str]:
    wrong = []
    for one, other in itertools.combinations(gates, 2):
        if one.id != other.id and (
            f" {one.sentence} " in f" {other.sentence} " or f" {other.sentence} " in f" {one.sentence} "
        ):
            wrong.append(
                f"{BY_ID[one.id].name} and {BY_ID[other.id].name} share the sentence '{one.sentence}'; each needs its own."
            )
    return wrong


def _badly_placed(rule: Rule, walk: list[_Placed]) -> list[str]:
    """Sentences about hazards and stages that can be reached without the gate."""
    where = _jobs(rule.kinds, rule.only)
    if rule.each:
        return _not_each(rule, walk, where)
    wrong = []
    asked = 0  # the jobs in which the gate has been asked so far
    for place in walk:
        if place.act.kind == "gate":
            if place.act.gate == rule.id:
                if asked & place.jobs:
                    wrong.append(
                        f"{rule.name} is asked twice, the second time in act '{place.act.id}'; ask it once."
                    )
                asked |= place.jobs
            continue
        open_in = place.jobs & where & ~asked
        if open_in and (place.stage in rule.stages or set(place.act.hazards) & set(rule.hazards)):
            wrong.append(
                f"{rule.name} must stand before act '{place.act.id}'; it does not with {_an_example(open_in)}."
            )
            break
    if not wrong and where & ~asked:
        wrong.append(f"{rule.name} is never asked with {_an_example(where & ~asked)}.")
    return wrong + _too_early(rule, walk, where)


def _too_early(rule: Rule, walk: list[_Placed], where: int) -> list[str]:
    for need in rule.after:
        done = 0
        from_cooling = need.kind == "reading" and need in COLD_INSIDE
        cooled = 0
        for place in walk:
            if place.act.kind == "timer" and place.act.timer == "cool":
                cooled |= place.jobs
            if need.met_by(place.act):
                done |= place.jobs & cooled if from_cooling else place.jobs
            if place.act.gate == rule.id:
                lacking = place.jobs & where & ~done & (_jobs_where(*need.only) if need.only else _all_jobs())
                if lacking:
                    late = " after the cooling began" if from_cooling else ""
                    return [f"{rule.name} must come after the {need.kind} '{need.what}'{late}; it does not."]
    return []


def _not_each(rule: Rule, walk: list[_Placed], where: int) -> list[str]:
    for index, place in enumerate(walk):
        if not set(place.act.hazards) & set(rule.hazards):
            continue
        open_in = place.jobs & where
        for before in reversed(walk[:index]):
            if before.act.gate == rule.id:
                open_in &= ~before.jobs
            elif open_in & before.jobs and not _may_stand_between(before.act):
                break
            if not open_in:
                break
        if open_in:
            return [
                f"{rule.name} must stand directly before act '{place.act.id}'; it does not with {_an_example(open_in)}."
            ]
    return []


def _may_stand_between(act: Act) -> bool:
    """Another gate of the same hazardous act: hot gloves and a lift together before one handling."""
    return act.kind == "gate"


def _missing_acts(walk: list[_Placed]) -> list[str]:
    wrong = []
    for must in MUSTS:
        where = _jobs(must.kinds, must.only)
        found = [
            place.jobs
            for place in walk
            if place.stage == must.stage
            and (must.need.met_by(place.act) if must.need is not None else must.hazard in place.act.hazards)
        ]
        short = _in_fewer_than(must.count, found, where)
        if short:
            wrong.append(
                f"stage '{must.stage}' must have {must.words}; it does not with {_an_example(short)}."
            )
    return wrong


def _in_fewer_than(count: int, found: list[int], where: int) -> int:
    """The jobs of `where` that are in fewer than `count` of the sets."""
    at_least = [where] + [0] * count  # at_least[n]: the jobs found n times or more
    for jobs in found:
        for n in range(count, 0, -1):
            at_least[n] |= at_least[n - 1] & jobs
    return where & ~at_least[count]
