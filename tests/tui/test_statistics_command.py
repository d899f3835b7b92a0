"""`loopwright statistics` over sessions on disk."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from past_sessions import job_named, run_on, write_run, write_sessions

from assistant.bench.catalogue import PACKAGED
from assistant.practice.press import hidden
from tui.main import run

RUN = run_on(job_named("flat_in_the_shop"), hidden(1), 3)


@pytest.fixture
def told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Any]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def play(*arguments: object) -> tuple[int, str]:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out + shown.err

    return play


def test_sessions_are_told_side_by_side_without_the_simulated_ones(
    told: Callable[..., Any], tmp_path: Path
) -> None:
    folder = tmp_path / "records"
    write_sessions(folder, [RUN, RUN, RUN])
    write_run(
        folder / "sessions" / "2026-11-20-0800-aaaa" / "log.jsonl", PACKAGED / "jobs" / "flat_in_the_shop.toml",
        RUN, 20, simulated=True,
    )  # fmt: skip
    code, out = told("statistics", "--folder", folder, "--json")
    [group] = json.loads(out)["groups"]
    assert code == 0
    assert (group["belt"], group["press"], group["sessions"]) == ("packing_line", "hinged", 3)
    # class: peer library -- statsmodels, Wilson interval of 3 of 3
    assert group["rate"]["wilson"] == pytest.approx([0.438494, 1.0], abs=1e-4)
    ramp = next(one for one in group["measured"] if one["name"] == "ramp_s")
    assert ramp["chart"]["points"] == [RUN.at_set_s] * 3
    assert ramp["chart"]["flat"]
    text = told("statistics", "--folder", folder)[1]
    assert "accepted 3 of 3" in text
    assert "no spread recorded" in text


def test_a_press_that_has_drifted_in_its_latest_session_is_flagged(
    told: Callable[..., Any], tmp_path: Path
) -> None:
    job, secret = job_named("flat_in_the_shop"), hidden(2)
    weak = replace(secret, lower_power=secret.lower_power * 0.55)
    write_sessions(tmp_path / "records", [run_on(job, secret), run_on(job, secret, 6), run_on(job, weak)])
    code, out = told("statistics", "--folder", tmp_path / "records", "--press", "hinged")
    assert code == 1
    assert "DRIFT of hinged: In the latest session the lower heater's power was" in out
    assert "check heater, lead and supply" in out


def test_nothing_to_tell_and_a_folder_that_is_none(told: Callable[..., Any], tmp_path: Path) -> None:
    code, out = told("statistics")
    assert code == 1
    assert "no sessions" in out
    assert told("statistics", "--folder", tmp_path / "nowhere")[0] == 2
