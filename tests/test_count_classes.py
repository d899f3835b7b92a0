"""The numbers of the tests say where they come from, and the count of them can fail."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
HASH = "#"  # apart from the marks below, which are examples and must not be counted


def run(folder: Path) -> subprocess.CompletedProcess[str]:
    script = TESTS / "count_classes.py"
    return subprocess.run([sys.executable, script, folder], capture_output=True, text=True, check=False)


def test_every_mark_in_these_tests_is_a_class_of_ours() -> None:
    done = run(TESTS)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("mark", ["class: printd -- a table", "class: printed", "class: peer library --"])
def test_an_unknown_class_or_a_missing_source_is_found(tmp_path: Path, mark: str) -> None:
    (tmp_path / "test_x.py").write_text(f"VALUE = 1.0  {HASH} {mark}\n")
    done = run(tmp_path)
    assert done.returncode == 1
    assert "test_x.py:1" in done.stderr


def test_marks_are_counted_by_class_and_room(tmp_path: Path) -> None:
    (tmp_path / "recipe").mkdir()
    (tmp_path / "recipe" / "test_x.py").write_text(
        f"A = 1  {HASH} class: analytic\n{HASH} class: printed -- a table\nB = 2\n"
    )
    done = run(tmp_path)
    assert done.returncode == 0
    assert done.stdout.splitlines()[0].split() == ["class", "recipe", "all"]
    counted = {line.split("  ")[0]: line.split()[-1] for line in done.stdout.splitlines()}
    assert (counted["analytic"], counted["printed"], counted["regression"]) == ("1", "1", "0")
