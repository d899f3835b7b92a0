"""The rooms of the program: who may import whom, what the core must not touch, how quickly it starts."""

from __future__ import annotations

import ast
import subprocess
import sys
import tokenize
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
ROOMS = ("assistant", "intents", "speech", "tui")
MAY_IMPORT = {
    "intents": {"intents"},
    "speech": {"speech"},
    "assistant": {"assistant", "intents"},
    # tui joins the parts; only the files that carry what was heard may know of intents.
    "tui": {"tui", "assistant", "speech"},
}
JOINS_ALL = {
    "tui/compose.py",
    "tui/early_cry.py",
    "tui/running.py",
    "tui/hear.py",
    "tui/heard_as.py",
    "tui/hearing.py",
    "tui/held_ear.py",
    "tui/own_voice.py",
    "tui/speaking.py",
}  # carry what was heard to the session

# The core: a fold over events, and computations. No clock, disk, sound or screen.
PURE = ("assistant/recipe", "assistant/procedure", "intents")
OUTSIDE = {
    "time", "datetime", "os", "io", "socket", "subprocess", "threading", "random", "secrets", "uuid",
    "shutil", "tempfile", "urllib", "http", "asyncio", "logging", "sounddevice", "textual", "click", "platformdirs",
}  # fmt: skip
DISK = {
    "open",
    "read_text",
    "read_bytes",
    "write_text",
    "write_bytes",
    "glob",
    "rglob",
    "iterdir",
    "unlink",
    "mkdir",
    "print",
    "input",
}
LONG = 300


def sources(*below: str) -> list[Path]:
    return sorted(path for folder in below for path in (ROOT / folder).rglob("*.py"))


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def modules_imported(path: Path, *, top_only: bool = False) -> Iterator[str]:
    """Dotted names that a file imports; `top_only`: at import time, so not inside functions or TYPE_CHECKING."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in _at_import_time(tree) if top_only else ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name_of(path)}: write imports in full"
            module = node.module or ""
            yield module
            yield from (
                f"{module}.{alias.name}" for alias in node.names if is_module(f"{module}.{alias.name}")
            )


def _at_import_time(node: ast.AST) -> Iterator[ast.AST]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            continue
        yield child
        yield from _at_import_time(child)


def is_module(dotted: str) -> bool:
    stem = ROOT.joinpath(*dotted.split("."))
    return stem.with_suffix(".py").is_file() or (stem / "__init__.py").is_file()


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_what_it_may(room: str) -> None:
    wrong = [
        f"{name_of(path)} imports {module}"
        for path in sources(room)
        for module in modules_imported(path)
        if module.split(".")[0] in ROOMS
        and module.split(".")[0] not in MAY_IMPORT[room]
        and name_of(path) not in JOINS_ALL
    ]
    assert not wrong


def test_no_imports_go_round_in_a_circle() -> None:
    graph = {
        name_of(path).removesuffix(".py").removesuffix("/__init__").replace("/", "."): {
            module for module in modules_imported(path, top_only=True) if is_module(module)
        }
        for path in sources(*ROOMS)
    }
    done: set[str] = set()

    def walk(module: str, trail: tuple[str, ...]) -> None:
        assert module not in trail, " -> ".join((*trail[trail.index(module) :], module))
        if module not in done:
            for imported in graph.get(module, ()):
                walk(imported, (*trail, module))
            done.add(module)

    for module in graph:
        walk(module, ())


def test_the_core_imports_no_clock_disk_sound_or_screen() -> None:
    wrong = [
        f"{name_of(path)} imports {module}"
        for path in sources(*PURE)
        for module in modules_imported(path)
        if module.split(".")[0] in OUTSIDE
    ]
    assert not wrong


def test_the_core_reads_the_disk_only_in_functions_that_say_load() -> None:
    wrong = [
        f"{name_of(path)}:{call.lineno} calls {called}"
        for path in sources(*PURE)
        if path.name != "load.py"
        for call, called in _calls_outside_load(ast.parse(path.read_text(encoding="utf-8")))
        if called in DISK
    ]
    assert not wrong


def _calls_outside_load(node: ast.AST) -> Iterator[tuple[ast.Call, str]]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef) and child.name.lstrip("_").startswith("load"):
            continue
        if isinstance(child, ast.Call):
            yield child, getattr(child.func, "attr", getattr(child.func, "id", ""))
        yield from _calls_outside_load(child)


def test_every_file_says_what_it_is_for() -> None:
    bare = [
        name_of(p) for p in sources(*ROOMS) if not ast.get_docstring(ast.parse(p.read_text(encoding="utf-8")))
    ]
    assert not bare


def test_no_name_hides_what_a_file_is_about() -> None:
    vague = {"utils", "util", "helpers", "helper", "manager", "misc"}
    assert not [name_of(path) for path in sources(*ROOMS, "tests") if set(path.stem.split("_")) & vague]


def test_long_files_are_pointed_out() -> None:
    """A warning, not a failure: one idea a file, seldom over 300 lines."""
    for path in sources(*ROOMS):
        with tokenize.open(path) as file:
            length = sum(1 for _line in file)
        if length > LONG:
            warnings.warn(f"{name_of(path)} has {length} lines", stacklevel=1)
        assert length <= 2 * LONG, f"{name_of(path)} has {length} lines: it holds more than one idea"


HEAVY = (
    "textual",
    "rich",
    "numpy",
    "scipy",
    "faster_whisper",
    "ctranslate2",
    "vosk",
    "sounddevice",
    "pydantic",
    "cryptography",
)


@pytest.mark.parametrize(
    ("module", "kept_out"),
    [
        ("tui.main", HEAVY),
        ("tui.talk", ("textual", "faster_whisper", "ctranslate2", "vosk", "sounddevice", "scipy")),
        ("assistant.view", HEAVY),
        ("assistant.session", ("textual", "faster_whisper", "ctranslate2", "vosk", "sounddevice")),
        ("intents.meaning", HEAVY),
    ],
)
def test_importing_it_leaves_heavy_packages_alone(module: str, kept_out: tuple[str, ...]) -> None:
    script = f"import sys, {module}; print(*sorted(set({list(kept_out)!r}) & set(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == []
