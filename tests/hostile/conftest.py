"""Lets the tests here import their neighbours, whatever way pytest was started."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from collections.abc import Callable

import pytest

from tui.main import run

Outcome = tuple[int, str, str]


@pytest.fixture
def loopwright(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Outcome]:
    """The command line as it is started, in this process, with folders of its own."""
    for name in ("XDG_STATE_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))
    monkeypatch.setattr("signal.signal", lambda *_: None)  # those of the test runner stay

    def play(*arguments: object) -> Outcome:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        told = capsys.readouterr()
        return int(left.value.code or 0), told.out, told.err

    return play
