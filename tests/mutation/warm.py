"""Runs test files in forks of a process that has everything loaded but what is to be weakened: `python warm.py`.

A rule's test takes a second, and what it needs before it takes ten: libraries, three recorded jobs, their
recipes. So the recipes and recordings of a first run, of the program as it is, are kept for those after it.
No part of `assistant.recipe` or `assistant.bench` is ever weakened here.

Reads a line of JSON for each run from standard input, {"tests": [...], "within_s": ...}, in the folder of the copy;
answers with a line: {"failed": first test that failed or "", "ran": whether any test ran, "told": the last output}.
"""

from __future__ import annotations

import importlib
import json
import os
import pickle
import pkgutil
import signal
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a fork of a process with threads may hang
NEVER_WEAKENED = ("assistant.recipe", "assistant.bench")
LIBRARIES = ("hypothesis", "hypothesis.stateful", "numpy", "pydantic", "rapidfuzz", "rfc8785", "scipy.linalg", "scipy.optimize")  # fmt: skip

known: dict[str, Any] = {"recipes": {}, "recorded": {}}


def load() -> None:
    """Everything that no mutant changes."""
    for name in LIBRARIES:
        importlib.import_module(name)
    for package in NEVER_WEAKENED:
        folder = importlib.import_module(package).__path__
        for module in pkgutil.iter_modules(folder, package + "."):
            importlib.import_module(module.name)
    loaded = [name for name in sys.modules if name.startswith(("assistant.procedure.", "assistant.session"))]
    if loaded:
        raise RuntimeError(f"{loaded} would be tested as they are, not as weakened")
    _remember_recipes()


def _remember_recipes() -> None:
    from assistant.recipe import recipe

    compute = recipe.compute_recipe

    def remembered(job: Any, given: Any = None, **more: Any) -> Any:
        key = repr((job.model_dump_json(), given, more))
        if key not in known["recipes"]:
            known["recipes"][key] = compute(job, given, **more)
        return known["recipes"][key]

    recipe.compute_recipe = remembered


class Watch:
    """Puts in the recordings, and notes the first test that fails."""

    failed = ""
    ran = 0

    def pytest_collection_modifyitems(self) -> None:
        press = sys.modules.get("at_the_press")
        if press is None:
            return
        record = press.recorded

        def recorded(name: str) -> Any:
            if name not in known["recorded"]:
                known["recorded"][name] = record(name)
            return known["recorded"][name]

        press.recorded = recorded

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.ran += report.when == "call"
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed and not self.failed:
            self.failed = f"{report.nodeid} (cannot be loaded)"


def in_a_fork(tests: list[str], within_s: float, *, keep: bool) -> dict[str, Any]:
    """One run of pytest, in a child that is given so many seconds. keep: what it computed, for those after it."""
    with tempfile.TemporaryDirectory() as folder:
        told, kept, output = (Path(folder) / name for name in ("told", "kept", "output"))
        child = os.fork()
        if child == 0:
            _run(tests, told, kept if keep else None, output)
        begun = time.monotonic()
        while os.waitpid(child, os.WNOHANG) == (0, 0):
            if time.monotonic() - begun > within_s:
                os.kill(child, signal.SIGKILL)
                os.waitpid(child, 0)
                return {"failed": f"none ends within {within_s:.0f} s", "ran": True, "told": ""}
            time.sleep(0.02)
        if keep and kept.exists():
            known.update(pickle.loads(kept.read_bytes()))
        last = output.read_text("utf-8", "replace")[-600:] if output.exists() else ""
        if not told.exists():
            return {"failed": "", "ran": False, "told": last}
        return {**json.loads(told.read_text("utf-8")), "told": last}


def _run(tests: list[str], told: Path, kept: Path | None, output: Path) -> None:
    """In the child; does not return."""
    code = 1
    try:
        with output.open("w") as out:
            os.dup2(out.fileno(), 1)
            os.dup2(out.fileno(), 2)
        watch = Watch()
        arguments = [
            "-x",
            "-q",
            "-p",
            "no:cacheprovider",
            "-W",
            "ignore",
            "-m",
            "not slow",
            "--no-header",
            "--tb=line",
        ]
        pytest.main([*arguments, *tests], plugins=[watch])
        if kept is not None:
            kept.write_bytes(pickle.dumps(known))
        told.write_text(json.dumps({"failed": watch.failed, "ran": bool(watch.ran)}), "utf-8")
        code = 0
    finally:
        os._exit(code)


def main() -> None:
    sys.dont_write_bytecode = True
    sys.path.insert(0, str(Path.cwd()))
    load()
    for line in sys.stdin:
        asked = json.loads(line)
        answer = in_a_fork(asked["tests"], asked["within_s"], keep=asked.get("keep", False))
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
