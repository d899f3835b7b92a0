"""The line conversation: plain text, in step with the answers, timers heard while a line is awaited."""

from __future__ import annotations

import io
import os
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TextIO

from fixed_views import DWELL, FINISHED, JOB
from still_port import StillPort

from assistant.view import Line, View
from tui.talk import LONGEST, run_talk


class Answering(StillPort):
    """Answers each line late, from another thread, like a session does."""

    def __init__(self, view: View, answer: Callable[[str], str] = lambda text: f"heard {text}") -> None:
        super().__init__(replace(view, conversation=(Line("bench", "Good morning.", 0.0),)))
        self._answer = answer
        self._busy = 0

    def submit(self, text: str) -> None:
        super().submit(text)
        self._busy += 1
        threading.Timer(0.02, self._reply, [text]).start()

    def _reply(self, text: str) -> None:
        said = (Line("you", text, 1.0, "typed"), Line("bench", self._answer(text), 1.0))
        view = self.view()
        if text == "all done":
            view = replace(FINISHED, simulated=view.simulated, conversation=view.conversation)
        self.publish(replace(view, conversation=view.conversation + said))
        self._busy -= 1

    def idle(self) -> bool:
        return self._busy == 0


def talk(port: StillPort, text: str) -> tuple[int, list[str]]:
    """Without ears: with them, the end of the input would not be the end."""
    port.publish(replace(port.view(), ear="TYPE ONLY"))
    out = io.StringIO()
    code = run_talk(port, io.StringIO(text), out)
    return code, out.getvalue().splitlines()


def test_piped_lines_are_answered_one_by_one() -> None:
    _code, told = talk(Answering(JOB), "one\ntwo\n")
    assert told[:5] == [
        "bench: Good morning.",
        "you: one",
        "bench: heard one",
        "you: two",
        "bench: heard two",
    ]


def test_the_end_of_the_input_says_where_the_record_is_and_that_nothing_is_lost() -> None:
    code, told = talk(Answering(JOB), "one\n")
    assert code == 3
    assert JOB.log_path in told[-2]
    assert "nothing is lost" in told[-1]


def test_ears_go_on_listening_when_the_input_has_ended() -> None:
    port, out = Answering(JOB), io.StringIO()
    port.publish(replace(port.view(), ear="LISTENING"))
    talking = threading.Thread(target=run_talk, args=(port, io.StringIO(""), out), daemon=True)
    talking.start()
    talking.join(0.5)
    assert talking.is_alive()
    port.publish(replace(port.view(), ear="TYPE ONLY"))
    talking.join(5)
    assert not talking.is_alive()


def test_leaving_during_the_dwell_says_what_still_runs() -> None:
    _code, told = talk(StillPort(DWELL), "")
    assert any("still running: dwell" in line for line in told)


def test_a_finished_job_ends_the_talk_with_success() -> None:
    code, told = talk(Answering(JOB), "all done\nnever read\n")
    assert code == 0
    assert told[-1].startswith("finished: Accepted with a note")
    assert "you: never read" not in told


def test_simulated_is_the_first_word() -> None:
    _code, told = talk(StillPort(DWELL), "")
    assert told[0].startswith("SIMULATED")


def test_nothing_that_a_terminal_obeys_is_printed_or_submitted() -> None:
    port = Answering(JOB, answer=lambda _text: "a\x1b[31mb\u202ec")
    _code, told = talk(port, "do\x1b[2Jne\n")
    assert port.submitted == ["do[2Jne"]
    assert "bench: a[31mbc" in told


def test_empty_lines_are_nothing_said() -> None:
    port = Answering(replace(JOB, ear="TYPE ONLY"))
    talk(port, "\n   \n\x1b\n")
    assert port.submitted == []


def test_a_line_without_end_is_dropped_in_words_and_the_next_one_counts() -> None:
    port = Answering(replace(JOB, ear="TYPE ONLY"))
    _code, told = talk(port, "x" * (20 * LONGEST) + "\nnext\n")
    assert port.submitted == ["next"]
    assert any("was dropped" in line for line in told)


class _Terminal:
    """A pipe that says it is a terminal."""

    def __init__(self) -> None:
        read, write = os.pipe()
        self.reader: TextIO = os.fdopen(read)
        self.writer: TextIO = os.fdopen(write, "w")

    def readline(self, limit: int = -1) -> str:
        return self.reader.readline(limit)

    def isatty(self) -> bool:
        return True


def test_a_timer_speaks_while_a_line_is_awaited() -> None:
    port, terminal, out = Answering(replace(DWELL, ear="TYPE ONLY")), _Terminal(), io.StringIO()
    thread = threading.Thread(target=run_talk, args=(port, terminal, out))
    thread.start()
    view = port.view()
    port.publish(replace(view, conversation=(*view.conversation, Line("bench", "One minute left.", 2.0))))
    deadline = time.monotonic() + 5
    while "One minute left." not in out.getvalue() and time.monotonic() < deadline:
        time.sleep(0.01)
    terminal.writer.close()
    thread.join(5)
    assert "bench: One minute left." in out.getvalue().splitlines()


def test_what_was_typed_at_a_terminal_is_not_printed_again() -> None:
    port, terminal, out = Answering(replace(JOB, ear="TYPE ONLY")), _Terminal(), io.StringIO()
    terminal.writer.write("one\n")
    terminal.writer.close()
    run_talk(port, terminal, out)  # type: ignore[arg-type]
    assert "bench: heard one" in out.getvalue()
    assert "you: one" not in out.getvalue()


def test_control_c_leaves_as_the_end_of_input_does() -> None:
    class Interrupting(StillPort):
        def idle(self) -> bool:
            raise KeyboardInterrupt

    code, told = talk(Interrupting(JOB), "")
    assert code == 130
    assert "nothing is lost" in told[-1]
