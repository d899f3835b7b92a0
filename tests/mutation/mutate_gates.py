"""Takes each gate rule away in turn, on a copy, and shows that a test fails: `python tests/mutation/mutate_gates.py`.

Prints a table: the rule, the test that caught it, seconds. Exit code 1 where one survives the quick tests of
the gates, or where its line no longer stands in the file: then `gate_mutants.py` must be brought up to date.
`--only WORDS` takes the rules whose name holds the words; `--first FILE` only what one test file should catch.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from gate_mutants import (
    BROKEN,
    ENTRIES,
    GATES,
    GRAPH,
    HEARD,
    LIES,
    LOAD,
    MACHINE,
    MANDATORY,
    MUTANTS,
    OWN,
    RULE,
    RUN,
    SESSION,
    TAKEN_UP,
    VALUES,
    WHEN_PUT,
    WORDS,
    Mutant,
)

ROOT = Path(__file__).resolve().parents[2]
TESTS = (
    RULE,
    GATES,
    WORDS,
    WHEN_PUT,
    VALUES,
    RUN,
    "test_unchecked.py",
    "test_false_readings.py",
    SESSION,
    MANDATORY,
    LOAD,
    OWN,
    BROKEN,
    "test_conversation.py",
    GRAPH,
    MACHINE,
    TAKEN_UP,
    LIES,
    HEARD,
    ENTRIES,
)
LONGEST_S = 900


def copy_to(folder: Path) -> None:
    for part in ("assistant", "intents", "speech", "tui", "tests", "pyproject.toml"):
        source = ROOT / part
        if source.is_dir():
            shutil.copytree(
                source, folder / part, ignore=shutil.ignore_patterns("__pycache__", "__snapshots__")
            )
        else:
            shutil.copy(source, folder / part)


def path_of(test: str) -> str:
    if test.startswith("../"):
        return f"tests/{test[3:]}"
    return f"tests/{test}" if test == SESSION else f"tests/procedure/{test}"


class Warm:
    """The process that runs the tests in forks of itself, see `warm`. A context manager."""

    def __init__(self, folder: Path) -> None:
        self._child = subprocess.Popen(
            [sys.executable, "-B", str(Path(__file__).with_name("warm.py"))],
            cwd=folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip

    def __enter__(self) -> Warm:
        return self

    def __exit__(self, *_: object) -> None:
        self._child.communicate()

    def caught_by(self, groups: Sequence[tuple[str, ...]], *, keep: bool = False) -> str:
        """The first test that fails, one group of files after the other; '' where all of them pass.

        Raises: RuntimeError where the tests cannot be run.
        """
        assert self._child.stdin is not None
        assert self._child.stdout is not None
        for group in groups:
            asked = {"tests": [path_of(test) for test in group], "within_s": LONGEST_S, "keep": keep}
            self._child.stdin.write(json.dumps(asked) + "\n")
            self._child.stdin.flush()
            answer = json.loads(self._child.stdout.readline() or '{"ran": false, "told": "nothing"}')
            if answer.get("failed"):
                return str(answer["failed"]).rpartition("/")[2]
            if not answer["ran"]:
                raise RuntimeError(f"the tests cannot be run: {answer['told']}")
        return ""


def change(folder: Path, mutant: Mutant) -> str | None:
    """Weakens the rule in the copy. Returns: the file as it was; None where the line does not stand there once."""
    path = folder / mutant.file
    before = path.read_text(encoding="utf-8")
    if before.count(mutant.line) != 1:
        return None
    path.write_text(before.replace(mutant.line, mutant.instead), encoding="utf-8")
    return before


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--only", default="", help="rules whose name holds these words")
    asked.add_argument(
        "--first", nargs="*", help="only these test files, and the rules that they should catch"
    )
    given = asked.parse_args()
    tests = TESTS if given.first is None else tuple(given.first)
    wanted = [
        mutant
        for mutant in MUTANTS
        if given.only in mutant.rule and (given.first is None or mutant.first in tests)
    ]
    survived = outdated = 0
    with tempfile.TemporaryDirectory(prefix="loopwright-mutants-") as name:
        folder = Path(name)
        copy_to(folder)
        begun = time.monotonic()
        with Warm(folder) as warm:
            if failing := warm.caught_by([tests], keep=True):
                print(f"{failing} fails as it is: nothing can be shown.")
                return 1
            print(f"as it is: every test passes, {time.monotonic() - begun:.0f} s", flush=True)
            for mutant in wanted:
                started = time.monotonic()
                before = change(folder, mutant)
                if before is None:
                    outdated += 1
                    print(f"| {mutant.rule} | its line is not in {mutant.file} once | |", flush=True)
                    continue
                others = tuple(test for test in tests if test != mutant.first)
                test = warm.caught_by([group for group in ((mutant.first,), others) if group])
                (folder / mutant.file).write_text(before, encoding="utf-8")
                survived += not test
                took_s = time.monotonic() - started
                print(f"| {mutant.rule} | {test or 'SURVIVED'} | {took_s:.0f} s |", flush=True)
        print(
            f"{len(wanted)} rules taken away, {len(wanted) - survived - outdated} caught, {survived} survived, "
            f"{outdated} out of date, {time.monotonic() - begun:.0f} s"
        )
    return 1 if survived or outdated else 0


if __name__ == "__main__":
    sys.exit(main())
