"""Full, read-only, locked and failing disks under the program itself: a sentence, a code that is not 0, nothing lost."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from log_bytes import read_bytes
from program import BY_NAME, Program, at_call, strace_works

from assistant.bench.catalogue import PACKAGED
from assistant.review.verify import verify

FLAT = str(PACKAGED / "jobs" / "flat_in_the_shop.toml")
HELD = "I can't write the record, so I hold."


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 200 kB; skipped where nothing can be mounted: there `tests/tui/test_faults.py` has the limit of file size."""
    folder = tmp_path / "small"
    folder.mkdir()
    if not _mount("-t", "tmpfs", "-o", "size=200k", "tmpfs", str(folder)):
        pytest.skip(
            "nothing can be mounted here: the limit of a file's size stands for it, in tests/tui/test_faults.py"
        )
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)  # also where a failed test left a program on it


def fill(folder: Path) -> Path:
    """Takes all the room that is left. Returns: the file that has it."""
    filler = os.open(folder / "filler", os.O_WRONLY | os.O_CREAT)
    with suppress(OSError):
        while os.write(filler, b"x" * 4096):
            pass
    os.close(filler)
    return folder / "filler"


def _mount(*words: str) -> bool:
    with suppress(FileNotFoundError):
        return subprocess.run(["mount", *words], capture_output=True, check=False).returncode == 0
    return False


def talk(folder: Path, *arguments: str, prefix: tuple[str, ...] = ()) -> Program:
    return Program([*prefix, *BY_NAME], ["talk", "--typed", "--folder", str(folder), *arguments])


def log_in(folder: Path) -> Path:
    (found,) = folder.glob("sessions/*/log.jsonl")
    return found


def told(program: Program, words: str) -> bool:
    return program.until(lambda: any(words in line for line in program.told))


def all_that_was_answered_is_kept(program: Program, folder: Path) -> None:
    """What was told before the alarm is in the log, and no more."""
    before = program.told[: next(n for n, line in enumerate(program.told) if HELD in line)]
    said = [f"bench: {event['text']}" for event in read_bytes(log_in(folder)).events("said")]
    assert [line for line in before if line.startswith("bench: ")] == said
    assert program.told[-1].startswith("note: what came after it could not be written is not in it")
    assert program.errors == ""


@pytest.mark.slow
def test_a_full_file_system_holds_the_session_and_room_lets_it_go_on(small_disk: Path) -> None:
    full = talk(small_disk, "--job", FLAT)
    assert told(full, "This is the job")
    filler = fill(small_disk)
    for _ in range(12):  # what is left of the last page takes a few more
        full.send("where are we")
    assert told(full, HELD)
    assert full.end_of_input() == 3
    all_that_was_answered_is_kept(full, small_disk)
    kept = read_bytes(log_in(small_disk)).raw
    assert verify(log_in(small_disk)).ok

    filler.unlink()
    again = talk(small_disk)
    again.send("where are we")
    assert again.end_of_input() == 3
    assert not any(HELD in line for line in again.told)
    assert read_bytes(log_in(small_disk)).raw.startswith(kept)


def test_a_new_job_on_a_full_file_system_is_refused_in_a_sentence(small_disk: Path) -> None:
    fill(small_disk)
    full = talk(small_disk, "--job", FLAT)
    assert full.end_of_input() == 2
    assert full.errors.startswith("loopwright: ")
    assert "No space left on device" in full.errors
    assert full.errors.count("\n") == 1
    assert not list(small_disk.glob("sessions/*/log.jsonl"))


def test_a_session_on_a_read_only_file_system_is_not_taken_up_and_not_touched(small_disk: Path) -> None:
    begun = talk(small_disk, "--job", FLAT)
    assert told(begun, "This is the job")
    assert begun.end_of_input() == 3
    kept = log_in(small_disk).read_bytes()
    assert _mount("-o", "remount,ro", str(small_disk))
    for arguments in ((), ("--job", FLAT)):
        again = talk(small_disk, *arguments)
        assert again.end_of_input() == 2
        assert "Read-only file system" in again.errors
        assert again.errors.count("\n") == 1
    assert log_in(small_disk).read_bytes() == kept


@pytest.mark.slow
def test_a_log_that_may_not_be_written_any_more_holds_the_session(tmp_path: Path) -> None:
    """As root by the file's own mark that it is not to be changed, else by the folder's rights."""
    going = talk(tmp_path, "--job", FLAT)
    assert told(going, "This is the job")
    log = log_in(tmp_path)
    kept = log.read_bytes()
    lock, unlock = (
        (["chattr", "+i", str(log)], ["chattr", "-i", str(log)])
        if os.geteuid() == 0
        else (["chmod", "000", str(log.parent)], ["chmod", "700", str(log.parent)])
    )
    if subprocess.run(lock, capture_output=True, check=False).returncode != 0:
        going.kill()
        pytest.skip("this file system knows no mark that root obeys too")
    try:
        going.send("where are we")
        assert told(going, HELD)
        assert any("not permitted" in line or "Permission denied" in line for line in going.told)
        assert going.end_of_input() == 3
    finally:
        subprocess.run(unlock, check=True)
    assert log.read_bytes() == kept
    all_that_was_answered_is_kept(going, tmp_path)
    again = talk(tmp_path)
    again.send("where are we")
    assert again.end_of_input() == 3
    assert not any(HELD in line for line in again.told)


@pytest.mark.slow
@pytest.mark.parametrize("call", ["fsync", "ftruncate,fsync"])
def test_an_error_of_the_disk_itself_on_syncing_holds_the_session(tmp_path: Path, call: str) -> None:
    """The system's own call gives it to the unchanged program, on a session that was begun on a sound disk."""
    if not strace_works():
        pytest.skip(
            "strace is not here or may not trace: test_disk_fails_in_a_session has the same by a failing file"
        )
    begun = talk(tmp_path, "--job", FLAT)
    assert told(begun, "This is the job")
    assert begun.end_of_input() == 3
    kept = read_bytes(log_in(tmp_path)).raw
    prefix = at_call("error=EIO:when=4+", *call.split(","))  # it is taken up, and fails while it is talked to
    going = talk(tmp_path, prefix=tuple(prefix))
    for _ in range(4):
        going.send("where are we")
    assert told(going, HELD)
    assert any("Input/output error" in line for line in going.told)
    assert going.end_of_input() == 3
    log = read_bytes(log_in(tmp_path))
    assert log.raw.startswith(kept)
    answers = [line for line in going.told if line.startswith("bench: ") and "Not recorded" not in line]
    texts = {f"bench: {event['text']}" for event in log.events("said")}
    assert [line for line in answers if line not in texts] == []
    again = talk(tmp_path)
    again.send("where are we")
    assert again.end_of_input() == 3
    assert not any(HELD in line for line in again.told)
    assert verify(log_in(tmp_path)).ok
