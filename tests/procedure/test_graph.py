"""The procedure's graph: searched whole, nothing gets past a gate and nothing is stuck; spoilt ones are found out."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from functools import cache
from pathlib import Path

import at_the_press as press
import edited_procedure as edited
import pytest
from gate_walk import Walk

from assistant.procedure.graph import CUT_OUT, DONE, STOPPED, Graph, graphs_of
from assistant.procedure.graph_search import search
from assistant.procedure.job_sets import combinations
from assistant.procedure.load import load_procedure
from assistant.procedure.model import Procedure

CONVEYOR = {
    "job_kind": "conveyor", "guided": True, "notched": True, "halves": "loose", "inner_lead": True, "cooling": "water",
    "supply_until_vented": True, "heavy": True, "new_pair": True, "preheat": True, "asymmetric": True,
}  # fmt: skip


@cache
def graphs() -> list[tuple[Graph, int]]:
    return graphs_of(load_procedure().procedure)


def wrong_with(data: dict) -> list[str]:
    """What the search of the richest job finds in an edited procedure."""
    return search(Graph(Procedure.model_validate(data), dict(CONVEYOR))).account.wrong  # type: ignore[arg-type]


@pytest.mark.slow
def test_every_combination_of_traits_has_its_graph() -> None:
    assert sum(sharing for _, sharing in graphs()) == len(combinations())


@pytest.mark.slow
@pytest.mark.timeout(900)
def test_no_state_of_any_job_is_past_an_open_gate_or_stuck() -> None:
    """By the program's own command, in a process of its own, which is many times quicker where tests are traced."""
    plain = {name: value for name, value in os.environ.items() if not name.startswith("COV")}
    done = subprocess.run(
        [sys.executable, "-m", "tui.main", "procedure", "--check", "--json"],
        cwd=Path(__file__).parents[2], env=plain, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    found = json.loads(done.stdout)
    assert found["wrong"] == []
    assert found["combinations"] == len(combinations())


@pytest.mark.slow
def test_no_state_of_a_sample_of_jobs_is_past_an_open_gate_or_stuck() -> None:
    for graph, sharing in random.Random(5).sample(graphs(), 12):
        found = search(graph, sharing)
        assert found.account.wrong == [], graph.job
        assert {DONE, CUT_OUT, STOPPED} <= found.reached
        assert found.account.edges > 5 * found.account.states  # class: regression -- about six ways from each


@pytest.mark.slow
@pytest.mark.parametrize(
    ("gate", "guarded"),
    [
        ("conveyor_dead", "thread_new"), ("workplace_fit", "cut_first"), ("leads_sound", "connect_supply"), ("closed", "air_on"),
        ("values_agree", "heat_full"), ("cold_inside", "vent"), ("dead_and_empty", "unfasten"), ("guards", "locks_off"),
        ("own_lock", "first_run"),
    ],
)  # fmt: skip
def test_a_gate_behind_what_it_guards_is_found_by_the_search(gate: str, guarded: str) -> None:
    data = edited.packaged()
    edited.move_after(data, edited.gate_acts(data, gate)[0], guarded)
    assert any(f"without gate '{gate.replace('_', ' ')}'" in sentence for sentence in wrong_with(data))


@pytest.mark.slow
@pytest.mark.parametrize("gate", ["blade", "lifting", "hot_parts"])
def test_one_asking_less_of_a_gate_for_each_time_is_found_by_the_search(gate: str) -> None:
    for act in edited.gate_acts(edited.packaged(), gate):
        data = edited.packaged()
        edited.keep_acts(data, lambda a, gone=act["id"]: a["id"] != gone)
        assert any(f"gate '{gate.replace('_', ' ')}'" in sentence for sentence in wrong_with(data)), act["id"]


@pytest.mark.parametrize(
    ("gate", "reason", "what"),
    [
        ("conveyor_dead", "resume", "taken up again"), ("energy_released", "person", "hand-over"),
        ("workplace_fit", "person", "hand-over"), ("leads_sound", "resume", "taken up again"),
        ("closed", "resume", "taken up again"), ("cold_inside", "resume", "taken up again"),
        ("dead_and_empty", "resume", "taken up again"), ("guards", "person", "hand-over"), ("own_lock", "person", "hand-over"),
    ],
)  # fmt: skip
def test_a_gate_that_would_stay_closed_is_found_by_the_search(gate: str, reason: str, what: str) -> None:
    data = edited.packaged()
    one = edited.gate(data, gate)
    one["rearm"] = [r for r in one["rearm"] if r != reason]
    assert any(
        f"gate '{gate.replace('_', ' ')}' stays closed after '{what}'" in sentence
        for sentence in wrong_with(data)
    )


def test_a_gate_asked_before_what_its_sentence_speaks_of_is_found_by_the_search() -> None:
    data = edited.packaged()
    edited.move_after(data, edited.act(data, "plug_out"), "gate_dead_and_empty")
    assert any("asked before the step 'plug_out'" in sentence for sentence in wrong_with(data))


def test_each_time_gates_are_fresh_after_going_back() -> None:
    data = edited.packaged()
    for one in data["gates"]:
        if one["id"] == "blade":
            one["rearm"] = []
    assert any("without a fresh gate 'blade'" in sentence for sentence in wrong_with(data))


# -- the graph is what the program does


def graph_of(walk: Walk) -> Graph:
    traits = dict(walk.model.traits)
    traits["preheat"] = "preheat_temperature" in walk.model.recipe
    traits["asymmetric"] = walk.model.recipe.get("upper_temperature") != walk.model.recipe.get(
        "lower_temperature"
    )
    return Graph(load_procedure().procedure, traits)  # type: ignore[arg-type]


@cache
def reached(job: tuple[tuple[str, str | bool], ...]) -> frozenset[int]:
    return search(Graph(load_procedure().procedure, dict(job))).reached  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(6))
