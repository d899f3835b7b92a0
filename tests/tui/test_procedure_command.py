"""`loopwright procedure`: every act and gate is printed, as outline, graph and JSON, and the search tells its size."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from assistant.procedure.load import load_procedure
from tui.main import main


def printed(*arguments: str) -> str:
    found = CliRunner().invoke(main, ["procedure", *arguments])
    assert found.exit_code == 0, found.output
    return found.output


def test_the_outline_names_every_act_and_what_arms_every_gate_again() -> None:
    text, procedure = printed(), load_procedure().procedure
    for stage in procedure.stages:
        assert stage.title in text
        for act in stage.acts:
            assert act.title in text
    for gate in procedure.gates:
        assert f'closed by "{gate.sentence}"' in text
    assert "asked again when: a hotter reading, the session is taken up again" in text


def test_traits_leave_only_the_acts_of_such_jobs() -> None:
    shop = json.loads(printed("--json", "--traits", "job_kind=shop", "--traits", "cooling=fan"))
    acts = {act["id"] for stage in shop["stages"] for act in stage["acts"]}
    assert "cooling_fan" in acts
    assert not acts & {"cooling_water", "old_belt_out", "gate_conveyor_dead"}


def test_the_graph_is_one_chain_of_all_acts_with_a_dashed_line_for_each_gate() -> None:
    lines = printed("--graph").splitlines()
    acts = [act for stage in load_procedure().procedure.stages for act in stage.acts]
    assert lines[0] == 'digraph "splice" {'
    assert lines[-1] == "}"
    assert sum(" -> " in line and "dashed" not in line for line in lines) == len(acts) - 1
    assert sum("dashed" in line for line in lines) == sum(act.gate is not None for act in acts)
    assert all(line.count('"') % 2 == 0 for line in lines)


@pytest.mark.slow
def test_the_search_of_a_few_jobs_tells_states_and_edges_and_finds_nothing() -> None:
    traits = [f"--traits={t}" for t in ("job_kind=conveyor", "halves=loose", "inner_lead=true", "cooling=water",
              "supply_until_vented=true", "heavy=true", "guided=true")]  # fmt: skip
    found = json.loads(printed("--check", "--json", *traits))
    assert found["wrong"] == []
    assert (
        found["edges"] > found["states"] > 1000 * found["graphs"]
    )  # class: regression -- about 2000 a graph


@pytest.mark.parametrize(
    "arguments", [["--traits", "cooling=steam"], ["--traits", "mood=good"], ["--graph", "--json"]]
)
def test_what_there_is_not_is_refused_in_a_sentence(arguments: list[str]) -> None:
    found = CliRunner().invoke(main, ["procedure", *arguments])
    assert found.exit_code == 2
    assert "Traceback" not in found.output


def test_a_works_procedure_that_drops_a_gate_is_refused_by_name(tmp_path: Path) -> None:
    gates = (Path(load_procedure.__code__.co_filename).parent / "data/splice/gates.toml").read_text("utf-8")
    (tmp_path / "gates.toml").write_text(gates.replace('id = "guards"', 'id = "own_lock"'), "utf-8")
    found = CliRunner().invoke(main, ["procedure", str(tmp_path)])
    assert found.exit_code == 2
    assert "gate 'guards' is missing" in " ".join(found.output.split())
