"""The power or the disk fails between the closing line and the seal: the next start makes the seal, and no more."""

from __future__ import annotations

import errno
import json
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest

from assistant.opening import NotTakenUp, open_bench, take_up_session
from assistant.record.log import LogFile
from assistant.review.verify import verify
from tui.running import RunningSession
from tui.talk import run_talk


def stopped(folder: Path) -> Path:
    """A session that was stopped, closed and sealed."""
    talk = press.fresh(folder, press.sheet("demo"))
    talk.type("that is correct", "stop the session", "that is correct")
    return talk.session.writer.path


def before_the_seal(path: Path) -> int:
    """Bytes up to the seal."""
    raw = path.read_bytes()
    last = raw.splitlines(keepends=True)[-1]
    assert json.loads(last)["event"]["kind"] == "sealed"
    return len(raw) - len(last)


@pytest.mark.parametrize("torn", [0, 1, 200])
def test_it_is_found_and_sealed_and_nothing_before_is_touched(tmp_path: Path, torn: int) -> None:
    path = stopped(tmp_path)
    raw, size = path.read_bytes(), before_the_seal(path)
    path.write_bytes(raw[: size + torn])
    press.mark_back(path)
    bench = open_bench(tmp_path, callsign=None)
    left = bench.store.unfinished()
    assert left is not None
    assert left.session == path.parent.name
    session = take_up_session(bench, left.session)
    told = session.lines_since(0)[-1].text
    verdict = verify(path)
    assert (verdict.ok, verdict.closed, verdict.sealed) == (True, True, True)
    assert f"Seal code {verdict.code}" in told
    assert path.read_bytes().startswith(raw[:size])
    assert sum(
        json.loads(line)["event"]["kind"] == "torn_tail" for line in path.read_bytes().splitlines()
    ) == bool(torn)
    assert bench.store.unfinished() is None
    with pytest.raises(NotTakenUp, match="is closed"):
        take_up_session(bench, left.session)


class FullBeforeTheSeal(LogFile):
    def write(self, data: bytes) -> int:
        if b'"kind":"sealed"' in data:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(data)


def test_a_disk_that_is_full_before_the_seal_is_said_and_leaves_with_a_code_of_its_own(
    tmp_path: Path,
) -> None:
    import io

    talk = press.fresh(tmp_path, press.sheet("demo"))
    talk.type("that is correct", "stop the session")
    file: Any = talk.session.writer._file
    file.__class__ = FullBeforeTheSeal
    assert "The session is closed, but not sealed" in talk.type("that is correct")
    port, out = RunningSession(talk.session), io.StringIO()
    code = run_talk(port, io.StringIO(""), out)
    port.close()
    assert code == 3
    assert "it has no seal yet" in out.getvalue().splitlines()[-1]
    left = open_bench(tmp_path, callsign=None).store.unfinished()
    assert left is not None
    assert left.outcome == "stopped"
    take_up_session(open_bench(tmp_path, callsign=None), left.session)
    assert verify(talk.session.writer.path).sealed
