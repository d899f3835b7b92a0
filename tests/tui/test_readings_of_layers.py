"""`readings` with a heating given layer by layer: bands of both platens, checked against the heating itself."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assistant.recipe.explicit import load_heat
from assistant.recipe.plan import PlanRun
from tui.main import run


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        run(list(arguments))
    out, err = capsys.readouterr()
    return int(left.value.code or 0), out, err


@pytest.fixture
def heat(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Path:
    path = tmp_path / "heat.toml"
    path.write_text(called(capsys, "schema", "heat", "--example")[1], encoding="utf-8")
    return path


def readings(tmp_path: Path, sensor: str, degC: float, t_s: float = 400.0) -> str:
    path = tmp_path / "told.toml"
    one = f'[[readings]]\nsensor = "{sensor}"\nt_s = {t_s}\nvalue_degC = {degC}\n'
    path.write_text(f"schema_version = 1\nheat_on_s = 100.0\ncool_on_s = 1500.0\n{one}", encoding="utf-8")
    return str(path)


def test_a_reading_on_the_curve_is_within_and_one_far_off_is_not(
    capsys: pytest.CaptureFixture[str], heat: Path, tmp_path: Path
) -> None:
    _, plan = load_heat(heat)
    there_K = float(PlanRun(plan).heated.now(300.0)[0])
    code, out, _ = called(
        capsys, "readings", str(heat), readings(tmp_path, "upper", there_K - 273.15), "--json"
    )
    found = json.loads(out)
    assert (code, found["all_within"]) == (0, True)
    # class: analytic -- three hundred seconds of the same heating
    assert found["readings"][0]["mean_K"] == pytest.approx(there_K, abs=0.1)
    assert called(capsys, "readings", str(heat), readings(tmp_path, "upper", 25.0))[0] == 1
    assert called(capsys, "readings", str(heat), readings(tmp_path, "lower", 190.0, 1700.0))[0] == 1


def test_the_edge_is_not_known_from_layers(
    capsys: pytest.CaptureFixture[str], heat: Path, tmp_path: Path
) -> None:
    code, out, err = called(capsys, "readings", str(heat), readings(tmp_path, "edge", 60.0))
    assert (code, out) == (2, "")
    assert "edge" in err
