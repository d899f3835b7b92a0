"""The real program as a child of a test: lines into its input, what it has told, its end by force."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from moved_time import ROOT

BY_NAME = [sys.executable, "-m", "tui.main"]
ON_MOVED_TIME = [sys.executable, str(Path(__file__).with_name("moved_time.py"))]


def strace_works() -> bool:
    """Whether a child can be traced here, and so be killed, or be given errors, at a system call."""
    if shutil.which("strace") is None:
        return False
    tried = subprocess.run(
        ["strace", "-f", "--seccomp-bpf", "-qq", "-o", os.devnull, "true"], capture_output=True, check=False
    )
    return tried.returncode == 0


def at_call(inject: str, *calls: str) -> list[str]:
    """Words before a command that let the system do `inject` at one of the calls, as strace spells it."""
    which = ",".join(calls)
    return [
        "strace", "-f", "--seccomp-bpf", "-qq", "-o", os.devnull, "-e", f"trace={which}", "-e", f"inject={which}:{inject}",
    ]  # fmt: skip


class Program:
    """One run of `loopwright`, in a process group of its own."""

    def __init__(
        self,
        command: Sequence[str],
        arguments: Sequence[str],
        before: Callable[[], None] | None = None,
        around: dict[str, str] | None = None,
    ) -> None:
        self.child = subprocess.Popen(
            [*command, *arguments], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            start_new_session=True, cwd=ROOT, preexec_fn=before,  # noqa: PLW1509 -- it sets a limit and no more
            env={**os.environ, **(around or {})},
        )  # fmt: skip
        self.told: list[str] = []  # whole lines, in order
        self._err = b""
        self._readers = [threading.Thread(target=f, daemon=True) for f in (self._read, self._read_err)]
        for reader in self._readers:
            reader.start()

    def send(self, line: str) -> None:
        """A line into its input; nothing where it has ended meanwhile."""
        assert self.child.stdin is not None
        with suppress(BrokenPipeError):
            self.child.stdin.write(line.encode() + b"\n")
            self.child.stdin.flush()

    def until(self, so: Callable[[], bool], within_s: float = 60.0) -> bool:
        """Waits until it is so. False: the program has ended, or it took too long."""
        end = time.monotonic() + within_s
        while not so():
            if self.child.poll() is not None or time.monotonic() > end:
                return so()
            time.sleep(0.01)
        return True

    def kill(self) -> None:
        """SIGKILL; returns when all that it had told has been read."""
        with suppress(ProcessLookupError):
            os.killpg(self.child.pid, signal.SIGKILL)
        self._gone()

    def end_of_input(self, within_s: float = 60.0) -> int:
        """Nothing more is typed. Returns: its exit code."""
        assert self.child.stdin is not None
        with suppress(BrokenPipeError):
            self.child.stdin.close()
        code = self.child.wait(timeout=within_s)
        self._gone()
        return code

    @property
    def alive(self) -> bool:
        return self.child.poll() is None

    @property
    def errors(self) -> str:
        """All of its standard error; read it after the end."""
        return self._err.decode(errors="replace")

    def _gone(self) -> None:
        self.child.wait(timeout=60)
        for reader in self._readers:
            reader.join(timeout=60)
        for stream in (self.child.stdin, self.child.stdout, self.child.stderr):
            if stream is not None:
                with suppress(BrokenPipeError):
                    stream.close()

    def _read(self) -> None:
        assert self.child.stdout is not None
        for raw in self.child.stdout:
            if raw.endswith(b"\n"):  # half a line has told nobody anything
                self.told.append(raw.decode(errors="replace").rstrip("\n"))

    def _read_err(self) -> None:
        assert self.child.stderr is not None
        self._err = self.child.stderr.read()
