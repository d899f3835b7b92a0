"""The command line in the test's own process: exit code, standard output, standard error."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tui.main import run

Outcome = tuple[int, str, str]
Play = Callable[..., Outcome]


def command_line(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Play:
    """Runs the program with the arguments that it is called with."""
    monkeypatch.setattr("signal.signal", lambda *_: None)  # those of the test runner stay

    def play(*arguments: object) -> Outcome:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        told = capsys.readouterr()
        return int(left.value.code or 0), told.out, told.err

    return play
