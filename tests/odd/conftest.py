"""The command line as these tests call it, in the test's own process."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tui.main import run

Outcome = tuple[int, str, str]


@pytest.fixture
def loopwright(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Callable[..., Outcome]:
    monkeypatch.setattr("signal.signal", lambda *_: None)  # those of the test runner stay

    def play(*arguments: object) -> Outcome:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        told = capsys.readouterr()
        return int(left.value.code or 0), told.out, told.err

    return play
