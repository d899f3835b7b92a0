"""A procedure as data: stages, acts, gates. Loaded from TOML; `mandatory` checks that no gate is missing."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from assistant.bench.strict import Strict

Trait = Literal[
    "job_kind",  # "shop" | "conveyor"
    "guided",  # true | false
    "notched",
    "halves",  # "hinged" | "loose"
    "inner_lead",
    "cooling",  # "none" | "fan" | "air" | "water"
    "supply_until_vented",
    "heavy",  # a part over 15 kg
    "new_pair",
    "preheat",
    "asymmetric",  # upper and lower set temperatures differ
]

Stage_id = Literal[
    "job", "joint", "recipe", "safe", "thread", "cut", "ends", "layup", "close", "set", "run",
    "release", "isolate", "unfasten", "inspect", "decide", "return", "keep",
]  # fmt: skip
STAGE_ORDER: tuple[Stage_id, ...] = (
    "job", "joint", "recipe", "safe", "thread", "cut", "ends", "layup", "close", "set", "run",
    "release", "isolate", "unfasten", "inspect", "decide", "return", "keep",
)  # fmt: skip

GateId = Literal[
    "conveyor_dead", "energy_released", "workplace_fit", "blade", "lifting", "leads_sound", "closed",
    "values_agree", "cold_inside", "dead_and_empty", "hot_parts", "guards", "own_lock",
]  # fmt: skip

Rearm = Literal[
    "person", "resume", "back", "each", "unfastened", "value_changed", "hotter_reading", "reconnect"
]
Hazard = Literal[
    "blade",
    "lift",
    "hot_handling",
    "air_or_heat",
    "connect",
    "vent",
    "unfasten",
    "start",
    "first_run",
    "locks_off",
]


class Gate(Strict):
    """A question with a named hazard. Only its own sentence closes it."""

    id: GateId
    hazard: str = Field(min_length=5)
    cautions: tuple[str, ...] = Field(min_length=1)
    sentence: str = Field(min_length=12)  # whole sentence of common words, lower case, no punctuation
    rearm: tuple[Rearm, ...]
    needs: tuple[Literal["cold_inside", "dead_and_empty"], ...] = ()  # readings that must stand first
    until: Stage_id  # the hazard is gone when this stage is left: no re-arming after it
    until_hazard: Hazard | None = (
        None  # or, sooner, once an act with this hazard is done: 'start' for 'closed'
    )


class Act(Strict):
    """One thing to do or say.

    step: an instruction; done by 'done' or the pedal.
    gate: `gate` names the gate that must be closed here.
    ask: the value of `slot` is asked for, unless it is known already.
    tell: `topic` is computed and said; agreed to with 'that is correct' or 'done'.
    agree: the recipe's value of `slot` is said with its reason; confirmed or corrected.
    set: the value of `slot` is set on the press and read back from its display.
    reading: a reading of `slot` is asked for (temperature of a platen, gauge, cycle time).
    timer: `timer` runs; ends by itself ('preheat', 'dwell') or when told ('ramp', 'cool').
    look / measure: an inspection item `slot`; judged.
    decide: accept, accept with a note, cut out and redo.
    keep: a name for the recipe, or 'do not keep it'.
    """

    id: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    kind: Literal[
        "step", "gate", "ask", "tell", "agree", "set", "reading", "timer", "look", "measure", "decide", "keep"
    ]
    title: str = Field(min_length=2, max_length=40)  # in large letters: three to five words
    say: str = Field(min_length=2)  # one short sentence; {slot} is filled in
    how: str = ""  # for the trainee
    why: str = ""
    cautions: tuple[str, ...] = ()
    when: dict[Trait, str | bool] = {}
    hazards: tuple[Hazard, ...] = ()  # what this act exposes the person to; a gate must stand before it
    gate: GateId | None = None
    slot: str | None = None
    topic: Literal["job", "fit", "recipe", "cut", "supply", "tension", "trial"] | None = None
    timer: Literal["preheat", "ramp", "dwell", "cool"] | None = None
    marks: Literal["heat_on", "cool_on", "vented"] | None = (
        None  # a step whose 'done' starts that part of the run
    )

    @model_validator(mode="after")
    def _has_what_its_kind_needs(self) -> Self:
        need = {
            "gate": "gate", "ask": "slot", "agree": "slot", "set": "slot", "reading": "slot", "look": "slot",
            "measure": "slot", "tell": "topic", "timer": "timer",
        }.get(self.kind)  # fmt: skip
        if need is not None and getattr(self, need) is None:
            raise ValueError(f"act '{self.id}' is a {self.kind} and needs '{need}'")
        if self.kind not in ("step", "timer") and not self.why:
            raise ValueError(f"act '{self.id}' needs a 'why'")
        return self


class Stage(Strict):
    id: Stage_id
    title: str = Field(min_length=2, max_length=24)
    acts: tuple[Act, ...]


class Procedure(Strict):
    schema_version: Literal[1] = 1
    key: str
    name: str
    source: str = Field(min_length=4)
    gates: tuple[Gate, ...]
    stages: tuple[Stage, ...]

    def gate(self, gate: GateId) -> Gate:
        """The gate's data. Raises: KeyError, which a loaded procedure never does."""
        for candidate in self.gates:
            if candidate.id == gate:
                return candidate
        raise KeyError(gate)
