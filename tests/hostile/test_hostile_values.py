"""Values in a stranger's log that no press can have: the report is written all the same, soon, and says what it left out."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from log_of import Lines, events, log_bytes, read_in_every_way
from page_check import check_page

from assistant.record.read import read_log
from assistant.review.report import report_html
from assistant.review.verify import verify


def lines_of(lines: Lines, kind: str, **more: Any) -> Lines:
    return [line for line in lines if line["event"]["kind"] == kind and more.items() <= line["event"].items()]


def page_of(path: Path, lines: Lines) -> str:
    path.write_bytes(log_bytes(lines))
    read_in_every_way(path)
    page = report_html(read_log(path), verify(path))
    check_page(page)
    return page


@pytest.mark.parametrize("odd", [5, 2.5, True, "words", {"a": 1}, None, [], [None, 3]])
def test_a_list_that_is_none_is_left_out(tmp_path: Path, odd: Any) -> None:
    lines = events()
    for kind, key in (("gate_closed", "facts"), ("decided", "causes")):
        for line in lines_of(lines, kind):
            line["event"][key] = odd
    recipes = lines_of(lines, "computed", topic="recipe")
    assert recipes
    for line in recipes:
        line["event"]["results"]["warnings"] = odd
    assert "Safety confirmations" in page_of(tmp_path / "log.jsonl", lines)


@pytest.mark.parametrize("heat", [1e308, -1e308, 1e9, -5000.0])
def test_a_reading_that_no_press_has_is_told_and_not_drawn(tmp_path: Path, heat: float) -> None:
    lines = events()
    readings = lines_of(lines, "reading", slot="upper_reading")
    assert readings
    for line in readings:
        line["event"]["value"] = heat
    began = time.process_time()
    page = page_of(tmp_path / "log.jsonl", lines)
    assert time.process_time() - began < 20  # 1e308 drew grid lines without end before
    assert len(page) < 400_000
    assert "not drawn: beyond what a press can be" in page


def test_a_curve_wholly_below_zero_is_drawn(tmp_path: Path) -> None:
    lines = [line for line in events() if line["event"]["kind"] != "reading"]
    for line in lines_of(lines, "computed", topic="recipe"):
        line["event"]["results"]["curve"] = [
            [float(t), -30.0, -30.0, -40.0, -10.0] for t in range(0, 600, 60)
        ]
    assert '<polyline class="upper"' in page_of(tmp_path / "log.jsonl", lines)


def test_a_log_of_real_values_is_drawn_whole(tmp_path: Path) -> None:
    page = page_of(tmp_path / "log.jsonl", events())
    assert '<polyline class="upper"' in page
    assert "not drawn" not in page
