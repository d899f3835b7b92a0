"""`loopwright recipe JOB --set`: the answers before and after, for people and for a machine."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.bench.catalogue import PACKAGED
from tui.main import run

FLAT = PACKAGED / "jobs" / "flat_in_the_shop.toml"
Told = Callable[..., tuple[int, str]]


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Told:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def play(*arguments: object) -> tuple[int, str]:
        with pytest.raises(SystemExit) as left:
            run(["recipe", str(FLAT), *map(str, arguments)])
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out + shown.err

    return play


def test_json_gives_before_after_and_difference(told: Told) -> None:
    code, out = told("--set", "supply_voltage=210 V", "--set", "elongation=1 %", "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["changed"] == pytest.approx({"supply_voltage_V": 210.0, "elongation": 0.01})
    # class: analytic -- power with the square of the voltage; marks 1 m apart, 1 % further
    assert answer["after"]["power_W"] / answer["before"]["power_W"] == pytest.approx(
        (210 / 230) ** 2, rel=1e-6
    )
    assert answer["after"]["marks_m"] == pytest.approx(1.01)
    for key, apart in answer["difference"].items():
        # class: analytic -- a difference is one less the other
        assert apart == pytest.approx(answer["after"][key] - answer["before"][key])
    assert answer["cycle_s"] == pytest.approx(answer["after"]["cycle_s"])


def test_the_older_options_compare_as_well_and_mean_the_same(told: Told) -> None:
    by_option = json.loads(told("--shop", "5", "--json")[1])
    by_set = json.loads(told("--set", "shop_temperature=5", "--json")[1])
    # class: analytic -- two ways of writing one question
    assert by_option["difference"] == pytest.approx(by_set["difference"])
    assert by_option["difference"]["ramp_s"] > 0


def test_without_a_change_nothing_is_compared(told: Told) -> None:
    assert not {"changed", "before", "difference"} & set(json.loads(told("--json")[1]))


def test_people_see_a_short_table(told: Told) -> None:
    code, out = told("--set", "shop_temperature=5")
    assert code == 0
    head, *rows = out.splitlines()
    assert head.split() == ["Against", "the", "job", "file", "base", "changed", "difference"]
    assert any("whole cycle" in row and row.endswith("longer") for row in rows[:6])
    assert "every answer stays as it is" in told("--set", "shop_temperature=19")[1]


def test_what_has_to_follow_is_told(told: Told) -> None:
    assert "template = yellow, so that it fits" in told("--set", "belt_thickness=2.2")[1]


def test_what_cannot_be_is_no_recipe_and_what_is_not_understood_is_bad_input(told: Told) -> None:
    code, out = told("--set", "belt_thickness=2.4")
    assert code == 1
    assert "The nearest that goes is 2.3 mm" in out
    assert told("--set", "dwell=7200")[0] == 1
    code, out = told("--set", "shp=5")
    assert code == 2
    assert "shop_temperature" in out
    assert told("--set", "shop_temperature=5", "--shop", "6")[0] == 2
