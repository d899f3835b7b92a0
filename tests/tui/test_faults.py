"""What goes wrong around the program: disk, streams, signals, terminal, locale. The record stays whole, and it is said."""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import re
import resource
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import assistant.bench
from assistant.record.read import read_log
from assistant.review.verify import verify

FLAT = Path(assistant.bench.__file__).parent / "data" / "jobs" / "flat_in_the_shop.toml"
PROGRAM = (sys.executable, "-m", "tui.main")


def talk(
    folder: Path, said: str = "", *more: str, before: Callable[[], None] | None = None, **around: str
) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [*PROGRAM, "talk", "--typed", "--folder", str(folder), *more],
        input=said, capture_output=True, text=True, timeout=20, check=False, preexec_fn=before,
        env={**os.environ, **around},
    )  # fmt: skip
    assert "Traceback" not in done.stdout + done.stderr
    return done


def begin(folder: Path) -> subprocess.Popen[str]:
    """A session under way, its first question put."""
    going = subprocess.Popen(
        [*PROGRAM, "talk", "--typed", "--folder", str(folder), "--job", str(FLAT)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert going.stdout is not None
    assert "This is the job" in going.stdout.readline()
    return going


def log_in(folder: Path) -> Path:
    (found,) = folder.glob("sessions/*/log.jsonl")
    return found


def at_most(size: int) -> Callable[[], None]:
    """No file of the program's may grow past that many bytes, as on a full disk."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


@pytest.mark.slow
def test_a_disk_that_fills_up_holds_the_session_and_room_lets_it_go_on(tmp_path: Path) -> None:
    said = "that is correct\n" + "where are we\n" * 40
    full = talk(tmp_path, said, "--job", str(FLAT), before=at_most(20_000))
    assert full.returncode == 3
    assert "ALARM: I can't write the record, so I hold." in full.stdout
    kept = read_log(log_in(tmp_path))
    assert verify(log_in(tmp_path)).ok
    answered = full.stdout.split("ALARM")[0].count("bench: ")
    assert sum(line.kind == "said" for line in kept) == answered  # all that was answered, and no more

    again = talk(tmp_path, "where are we\n")
    assert again.returncode == 3
    assert "ALARM" not in again.stdout
    assert len(read_log(log_in(tmp_path))) > len(kept)
    assert verify(log_in(tmp_path)).ok


def test_a_disk_that_is_full_at_the_beginning_leaves_no_empty_session(tmp_path: Path) -> None:
    full = talk(tmp_path, "", "--job", str(FLAT), before=at_most(3_000))
    assert full.returncode == 2
    assert full.stderr.startswith("loopwright: No session was begun")
    assert not list(tmp_path.glob("sessions/*"))


@pytest.mark.parametrize("replaced", [False, True])
def test_a_log_that_is_taken_away_meanwhile_is_noticed(tmp_path: Path, replaced: bool) -> None:
    going = begin(tmp_path)
    log = log_in(tmp_path)
    held = log.read_bytes()
    log.unlink()
    if replaced:
        log.write_bytes(held)
    out, err = going.communicate("where are we\n", timeout=20)
    assert "was removed or replaced" in out
    assert err == ""
    assert (log.read_bytes() if replaced else held) == held


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_closed_standard_streams_neither_fail_nor_get_into_the_log(tmp_path: Path, closed: str) -> None:
    command = f'"{sys.executable}" -m tui.main talk --typed --folder "{tmp_path}" --job "{FLAT}" {closed}'
    done = subprocess.run(
        ["bash", "-c", command], stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=20, check=False
    )  # fmt: skip
    assert done.returncode == 3
    assert done.stderr == ""
    assert verify(log_in(tmp_path)).ok


def test_a_reader_that_goes_away_ends_the_talk_with_a_code_of_its_own(tmp_path: Path) -> None:
    going = begin(tmp_path)
    assert going.stdout is not None
    assert going.stdin is not None
    going.stdout.close()
    with contextlib.suppress(BrokenPipeError):
        going.stdin.write("where are we\n" * 50)
        going.stdin.close()
    assert going.wait(timeout=20) == 141
    assert going.stderr is not None
    assert going.stderr.read() == ""
    assert verify(log_in(tmp_path)).ok


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_being_told_to_end_leaves_the_log_in_order(tmp_path: Path, number: signal.Signals) -> None:
    going = begin(tmp_path)
    going.send_signal(number)
    _, err = going.communicate(timeout=20)
    assert (going.returncode, err) == (128 + number, "")
    assert verify(log_in(tmp_path)).ok


def test_a_terminal_that_knows_only_ascii_gets_what_it_can_show(tmp_path: Path) -> None:
    done = talk(
        tmp_path,
        "caf\u00e9 \u6c34\nwhere are we\n",
        "--job",
        str(FLAT),
        LC_ALL="C",
        PYTHONUTF8="0",
        PYTHONCOERCECLOCALE="0",
    )
    assert done.returncode == 3
    assert done.stdout.isascii()
    assert "Job sheet, step 1" in done.stdout


def test_a_home_that_cannot_be_written_to_is_said() -> None:
    around = {key: value for key, value in os.environ.items() if not key.startswith("XDG_")}
    done = subprocess.run(
        [*PROGRAM, "talk", "--typed"], env=around | {"HOME": "/proc/nobody"}, stdin=subprocess.DEVNULL,
        capture_output=True, text=True, timeout=20, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert re.fullmatch(
        r"loopwright: The folder .* cannot be used for the record: .*--folder\.\n", done.stderr
    )


class Terminal:
    """The program in a terminal of its own."""

    def __init__(self, arguments: list[str], **around: str) -> None:
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.environ.update(around)
            os.execv(sys.executable, [*PROGRAM, *arguments])
        self.before = termios.tcgetattr(self.fd)[3]

    def size(self, rows: int, columns: int) -> None:
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def shows(self, words: bytes, within_s: float = 15.0) -> bytes:
        """All that was written until `words` were."""
        seen, until = b"", time.monotonic() + within_s
        while words not in seen and time.monotonic() < until:
            if select.select([self.fd], [], [], 0.1)[0]:
                try:
                    seen += os.read(self.fd, 65536)
                except OSError:
                    break
        assert words in seen, seen[-500:]
        return seen

    def code(self) -> int:
        until = time.monotonic() + 15
        while time.monotonic() < until:
            with contextlib.suppress(OSError):
                if select.select([self.fd], [], [], 0.05)[0]:
                    os.read(self.fd, 65536)
            ended, status = os.waitpid(self.pid, os.WNOHANG)
            if ended:
                return os.waitstatus_to_exitcode(status)
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        raise AssertionError("it hung")


@contextlib.contextmanager
def terminal(arguments: list[str], **around: str) -> Iterator[Terminal]:
    opened = Terminal(arguments, **around)
    try:
        yield opened
    finally:
        with contextlib.suppress(ProcessLookupError, ChildProcessError):
            os.kill(opened.pid, signal.SIGKILL)
        with contextlib.suppress(OSError):  # hung up already
            os.close(opened.fd)


@pytest.mark.slow
def test_the_screen_survives_a_tiny_window_and_gives_the_terminal_back_when_told_to_end(
    tmp_path: Path,
) -> None:
    with terminal(
        ["--typed", "--folder", str(tmp_path), "--job", str(FLAT)], TERM="xterm-256color"
    ) as screen:
        screen.size(24, 80)
        screen.shows(b"type here")
        for rows, columns in ((5, 20), (1, 1), (24, 80)):
            screen.size(rows, columns)
            os.write(screen.fd, b"where are we\r")
            time.sleep(0.3)
        screen.shows(b"step 1")
        assert termios.tcgetattr(screen.fd)[3] != screen.before
        os.kill(screen.pid, signal.SIGTERM)
        assert b"Traceback" not in screen.shows(b"\x1b[?1049l")  # the screen that was there before
        assert screen.code() == 128 + signal.SIGTERM
        assert termios.tcgetattr(screen.fd)[3] == screen.before
    assert verify(log_in(tmp_path)).ok


def test_a_terminal_that_is_closed_leaves_the_log_in_order(tmp_path: Path) -> None:
    with terminal(
        ["--typed", "--folder", str(tmp_path), "--job", str(FLAT)], TERM="xterm-256color"
    ) as screen:
        screen.shows(b"type here")
        os.close(screen.fd)
        until = time.monotonic() + 15
        while not os.waitpid(screen.pid, os.WNOHANG)[0]:
            assert time.monotonic() < until, "it goes on without a terminal"
            time.sleep(0.05)
    assert verify(log_in(tmp_path)).ok


def test_a_terminal_that_cannot_draw_is_told_of_talk(tmp_path: Path) -> None:
    with terminal(["--typed", "--folder", str(tmp_path)], TERM="dumb") as screen:
        screen.shows(b"use 'loopwright talk'")
        assert screen.code() == 2
    assert not list(tmp_path.glob("sessions/*"))
