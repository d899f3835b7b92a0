"""`heat` and `schema` as they are called: exit codes, JSON, and that what one prints the other reads."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tui.commands.schema import KINDS
from tui.main import run


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        run(list(arguments))
    out, err = capsys.readouterr()
    return int(left.value.code or 0), out, err


@pytest.fixture
def example(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Path:
    code, out, _ = called(capsys, "schema", "heat", "--example")
    assert code == 0
    path = tmp_path / "lay_up.toml"
    path.write_text(out, encoding="utf-8")
    return path


def changed(path: Path, find: str, put: str) -> Path:
    text = path.read_text(encoding="utf-8")
    assert find in text
    path.write_text(text.replace(find, put), encoding="utf-8")
    return path


def test_the_example_is_heated_and_told(capsys: pytest.CaptureFixture[str], example: Path) -> None:
    code, out, err = called(capsys, "heat", str(example))
    assert (code, err) == (0, "")
    for words in (
        "coldest belt point at fusion",
        "dwell needed",
        "MJ/m²",
        "model, illustrative constants",
        "Numerical error",
    ):
        assert words in out


def test_for_a_machine_inputs_and_results_come_with_units(
    capsys: pytest.CaptureFixture[str], example: Path
) -> None:
    code, out, _ = called(capsys, "heat", str(example), "--json")
    told: dict[str, Any] = json.loads(out)
    assert code == 0
    assert told["feasible"] is True
    assert told["inputs"]["layers"][0]["thickness_mm"] == 3.0
    assert told["needed_dwell_s"] == pytest.approx(told["fused_s"] + 120.0 - told["later_set_s"])
    assert len(told["curve"]) == 4
    assert told["curve"][0]["coldest_K"] > 290
    assert 0 < told["numerical_error"] <= 0.002


def test_what_cannot_be_is_answered_no_with_exit_code_1(
    capsys: pytest.CaptureFixture[str], example: Path
) -> None:
    code, out, _ = called(capsys, "heat", str(changed(example, "set_degC = 185.0", "set_degC = 160.0")))
    assert code == 1
    assert "No: " in out
    assert "Nearest change: " in out
    code, out, _ = called(capsys, "heat", str(example), "--json")
    told = json.loads(out)
    assert code == 1
    assert told["feasible"] is False
    assert "never fuses" in told["refused"][0]["reason"]


def test_a_wrong_file_is_one_sentence_and_exit_code_2(
    capsys: pytest.CaptureFixture[str], example: Path
) -> None:
    code, out, err = called(
        capsys, "heat", str(changed(example, "thickness_mm = 0.6", "thickness_mm = -1.0"))
    )
    assert (code, out) == (2, "")
    assert "thickness_mm" in err
    assert "line " in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_of_file_is_described_and_has_an_example(
    capsys: pytest.CaptureFixture[str], kind: str
) -> None:
    code, out, _ = called(capsys, "schema", kind)
    assert code == 0
    assert len(out.splitlines()) > 3
    code, out, _ = called(capsys, "schema", kind, "--json")
    assert json.loads(out)["properties"]
    code, out, _ = called(capsys, "schema", kind, "--example")
    assert code == 0
    assert tomllib.loads(out)


def test_without_a_kind_the_kinds_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = called(capsys, "schema")
    assert code == 0
    assert [line.split()[0] for line in out.splitlines()] == list(KINDS)
    assert called(capsys, "schema", "--json")[0] == 2
    assert called(capsys, "schema", "moon")[0] == 2
