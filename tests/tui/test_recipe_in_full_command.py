"""`recipe` with a file given in full: exit codes, JSON with units, what if by option, and one sentence for a wrong file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import assistant.recipe
from tui.main import run

EXAMPLE = Path(assistant.recipe.__file__).parent / "data" / "recipe.toml"


def called(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        run([str(argument) for argument in arguments])
    out, err = capsys.readouterr()
    return int(left.value.code or 0), out, err


@pytest.mark.slow
def test_what_if_tells_the_changed_answer_and_the_difference(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = called(capsys, "recipe", EXAMPLE, "--set", "hold_s=180", "--json")
    told = json.loads(out)
    assert (code, err) == (0, "")
    assert told["feasible"] is True
    assert told["inputs"]["hold_s"] == 180.0
    assert told["before"]["feasible"] is True
    for key in ("upper_K", "lower_K", "dwell_s", "ramp_s", "cooling_s", "cycle_s"):
        assert told["difference"][key] == pytest.approx(told[key] - told["before"][key])
    # class: analytic -- a hold a minute longer makes the dwell a minute longer, in steps of 5 s
    assert told["difference"]["dwell_s"] == pytest.approx(60.0, abs=10.0)


@pytest.mark.slow
def test_it_is_told_in_words_and_an_option_fixes_a_platen(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = called(capsys, "recipe", EXAMPLE, "--upper", "190")
    assert code == 0
    for words in (
        "190.0 °C",
        "What binds: ",
        "Physics against practice",
        "If something is otherwise",
        "Against the file",
    ):
        assert words in out


@pytest.mark.slow
def test_what_cannot_be_is_no_with_the_nearest_change(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = called(capsys, "recipe", EXAMPLE, "--set", "release_degC=150")
    assert code == 1
    assert "No recipe: " in out
    assert "Nearest change: " in out


@pytest.mark.parametrize("arguments", [("--set", "moon=1"), ("--set", "hold_s"), ("--voltage", "230")])
def test_what_it_cannot_use_is_one_sentence(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    code, out, err = called(capsys, "recipe", EXAMPLE, *arguments)
    assert (code, out, err.count("\n")) == (2, "", 1)
