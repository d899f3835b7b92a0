"""Lets the tests here import their neighbours, whatever way pytest was started."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import pytest
from in_process import Play, command_line


@pytest.fixture
def loopwright(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Play:
    """The command line as it is started, in this process, with folders of its own."""
    for name in ("XDG_STATE_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))
    return command_line(capsys, monkeypatch)
