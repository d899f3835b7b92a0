"""The measures run and fill every line of their table. What they measure is told, never judged: machines differ."""

from __future__ import annotations

import importlib
import os
from pathlib import Path

import pytest
from figures import table
from measure_all import MEASURES

SLOW = ("measure_listening", "measure_record", "measure_recipe")


@pytest.mark.parametrize(
    "name",
    [pytest.param(m, marks=pytest.mark.slow if m in SLOW else ()) for m in MEASURES],
)
def test_a_measure_fills_its_table(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Other processes find the packages from there too.
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
    monkeypatch.chdir(tmp_path)
    figures = list(importlib.import_module(name).figures(1))
    assert figures
    absent = [f.beside for f in figures if f.measured == "not measured"]
    assert not absent or os.environ.get("CI") != "true", absent
    for figure in figures:
        assert figure.measured in table([figure])
        assert any(sign.isdigit() for sign in figure.measured) or figure.measured == "not measured"
    assert not list(tmp_path.iterdir()), "a measure leaves nothing behind"


def test_every_measure_is_in_the_table_of_all() -> None:
    here = {path.stem for path in Path(__file__).parent.glob("measure_*.py")}
    # These take minutes and have tables of their own.
    apart = {
        "measure_all", "measure_gate_sentences", "measure_danger", "measure_idle", "measure_hearing", "measure_false_closings",
        "measure_dialogue", "measure_stages", "measure_danger_under_voice", "measure_callsign",
    }  # fmt: skip
    assert here - apart == set(MEASURES)
