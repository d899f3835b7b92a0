"""The line-by-line conversation: no drawing, no escape codes, real time.

Input is read in a thread of its own, so that timers can speak while a line is awaited.
"""

from __future__ import annotations

import queue
import threading
from contextlib import suppress
from typing import TextIO

from assistant.view import Line
from tui.leaving import of_the_record
from tui.plain import plain
from tui.port import Port

LONGEST = 1000  # signs in a line; nobody says more at a press
_BEAT_S = 0.05


def run_talk(port: Port, stdin: TextIO, stdout: TextIO) -> int:
    """Talks until the job is finished or the input ends.

    Piped lines are submitted one by one, each after the answer to the one before. When they end, ears that
    listen go on listening, and wait for a microphone that was lost.

    Returns: 0 finished, 3 the input ended before, or the finished record has no seal; 130 interrupted.
    """
    teller = _Teller(port, stdout, echoed=stdin.isatty())
    if port.view().simulated:
        teller.say("SIMULATED: a simulated press in accelerated time. This can never be kept as a joint.")
    lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    threading.Thread(target=_read, args=(stdin, lines), name="typed lines", daemon=True).start()
    changed, ended = threading.Event(), False
    port.subscribe(lambda _view: changed.set())
    try:
        while True:
            changed.clear()
            teller.catch_up()
            awaits = port.awaits_sound()  # before `idle`: the last that was heard is queued by then
            if not port.idle():
                changed.wait(_BEAT_S)
                continue
            teller.catch_up()
            if port.view().finished:
                teller.say(f"finished: {port.view().finished}")
                return teller.leave("not sealed", 3) if port.view().unrecorded else 0
            if ended and not awaits and port.view().ear == "TYPE ONLY":
                return teller.leave("end of input", 3)
            try:
                line = lines.get(timeout=_BEAT_S)
            except queue.Empty:
                continue
            if line is None:
                ended = True
                continue
            if len(line) > LONGEST:
                teller.say(f"note: a line of more than {LONGEST} signs was dropped; say it shorter.")
            elif text := plain(line).strip():
                port.submit(text)
    except KeyboardInterrupt:
        return teller.leave("interrupted", 130)


class _Teller:
    """Prints what was not printed yet."""

    def __init__(self, port: Port, stdout: TextIO, *, echoed: bool) -> None:
        self._port, self._stdout, self._echoed = port, stdout, echoed
        self._told = 0

    def catch_up(self) -> None:
        fresh = self._port.lines_since(self._told)
        self._told += len(fresh)
        for line in fresh:
            # What was typed at a terminal stands there already.
            if not (self._echoed and line.who == "you" and line.way == "typed"):
                self.say(_row(line))

    def say(self, text: str) -> None:
        self._stdout.write(f"{plain(text)}\n")
        self._stdout.flush()

    def leave(self, why: str, code: int) -> int:
        self.catch_up()
        view = self._port.view()
        running = ", ".join(timer.label for timer in view.timers)
        if running:
            self.say(f"note: still running: {running}. The press goes on by itself.")
        self.say(f"note: {why}. The record is on disk: {view.log_path}")
        self.say(f"note: {of_the_record(view)}")
        return code


def _row(line: Line) -> str:
    who = "ALARM" if line.who == "alarm" else line.who
    heard = f" ({line.way})" if line.way in ("voice", "key") else ""
    return f"{who}: {line.text}{heard}"


def _read(stdin: TextIO, lines: queue.SimpleQueue[str | None]) -> None:
    """Lines as they come, None at the end. One that is too long is cut, so that no input fills the memory."""
    with suppress(OSError, ValueError):  # a terminal that is gone, a stream that was closed
        while line := stdin.readline(LONGEST + 1):
            rest = line
            while len(rest) > LONGEST and not rest.endswith("\n"):
                rest = stdin.readline(LONGEST + 1)
            lines.put(line)
    lines.put(None)
