"""The procedure as a graph: every state that a job can come to, every way from one to the next, searched exhaustively.

A state is what has been done, which gates are open, and whether the session is held: a set of nodes and one mark.
A node is an act; acts side by side that no gate rests on and that expose to nothing are one node, because they
cannot be told apart by any rule. Where a job stands follows from it: at the first node that is not done, as
`rules.current` has it. Three states are ends: the joint accepted, cut out, and the session stopped.

The ways are what the program does to the acts that are done: an act done, a gate's sentence, taking up again,
handing over, going back, a value or the sheet changed, a hotter reading, pressure in the gauge, a cycle broken
off (heated again, closed again, or cooled at once), holding and going on, stopping. `graph_search` follows all of
them from the beginning, for every combination of traits that differs in a node, and holds each to `gate_table`.
It is no part of starting up: `loopwright procedure --check` and the tests run it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import get_args

from assistant.procedure.gate_table import RULES
from assistant.procedure.job_sets import combinations
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

Traits = dict[Trait, str | bool]
DONE, CUT_OUT, STOPPED = -1, -2, -3  # ends; every other state is 2 * (bits of nodes done) + (1 if held)
ENDS = (DONE, CUT_OUT, STOPPED)
_NEEDS = tuple(need for rule in RULES for need in (*rule.after, *filter(None, (rule.since,))))
_TEMPERATURES = ("upper_reading", "lower_reading", "edge_reading")


@dataclass(frozen=True)
class Node:
    """One act, or several side by side that no rule tells apart."""

    stage: Stage_id
    acts: tuple[Act, ...]

    @property
    def act(self) -> Act:
        return self.acts[0]

    @property
    def gate(self) -> GateId | None:
        return self.act.gate

    @property
    def name(self) -> str:
        return self.act.id if len(self.acts) == 1 else f"{self.act.id} to {self.acts[-1].id}"


def _tells(act: Act) -> bool:
    """Whether some rule tells this act from its neighbours."""
    return (
        act.kind in ("gate", "set", "reading", "timer", "decide")
        or bool(act.hazards or act.marks)
        or act.slot == "vent_heard"
        or any(need.met_by(act) for need in _NEEDS)
    )


def _exposes(hazard: Hazard, act: Act) -> bool:
    return hazard in act.hazards


def _marks(mark: str, act: Act) -> bool:
    return act.marks == mark


def _asks(gate: GateId, act: Act) -> bool:
    return act.gate == gate


def applies_to(act: Act, job: Traits) -> bool:
    return all(job[trait] == value for trait, value in act.when.items())


def nodes_of(procedure: Procedure, job: Traits) -> tuple[Node, ...]:
    """The acts of one job in their order, those that nothing tells apart joined."""
    nodes: list[Node] = []
    for stage in procedure.stages:
        for act in stage.acts:
            if not applies_to(act, job):
                continue
            last = nodes[-1] if nodes else None
            joins = last is not None and last.stage == stage.id and not _tells(act) and not _tells(last.act)
            same_kind = last is not None and (last.act.kind in ("tell", "agree")) == (
                act.kind in ("tell", "agree")
            )
            if last is not None and joins and same_kind:
                nodes[-1] = Node(stage.id, (*last.acts, act))
            else:
                nodes.append(Node(stage.id, (act,)))
    return tuple(nodes)


@dataclass
class Graph:
    """The graph of one job. Bits of nodes: the first act has the lowest."""

    procedure: Procedure
    job: Traits
    nodes: tuple[Node, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.nodes = nodes_of(self.procedure, self.job)
        self.whole = (1 << len(self.nodes)) - 1

    # -- sets of nodes

    def those(self, pick: Callable[[Act], bool]) -> int:
        return sum(1 << n for n, node in enumerate(self.nodes) if any(pick(act) for act in node.acts))

    @cached_property
    def hazardous(self) -> dict[str, int]:
        """By hazard, the nodes that expose to it."""
        return {hazard: self.those(partial(_exposes, hazard)) for hazard in get_args(Hazard)}

    @cached_property
    def marked(self) -> dict[str, int]:
        """By mark of the run, the nodes that make it."""
        return {mark: self.those(partial(_marks, mark)) for mark in ("heat_on", "cool_on", "vented")}

    @cached_property
    def gates(self) -> dict[str, int]:
        """By gate, the nodes that ask it."""
        return {gate: self.those(partial(_asks, gate)) for gate in get_args(GateId)}

    @cached_property
    def _heard(self) -> int:
        return self.those(lambda act: act.slot == "vent_heard")

    @cached_property
    def _plug_out(self) -> int:
        return self.those(lambda act: act.id == "plug_out")

    @cached_property
    def _gate_data(self) -> list[tuple[int, Gate, int]]:
        """Place, data and place in the order of stages of what each gate node's hazard lasts until."""
        asked = [(n, node.gate) for n, node in enumerate(self.nodes) if node.gate is not None]
        data = [(n, self.procedure.gate(gate)) for n, gate in asked]
        return [(n, gate, STAGE_ORDER.index(gate.until)) for n, gate in data]

    @cached_property
    def stage_places(self) -> list[int]:
        return [STAGE_ORDER.index(node.stage) for node in self.nodes]

    def in_stages(self, *stages: Stage_id) -> int:
        return sum(1 << n for n, node in enumerate(self.nodes) if node.stage in stages)

    @cached_property
    def _every_gate(self) -> int:
        return self.those(lambda act: act.gate is not None)

    @cached_property
    def _sets(self) -> int:
        return self.those(lambda act: act.kind == "set")

    @cached_property
    def _worked_out(self) -> int:
        return self._from("joint") & self.those(lambda act: act.kind in ("tell", "agree", "set"))

    @cached_property
    def _compared(self) -> int:
        return self._rearmed_by("value_changed")

    def _rearmed_by(self, reason: Rearm) -> int:
        return self.those(lambda act: act.gate is not None and reason in self.procedure.gate(act.gate).rearm)

    def _from(self, stage: Stage_id) -> int:
        place = STAGE_ORDER.index(stage)
        return sum(1 << n for n, node in enumerate(self.nodes) if STAGE_ORDER.index(node.stage) >= place)

    @cached_property
    def _from_ramp(self) -> int:
        first = self.those(lambda act: act.timer == "ramp")
        return self.in_stages("run", "release") & ~(first - 1)

    @cached_property
    def _left_of_the_heating(self) -> int:
        return self.those(lambda act: act.timer in ("ramp", "dwell")) | (
            self.in_stages("run")
            & self.those(lambda act: act.kind == "reading" and act.slot in _TEMPERATURES)
        )

    @cached_property
    def _dwell_again(self) -> int:
        return self.those(
            lambda act: (
                act.timer in ("ramp", "dwell") or (act.kind == "reading" and act.slot in _TEMPERATURES)
            )
        )

    @cached_property
    def _from_joint(self) -> int:
        return self._from("joint")

    @cached_property
    def _closing(self) -> int:
        """The acts up to the gate 'closed' in its stage, and the whole run."""
        last = self.gates["closed"]
        return (self.in_stages("close") & (2 * last - 1)) | self.in_stages("run", "release")

    # -- one state

    def here(self, done: int) -> int:
        """The place of the first node that is not done; the number of nodes at the end."""
        missing = ~done & self.whole
        return (missing & -missing).bit_length() - 1 if missing else len(self.nodes)

    def come_to(self, done: int) -> int:
        """The stage that the job has come to: of what is to be done next, whichever gates before it are open again."""
        to_do = (n for n, node in enumerate(self.nodes) if node.gate is None and not done >> n & 1)
        return self.stage_places[next(to_do, -1)]

    def opened(self, done: int, reason: Rearm) -> int:
        """What is done after every closed gate that `reason` re-arms, and whose hazard is there, is open again."""
        if self.here(done) == len(self.nodes):
            return done
        stage, stood = self.come_to(done), done
        for n, gate, until in self._gate_data:
            if not done >> n & 1:
                continue
            ended = gate.until_hazard is not None and bool(self.hazardous[gate.until_hazard] & stood)
            there = stage <= until and not ended
            if (reason in gate.rearm and there) or not done >> self._ahead[n] & 1:
                done &= ~(1 << n)
        return done

    @cached_property
    def _ahead(self) -> list[int]:
        """For each node the next one that is no gate."""
        ahead, after = [], len(self.nodes)
        for n in reversed(range(len(self.nodes))):
            ahead.append(after)
            after = n if self.nodes[n].gate is None else after
        return ahead[::-1]

    def back(self, done: int) -> int | None:
        """One step back from `done`: the last act done, with the gates that guard it. None: it cannot be taken back."""
        target = next(
            (
                n for n in reversed(range(len(self.nodes)))
                if done >> n & 1 and self.nodes[n].act.kind not in ("gate", "timer")
            ), None,
        )  # fmt: skip
        if target is None or self.nodes[target].act.marks or self.nodes[target].act.kind == "decide":
            return None
        again = 1 << target | (self._every_gate & ~((1 << target) - 1))
        for n in reversed(range(target)):
            gate = self.nodes[n].gate
            if gate is None:
                break
            if {"back", "each"} & set(self.procedure.gate(gate).rearm):
                again |= 1 << n
        return done & ~again

    def ways(self, state: int) -> Iterator[tuple[str, int]]:
        """Every way on from a state that is no end: what happens, and the state after it."""
        done, held = state >> 1, state & 1
        yield "the session is stopped", STOPPED
        yield "taken up again", 2 * self.opened(done, "resume") + held
        if held:
            yield "go on", 2 * done
            return
        yield "hold", 2 * done + 1
        for name, after in self._changes(done):
            yield name, 2 * after
        yield from self._forward(done)

    def _forward(self, done: int) -> Iterator[tuple[str, int]]:
        place = self.here(done)
        if place == len(self.nodes):
            yield "the session is closed", DONE
            return
        node = self.nodes[place]
        if node.act.kind == "decide":
            yield "cut out and redo", CUT_OUT
        yield f"{'sentence' if node.gate else 'do'} {place}", 2 * (done | 1 << place)

    def _changes(self, done: int) -> Iterator[tuple[str, int]]:
        """What opens something again, or is done because the cycle was broken off."""
        place = self.here(done)
        yield "hand-over", self.opened(done, "person")
        if (after := self.back(done)) is not None:
            yield "back", after
        guarding = place
        while guarding and self.nodes[guarding - 1].gate is not None:
            guarding -= 1
            yield "not meant", done & ~(1 << guarding)
        heat, vented = bool(done & self.marked["heat_on"]), bool(done & self.marked["vented"])
        if not heat:
            yield "a value changed", done & ~self._sets & ~self._compared
            yield "the sheet changed", done & ~self._worked_out & ~self._compared
            yield "another belt or press", done & ~self._from_joint
        if heat and not vented:
            if not done & self.marked["cool_on"]:
                yield "too cold in the dwell", done & ~self._dwell_again
                yield "cooled at once", done | self._left_of_the_heating
            else:
                yield "a hotter reading", done & ~self.gates["cold_inside"]
            yield "heated again", done & ~self._from_ramp
            yield "opened early", done & ~self._closing
        if vented and place < len(self.nodes):
            unfastened = self.stage_places[place] > STAGE_ORDER.index("unfasten")
            if not unfastened:
                yield "the gauge shows pressure", done & ~self.gates["dead_and_empty"]
                yield "the vent was not heard", done & ~self.gates["dead_and_empty"] & ~self._heard
            if self.stage_places[place] >= STAGE_ORDER.index("isolate") and not unfastened:
                yield "connected again", self.opened(done, "reconnect") & ~self.in_stages("isolate")

    def nothing_left_behind(self, done: int) -> bool:
        """No heat and no pressure in the press, and it is off its supply: it can be left as it is."""
        plugged = done & self.hazardous["connect"] and not done & self._plug_out
        pressed = done & self.hazardous["air_or_heat"] and not done & self.marked["vented"]
        return not plugged and not pressed


def graphs_of(procedure: Procedure, wanted: Traits | None = None) -> list[tuple[Graph, int]]:
    """A graph for every set of combinations of traits that share one, and how many share it. wanted: only jobs with these."""
    found: dict[tuple[object, ...], tuple[Graph, int]] = {}
    for job in combinations():
        if not (wanted or {}).items() <= job.items():
            continue
        graph = Graph(procedure, job)
        only = tuple(job[rule.only[0]] for rule in RULES if rule.only)
        key = (job["job_kind"], only, tuple((n.stage, n.act.kind, n.act.gate, n.act.hazards, n.act.slot) + (
            (n.act.id,) if _tells(n.act) else ()) for n in graph.nodes))  # fmt: skip
        first, count = found.get(key, (graph, 0))
        found[key] = (first, count + 1)
    return list(found.values())
