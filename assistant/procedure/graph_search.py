"""Searches a procedure's graph through: every state that any job can come to, each way on held to the gate table.

What is looked for: an act done without its gates; a gate asked before what its sentence speaks of; an act done
again without the fresh gate that each such act needs; a gate that stays closed although the session was taken up
again, or another person took over, while its hazard is there; a state with no way on, none to the end of the
job, or none to a place where the session can be stopped with nothing left behind in the press.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from assistant.procedure.gate_table import BY_ID, RULES, Rule
from assistant.procedure.graph import DONE, ENDS, Graph
from assistant.procedure.model import STAGE_ORDER, Rearm


@dataclass
class Searched:
    """What a search has come to. jobs: combinations that share this graph; wrong: a sentence each."""

    jobs: int
    states: int = 0
    edges: int = 0
    wrong: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Search:
    """account: what was found; reached: every state."""

    account: Searched
    reached: frozenset[int]


def search(graph: Graph, jobs: int = 1) -> Search:
    """Every state that can be reached, each way held to the gate table. jobs: combinations that share the graph."""
    found, start = Searched(jobs), 0
    seen, todo = {start}, [start]
    before: dict[int, list[int]] = {}
    guards = _guards(graph)
    wrong: dict[str, None] = {}
    while todo:
        state = todo.pop()
        ways = list(graph.ways(state))
        if len(ways) < 2:
            wrong[f"There is no way on at {_at(graph, state)}."] = None
        for name, after in ways:
            found.edges += 1
            before.setdefault(after, []).append(state)
            for sentence in _breaks(graph, guards, state, name, after):
                wrong[sentence] = None
            if after not in seen:
                seen.add(after)
                if after not in ENDS:
                    todo.append(after)
    found.states = len(seen)
    safe = {s for s in seen if s not in ENDS and graph.nothing_left_behind(s >> 1)}
    for what, ends in (("the end of the job", {DONE}), ("a safe place to stop", safe)):
        stuck = seen - set(ENDS) - _leading_to(ends, before)
        if stuck:
            wrong[f"From {_at(graph, min(stuck))} no way leads to {what}."] = None
    found.wrong = list(wrong)
    return Search(found, frozenset(seen))


def _leading_to(ends: set[int], before: dict[int, list[int]]) -> set[int]:
    found, todo = set(ends), list(ends)
    while todo:
        for state in before.get(todo.pop(), ()):
            if state not in found:
                found.add(state)
                todo.append(state)
    return found


@dataclass(frozen=True)
class _Guard:
    """What must be closed when a node is done: one of `first` and all of `every`; `each`: those asked for it alone."""

    rule: Rule
    every: int
    each: int


def _due(graph: Graph, place: int) -> list[Rule]:
    """The gates that must be closed when the node at `place` is done, by `gate_table`."""
    node, found = graph.nodes[place], []
    for rule in RULES:
        exposes = any(set(act.hazards) & set(rule.hazards) for act in node.acts)
        kind = graph.job["job_kind"] in rule.kinds and node.stage in rule.stages
        only = rule.only is None or graph.job[rule.only[0]] == rule.only[1]
        if only and (exposes or kind):
            found.append(rule)
    return found


def _guards(graph: Graph) -> list[list[_Guard]]:
    """For each node what guards it, as the gate table wants it."""
    found = []
    for place, node in enumerate(graph.nodes):
        before = (1 << place) - 1
        here = []
        for rule in _due(graph, place) if node.gate is None else ():
            every, each = graph.gates[rule.id] & before, 0
            if rule.each:
                n = place
                while n and graph.nodes[n - 1].gate is not None:
                    n -= 1
                    each |= 1 << n if graph.nodes[n].gate == rule.id else 0
                every = each
            here.append(_Guard(rule, every, each))
        found.append(here)
    return found


def _breaks(graph: Graph, guards: list[list[_Guard]], state: int, name: str, after: int) -> Iterator[str]:
    """What is wrong with one way, in sentences."""
    if after in ENDS:
        return
    done, then = state >> 1, after >> 1
    what, _, which = name.partition(" ")
    if what == "do":
        for guard in guards[int(which)]:
            if not guard.every or guard.every & ~done:
                yield f"'{graph.nodes[int(which)].name}' is done without {guard.rule.name}."
        return
    if what == "sentence":
        yield from _too_early(graph, int(which), done)
        return
    gone = done & ~then
    while gone:
        place = (gone & -gone).bit_length() - 1
        gone &= gone - 1
        for guard in guards[place]:
            if guard.each & then:
                yield f"'{graph.nodes[place].name}' is done again after '{name}' without a fresh {guard.rule.name}."
    reason: Rearm | None = "resume" if name == "taken up again" else "person" if name == "hand-over" else None
    place = graph.here(done)
    if reason is not None and place < len(graph.nodes):
        stage = graph.come_to(done)
        for rule in RULES:
            ended = rule.until_hazard is not None and graph.hazardous[rule.until_hazard] & done
            there = stage <= STAGE_ORDER.index(rule.until) and not ended
            if reason in rule.rearm and there and graph.gates[rule.id] & then:
                yield f"{rule.name} stays closed after '{name}' at '{graph.nodes[place].name}'."


def _too_early(graph: Graph, place: int, done: int) -> Iterator[str]:
    gate = graph.nodes[place].gate
    assert gate is not None
    for need in BY_ID[gate].after:
        if need.only is not None and graph.job[need.only[0]] != need.only[1]:
            continue
        standing = graph.those(need.met_by) & ((1 << place) - 1)
        last = 1 << standing.bit_length() >> 1  # the nearest before the gate is what its sentence speaks of
        if not last & done:
            yield f"{BY_ID[gate].name} is asked before the {need.kind} '{need.what}' is done."


def _at(graph: Graph, state: int) -> str:
    place = graph.here(state >> 1)
    return f"'{graph.nodes[place].name}'" if place < len(graph.nodes) else "the end"
