"""Which past sessions teach, and which are left out and why."""

from __future__ import annotations

from pathlib import Path

from past_sessions import CATALOGUE, job_named, run_on, write_run

from assistant.bench.catalogue import PACKAGED
from assistant.practice.press import hidden
from assistant.review.past_runs import past_runs

SHEET = PACKAGED / "jobs" / "flat_in_the_shop.toml"
RUN = run_on(job_named("flat_in_the_shop"), hidden(1))


def test_a_cycle_comes_out_of_the_record_as_it_went_in(tmp_path: Path) -> None:
    log = write_run(tmp_path / "2026-11-03-0800-0003" / "log.jsonl", SHEET, RUN, 3)
    found = past_runs([log], "hinged", CATALOGUE)
    assert found.left_out == ()
    [run] = found.runs
    assert sorted(run.telling, key=str) == sorted(RUN.telling, key=str)
    assert (run.at_set_s, run.cool_on_s, run.date) == (RUN.at_set_s, RUN.cool_on_s, "2026-11-03")
    assert (run.settings, run.job) == (RUN.settings, RUN.job)


def test_sessions_are_put_in_order_and_those_of_other_presses_passed_over(tmp_path: Path) -> None:
    logs = [write_run(tmp_path / f"s{day}" / "log.jsonl", SHEET, RUN, day) for day in (9, 2)]
    assert [run.date for run in past_runs(logs, "hinged", CATALOGUE).runs] == ["2026-11-02", "2026-11-09"]
    assert past_runs(logs, "two_part", CATALOGUE).runs == ()


def test_a_simulated_session_teaches_nothing(tmp_path: Path) -> None:
    log = write_run(tmp_path / "s1" / "log.jsonl", SHEET, RUN, 1, simulated=True)
    found = past_runs([log], "hinged", CATALOGUE)
    assert found.runs == ()
    assert "simulated press" in found.left_out[0]


def test_a_damaged_record_is_left_out_and_named(tmp_path: Path) -> None:
    log = write_run(tmp_path / "s1" / "log.jsonl", SHEET, RUN, 1)
    raw = log.read_bytes()
    log.write_bytes(raw.replace(b'"at_set"', b'"at_sat"', 1))
    found = past_runs([log], "hinged", CATALOGUE)
    assert found.runs == ()
    assert found.left_out[0].startswith("s1: Line")
