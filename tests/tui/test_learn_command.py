"""`loopwright learn`: written beside the works' own data, used the next time, and said so."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from past_sessions import job_named, run_on, write_run, write_sessions

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.learned import LearnedPress, as_toml
from assistant.practice.press import hidden
from assistant.recipe.learning import PastRun
from tui.main import run

FLAT = PACKAGED / "jobs" / "flat_in_the_shop.toml"
SECRET = hidden(2)
JOB = job_named("flat_in_the_shop")
Outcome = tuple[int, str, str]


@pytest.fixture
def loopwright(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Outcome]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def play(*arguments: object) -> Outcome:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        told = capsys.readouterr()
        return int(left.value.code or 0), told.out, told.err

    return play


@pytest.mark.slow
def test_learned_constants_are_written_used_and_said(
    loopwright: Callable[..., Outcome], tmp_path: Path
) -> None:
    before = json.loads(loopwright("recipe", FLAT, "--json")[1])
    write_sessions(tmp_path / "loopwright", [run_on(JOB, SECRET), run_on(JOB, SECRET, 6)])
    code, out, _ = loopwright("learn", "hinged", "--json")
    learned = json.loads(out)
    assert (code, learned["sessions"], learned["first"], learned["last"]) == (
        0,
        2,
        "2026-11-01",
        "2026-11-02",
    )
    planned = load_catalogue().presses["hinged"].upper.power_W_m2
    # class: analytic -- the readings were made with this share of the planned power
    assert learned["upper"]["power_W_m2"]["value"] == pytest.approx(planned * SECRET.upper_power, rel=0.05)
    after = json.loads(loopwright("recipe", FLAT, "--json")[1])
    assert after["ramp_s"] > 1.03 * before["ramp_s"]  # the weaker upper heater is waited for
    assert "constants learned from 2 sessions" in loopwright("recipe", FLAT)[1]
    again = json.loads(loopwright("learn", "hinged", "--json")[1])
    assert again["factors"] == learned["factors"]  # of the planning values, not of what was learned


def test_a_simulated_session_or_too_few_readings_write_nothing(
    loopwright: Callable[..., Outcome], tmp_path: Path
) -> None:
    folder = tmp_path / "records"
    write_run(folder / "sessions" / "s1" / "log.jsonl", FLAT, run_on(JOB, SECRET), 1, simulated=True)
    few = replace(run_on(JOB, SECRET), readings=run_on(JOB, SECRET).readings[:2])
    write_run(folder / "sessions" / "s2" / "log.jsonl", FLAT, few, 2)
    code, out, _ = loopwright("learn", "hinged", "--folder", folder)
    assert code == 1
    assert "only 2 readings" in out
    assert "simulated press" in out
    assert not (folder / "bench").exists()


def test_dry_writes_nothing_and_an_unknown_press_or_folder_is_refused(
    loopwright: Callable[..., Outcome], tmp_path: Path
) -> None:
    folder = tmp_path / "records"
    write_sessions(folder, [run_on(JOB, SECRET)])
    code, out, _ = loopwright("learn", "hinged", "--folder", folder, "--dry")
    assert code == 0
    assert "Nothing was written" in out
    assert not (folder / "bench").exists()
    assert loopwright("learn", "steam", "--folder", folder)[0] == 2
    assert loopwright("learn", "hinged", "--folder", tmp_path / "nowhere")[0] == 2


def readings_file(path: Path, past: PastRun) -> Path:
    rows = "".join(
        f'[[readings]]\nsensor = "{one.slot.split("_")[0]}"\nt_s = {one.t_s + 50.0}\nvalue_degC = {one.value - 273.15}\n'
        for one in past.readings
    )
    assert past.at_set_s is not None
    assert past.cool_on_s is not None
    marks = f"at_set_s = {past.at_set_s + 50.0}\ncool_on_s = {past.cool_on_s + 50.0}\n"
    path.write_text(f'heat_on_s = 50.0\n{marks}date = "2026-11-25"\n{rows}')
    return path


def test_lists_of_readings_teach_as_sessions_do_and_are_kept_only_when_asked(
    loopwright: Callable[..., Outcome], tmp_path: Path
) -> None:
    files = [readings_file(tmp_path / f"{n}.toml", run_on(JOB, SECRET, n)) for n in (5, 6)]
    given = ["learn", "hinged", "--job", FLAT, *(part for file in files for part in ("--readings", file))]
    code, out, _ = loopwright(*given, "--json")
    learned = json.loads(out)
    assert (code, learned["sessions"], learned["written"], learned["drift"]) == (0, 2, None, [])
    assert learned["residual_K"] < 1.0
    for name in ("upper_power", "lower_power"):
        factor = learned["factors"][name]
        # class: analytic -- the readings were made with this share of the planned power
        assert factor["value"] == pytest.approx(getattr(SECRET, name), rel=0.05)
        assert factor["low"] < factor["value"] < factor["high"]
    assert not (tmp_path / "loopwright" / "bench").exists()
    assert loopwright(*given, "--write")[0] == 0
    assert (tmp_path / "loopwright" / "bench" / "learned" / "hinged.toml").exists()


def test_files_of_readings_need_their_job_and_their_press(
    loopwright: Callable[..., Outcome], tmp_path: Path
) -> None:
    file = readings_file(tmp_path / "one.toml", run_on(JOB, SECRET))
    assert "go together" in loopwright("learn", "hinged", "--readings", file)[2]
    assert "go together" in loopwright("learn", "hinged", "--job", FLAT)[2]
    other = next(key for key in load_catalogue().presses if key != "hinged")
    code, _, err = loopwright("learn", other, "--job", FLAT, "--readings", file)
    assert code == 2
    assert "is for the press 'hinged'" in err
    assert loopwright("learn", "hinged", "--job", FLAT, "--readings", tmp_path / "none.toml")[0] == 2


def test_the_file_reads_back_as_it_was_written_and_a_spoilt_one_is_refused(tmp_path: Path) -> None:
    constant = {"value": 9000.0, "low": 8800.5, "high": 9300.0}
    platen = {"power_W_m2": constant, "loss_W_m2K": constant, "cooling_W_m2K": constant}
    learned = LearnedPress.model_validate(
        {"schema_version": 1, "key": "hinged", "sessions": 3, "readings": 40, "residual_K": 0.4, "first": "2026-11-01",
         "last": "2026-11-09", "upper": platen, "lower": platen, "drift": ['It "drifts" \\ ü'], "source": "fitted"}
    )  # fmt: skip
    (tmp_path / "learned").mkdir()
    path = tmp_path / "learned" / "hinged.toml"
    path.write_text(as_toml(learned), encoding="utf-8")
    catalogue = load_catalogue(tmp_path)
    assert catalogue.learned["hinged"] == learned
    # class: analytic -- the value in the file
    assert catalogue.presses["hinged"].upper.power_W_m2 == 9000.0
    assert any("3 sessions" in note for note in catalogue.notes)
    assert load_catalogue(tmp_path, planning=True).presses == load_catalogue().presses
    path.write_text(as_toml(learned).replace("low = 8800.5", "low = 9999.0"), encoding="utf-8")
    with pytest.raises(ValueError, match="must lie between"):
        load_catalogue(tmp_path)
