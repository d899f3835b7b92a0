"""The commands on a real session: talked to, left, taken up, killed, verified, told, reported, tampered with."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

import assistant.bench
from assistant.procedure.decide import SEEN_AFTER_S
from assistant.procedure.gates import READ_AFTER_S
from tui.bench import BenchApp
from tui.choice import Choice
from tui.compose import open_port

FLAT = Path(assistant.bench.__file__).parent / "data" / "jobs" / "flat_in_the_shop.toml"


@dataclass
class Done:
    code: int
    out: str
    err: str


def loopwright(*arguments: object, said: str = "") -> Done:
    done = subprocess.run(
        [sys.executable, "-m", "tui.main", *map(str, arguments)],
        input=said,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert "Traceback" not in done.stderr
    return Done(done.returncode, done.stdout, done.stderr)


def talk(folder: Path, said: str, *more: object) -> Done:
    return loopwright("talk", "--typed", "--folder", folder, *more, said=said)


def logs(folder: Path) -> list[Path]:
    return sorted(folder.glob("sessions/*/log.jsonl"))


@pytest.fixture(scope="module")
def left(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one session that was begun, talked to, and left."""
    folder = tmp_path_factory.mktemp("records")
    told = talk(folder, "that is correct\nskip this\nwhy\n", "--job", FLAT)
    assert told.code == 3
    assert "This is the job" in told.out
    return folder


def test_what_was_left_is_taken_up_where_it_stands(left: Path) -> None:
    before = logs(left)[0].read_bytes()
    again = talk(left, "where are we\n")
    assert again.code == 3
    assert len(logs(left)) == 1
    assert logs(left)[0].read_bytes().startswith(before)


def test_it_verifies_and_says_that_it_is_not_closed(left: Path) -> None:
    told = loopwright("verify", logs(left)[0])
    assert told.code == 0
    assert "in order" in told.out
    assert "not closed" in told.out
    assert json.loads(loopwright("verify", logs(left)[0], "--json").out)["ok"] is True


def test_it_is_told_in_plain_words_with_what_was_refused(left: Path) -> None:
    told = loopwright("review", logs(left)[0])
    assert told.code == 0
    assert "that is correct" in told.out
    assert "\x1b" not in told.out
    assert "- line" in told.out.split("What a supervisor should look at")[1]


def test_a_report_is_written_once_and_not_over_another_file(left: Path, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert loopwright("report", logs(left)[0], "-o", page).code == 0
    first = page.read_bytes()
    assert first.startswith(b"<!DOCTYPE html>")
    again = loopwright("report", logs(left)[0], "-o", page)
    assert (again.code, page.read_bytes()) == (2, first)
    assert loopwright("report", logs(left)[0], "-o", page, "--force").code == 0
    assert loopwright("report", logs(left)[0], "-o", tmp_path / "no" / "folder.html").code == 2


def test_one_changed_letter_is_found_and_the_line_named(left: Path, tmp_path: Path) -> None:
    lines = logs(left)[0].read_bytes().splitlines(keepends=True)
    changed = tmp_path / "changed.jsonl"
    changed.write_bytes(b"".join([*lines[:2], lines[2].replace(b"e", b"a", 1), *lines[3:]]))
    for command in ("verify", "review"):
        told = loopwright(command, changed)
        assert told.code == 1
        assert "ine 3" in told.out or "ine 4" in told.out


def test_another_key_or_code_is_not_vouched_for(left: Path, tmp_path: Path) -> None:
    assert loopwright("verify", logs(left)[0], "--code", "plum pear fig").code == 1
    assert loopwright("verify", logs(left)[0], "--key", tmp_path / "none.pub").code == 2


def test_a_second_program_on_the_same_session_is_refused_in_words(left: Path) -> None:
    name = logs(left)[0].parent.name
    first = subprocess.Popen(
        [sys.executable, "-m", "tui.main", "talk", "--typed", "--folder", str(left), "--resume", name],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert first.stdout is not None
        first.stdout.readline()
        second = talk(left, "", "--resume", name)
        assert second.code == 2
        assert second.err.startswith("loopwright: ")
    finally:
        first.communicate("")


@pytest.mark.slow
def test_a_killed_session_keeps_every_line_that_was_answered(tmp_path: Path) -> None:
    running = subprocess.Popen(
        [sys.executable, "-m", "tui.main", "talk", "--typed", "--folder", str(tmp_path), "--job", str(FLAT)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert running.stdin is not None
    assert running.stdout is not None
    running.stdin.write("that is correct\n")
    running.stdin.flush()
    until = time.monotonic() + 30
    while "you: that is correct" not in running.stdout.readline():
        assert time.monotonic() < until
    running.stdout.readline()  # the answer
    os.kill(running.pid, signal.SIGKILL)
    running.communicate()
    again = talk(tmp_path, "where are we\n")
    assert again.code == 3
    assert "you: that is correct" in again.out
    assert loopwright("verify", logs(tmp_path)[0]).code == 0


@pytest.mark.slow
def test_the_screen_does_a_job_up_to_the_knife_by_typing_and_the_pedal(tmp_path: Path) -> None:
    """Gates are answered with their sentence, steps with the pedal, values confirmed in words."""
    gates: list[str] = []

    async def work() -> None:
        port = open_port(Choice(job=FLAT, folder=tmp_path, typed=True, new=True))
        app = BenchApp(port)
        try:
            async with app.run_test(size=(80, 24)) as pilot:
                for _ in range(60):
                    view = port.view()
                    if view.gate is not None and view.gate.sentence not in gates:
                        await pilot.press("f8")  # a pedal never answers a gate
                        await _typed(app, pilot, "yes")
                        await _answered(port)
                        assert port.view().gate == view.gate
                        gates.append(view.gate.sentence)
                        if len(gates) == 2:
                            return
                        await pilot.pause(READ_AFTER_S + 0.1)  # nor an eye
                        await _typed(app, pilot, view.gate.sentence)
                    elif view.pedal:
                        await pilot.pause(SEEN_AFTER_S + 0.1)  # a foot is no faster
                        await pilot.press("f8")
                    else:
                        await _typed(app, pilot, "that is correct")
                    await _answered(port)
        finally:
            port.close()

    asyncio.run(work())
    assert len(gates) == 2
    assert loopwright("verify", logs(tmp_path)[0]).code == 0


async def _typed(app: BenchApp, pilot, text: str) -> None:  # type: ignore[no-untyped-def]
    app.query_one("#entry").value = text  # type: ignore[attr-defined]
    await pilot.press("enter")


async def _answered(port) -> None:  # type: ignore[no-untyped-def]
    until = time.monotonic() + 5
    while not port.idle() and time.monotonic() < until:
        await asyncio.sleep(0.01)
