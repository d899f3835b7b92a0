"""README and DEVELOPERS say nothing that is not there: commands, options, files, keys, names, dependencies."""

from __future__ import annotations

import importlib
import re
import shlex
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from speech.models import TINY_EN_SHA256
from tui.bench import BenchApp
from tui.main import COMMANDS, main

ROOT = Path(__file__).parents[1]
DOCS = ("README.md", "DEVELOPERS.md")
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
OF_OTHERS = {"--snapshot-update", "--dist"}  # options of pytest's and its plugins'
ROOMS = ("assistant", "intents", "speech", "tui", "tests")


def text(doc: str) -> str:
    return (ROOT / doc).read_text(encoding="utf-8")


def code(doc: str) -> Iterator[str]:
    """What stands in code: lines of fenced blocks that are commands, and inline code."""
    body = text(doc)
    for block in re.findall(r"^```sh\n(.*?)^```", body, re.DOTALL | re.MULTILINE):
        yield from block.splitlines()
    body = re.sub(r"^```.*?^```", "", body, flags=re.DOTALL | re.MULTILINE)
    yield from re.findall(r"`([^`\n]+)`", body)


def options_of(name: str) -> set[str]:
    command: click.Command = main if not name else importlib.import_module(f"tui.commands.{name}").command
    below = [*command.commands.values()] if name and isinstance(command, click.Group) else []
    with click.Context(command) as ctx:
        return {o for one in (command, *below) for parameter in one.get_params(ctx) for o in parameter.opts}


def calls(doc: str) -> Iterator[tuple[str, list[str]]]:
    """Every call of our program in a document: sub-command ('' for none), and the options given to it."""
    for line in code(doc):
        for part in re.split(r"&&|\|", line):
            words = shlex.split(part, comments=True)
            if not words or words[0].split("/")[-1] != "loopwright":
                continue
            name = next((word for word in words[1:] if word in COMMANDS), "")
            if len(words) > 1 and not words[1].startswith("-"):
                assert words[1] in COMMANDS, f"{doc}: there is no command '{words[1]}'"
            yield name, [word for word in words if word.startswith("-")]


@pytest.mark.parametrize("doc", DOCS)
def test_commands_and_their_options_are_there(doc: str) -> None:
    found = list(calls(doc))
    assert found
    for name, options in found:
        assert set(options) <= options_of(name), f"{doc}: loopwright {name} {options}"


@pytest.mark.parametrize("doc", DOCS)
def test_options_named_alone_belong_to_some_command(doc: str) -> None:
    ours = {option for name in ("", *COMMANDS) for option in options_of(name)} | OF_OTHERS
    for piece in code(doc):
        if "loopwright" not in piece:
            for option in re.findall(r"(?<![\w-])--[a-z][a-z0-9-]+", piece):
                assert option in ours or piece.startswith(("ruff", ".venv/bin/ruff")), f"{doc}: {option}"


def test_the_readme_names_every_command() -> None:
    readme = " ".join(code("README.md"))
    assert [name for name in COMMANDS if name not in readme.split()] == []


@pytest.mark.parametrize("doc", DOCS)
def test_linked_and_named_files_are_there(doc: str) -> None:
    body = text(doc)
    named = set(re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", body))
    for piece in code(doc):
        named |= set(re.findall(rf"(?<![\w./])(?:{'|'.join(ROOMS)}|\.ci)/[\w./*-]+", piece))
    assert named
    for name in sorted(named):
        assert list(ROOT.glob(name)), f"{doc} names '{name}', which is not there"


def test_links_into_a_document_have_a_heading_to_go_to() -> None:
    for doc in DOCS:
        for target, place in re.findall(r"\]\(([\w.]*)#([^)]*)\)", text(doc)):
            headings = re.findall(r"^#+ (.*)$", text(target or doc), re.MULTILINE)
            anchors = {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}
            assert place in anchors, f"{doc}: #{place}"


@pytest.mark.parametrize("doc", DOCS)
def test_environment_variables_are_read_somewhere(doc: str) -> None:
    source = "".join(
        path.read_text(encoding="utf-8") for room in ROOMS[:4] for path in (ROOT / room).rglob("*.py")
    )
    for name in set(re.findall(r"\b(?:LOOPWRIGHT|VOSK)_[A-Z_]+\b", text(doc))):
        assert name in source, name


def test_the_two_command_lines_are_each_there_once_as_continuous_integration_takes_them() -> None:
    lines = [line for line in text("README.md").splitlines() if line.startswith("python3 -m venv ")]
    assert len(lines) == 2
    assert sum(line.endswith("loopwright demo") for line in lines) == 1
    assert sum(line.endswith("-m pytest -n auto --dist worksteal -m 'not slow'") for line in lines) == 1


def test_keys_in_the_readme_are_bound() -> None:
    bound = {key for binding in BenchApp.BINDINGS for key in binding.key.split(",")}  # type: ignore[union-attr]
    named = set(re.findall(r"\bF\d+\b|\bCtrl\+\w\b", text("README.md")))
    assert {key.lower() for key in named} <= bound
    assert {key for key in bound if re.fullmatch(r"f\d+", key)} <= {key.lower() for key in named}


def test_every_dependency_has_its_reason() -> None:
    extras = PYPROJECT["project"]["optional-dependencies"]
    declared = {
        re.split(r"[\[<>=! ]", entry)[0]
        for entries in (PYPROJECT["project"]["dependencies"], *extras.values())
        for entry in entries
    }
    rows = re.findall(r"^\| (.+?) \| .+ \|$", text("DEVELOPERS.md").split("## Dependencies")[1], re.MULTILINE)
    explained = {word for row in rows for word in re.findall(r"[\w-]+", row)}
    assert declared <= explained


def test_the_pinned_digest_is_the_one_in_use() -> None:
    assert TINY_EN_SHA256 in text("DEVELOPERS.md")


@pytest.mark.parametrize("doc", DOCS)
def test_nothing_of_a_machine_or_a_registry_is_in_it(doc: str) -> None:
    """Paths of somebody's machine, and hosts: both are wrong elsewhere and tomorrow."""
    pictures = [
        path.read_text(encoding="utf-8") for path in (ROOT / "tests" / "tui" / "screenshots").iterdir()
    ]
    for body in (text(doc), *pictures):
        assert not re.search(r"(?<![\w.])/(?:tmp|root|home|work|Users|opt|var)/", body)
        assert not re.search(
            r"pypi\.|pythonhosted|huggingface\.|github\.com|https?://(?!www\.w3\.org|www\.textualize)", body
        )
