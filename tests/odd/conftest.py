"""The command line as these tests call it, in the test's own process."""

from __future__ import annotations

import pytest
from in_process import Play, command_line


@pytest.fixture
def loopwright(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Play:
    return command_line(capsys, monkeypatch)