def test_a_real_session_opens_no_less_than_its_graph_when_taken_up_or_handed_over(
    seed: int, tmp_path: Path
) -> None:
    """The graph's own ways 'taken up again' and 'hand-over', against the program at random moments of real jobs."""
    draw = random.Random(seed)
    job = sorted(press.JOBS)[seed % 3]
    ends = press.ends(job)
    for _ in range(4):
        walk = Walk(tmp_path / f"{draw.random()}.jsonl")
        walk.begin(job, draw.randrange(len(ends)))
        graph = graph_of(walk)
        if walk.model.recipe and not_within_a_node(graph, walk.model.done):
            before = bits_of(graph, walk.model.done)
            walk.power_cut(1.0, restarted=False)
            assert bits_of(graph, walk.model.done) == graph.opened(before, "resume")
            before, handed = bits_of(graph, walk.model.done), walk.model.taken_over
            walk.say("hand over to anna", aloud=False, confirmed=True)
            if walk.model.taken_over > handed:
                assert bits_of(graph, walk.model.done) == graph.opened(before, "person")
        walk.end()


def not_within_a_node(graph: Graph, done: set[str]) -> bool:
    return all(len({act.id in done for act in node.acts}) == 1 for node in graph.nodes)


def bits_of(graph: Graph, done: set[str]) -> int:
    """The nodes of which every act is done."""
    return sum(1 << n for n, node in enumerate(graph.nodes) if all(act.id in done for act in node.acts))


@pytest.mark.parametrize("job", sorted(press.JOBS))
def test_every_state_of_a_whole_recorded_job_is_in_its_graph(job: str, tmp_path: Path) -> None:
    walk = Walk(tmp_path / "log.jsonl")
    walk.begin(job, len(press.ends(job)) - 1)
    graph = graph_of(walk)
    states = reached(tuple(graph.job.items()))
    done: set[str] = set()
    for raw, _, _ in press.recorded(job):
        event = json.loads(raw)["event"]
        if event["kind"] in ("act_done", "gate_closed"):
            done.add(event["act"])
            assert 2 * bits_of(graph, done) in states, f"after {event['act']}"
        elif event["kind"] in ("went_back", "gate_rearmed"):
            done -= set(event.get("acts", ())) | {event.get("act", "")}
    walk.end()
