"""A disk that fails: said at once, cut back, held; nothing acknowledged is lost."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from typing import Any

import pytest

from assistant.record.log import LogFile, LogWriter, RecordBusy, RecordFailed
from assistant.record.read import read_log
from assistant.record.stamp import Stamp

ROOT = Path(__file__).parents[2]
OPENING = {"kind": "opened", "simulated": False}


def stamp_at(t_s: float) -> Stamp:
    return Stamp(t_s, "2026-11-25T14:00:00.000+01:00", 5000.0 + t_s, "0badcafe")


def failing(at: int, how: str) -> type[LogFile]:
    """A file whose `at`-th operation (write, sync and cut counted together, from 0) fails as `how` says."""
    counter = iter(range(10_000))

    class FailingFile(LogFile):
        def _fail(self, operation: str) -> None:
            if next(counter) == at:
                raise OSError(errno.EIO, f"Input/output error on {operation}")

        def write(self, data: bytes) -> int:
            if how == "short" and next(counter) == at:
                return super().write(data[: len(data) // 2])
            if how == "error":
                self._fail("write")
            return super().write(data)

        def sync(self) -> None:
            if how == "error":
                self._fail("sync")
            super().sync()

        def cut(self, size: int) -> None:
            if how == "error":
                self._fail("cut")
            super().cut(size)

    return FailingFile


def write_until_failure(path: Path, file_type: type[LogFile], appends: int = 6) -> tuple[int, str]:
    """Acknowledged lines, and the sentence of the failure ('' for none)."""
    acknowledged = 0
    try:
        with LogWriter.create(path, OPENING, stamp_at(0.0), file_type) as writer:
            acknowledged = 1
            for number in range(appends):
                batch: list[dict[str, Any]] = [{"kind": "noted", "text": "x" * 50}] * 2
                writer.append(batch, stamp_at(1.0 + number))
                acknowledged += 2
    except RecordFailed as error:
        return acknowledged, str(error)
    return acknowledged, ""


@pytest.mark.parametrize("how", ["error", "short"])
def test_the_nth_operation_fails_for_every_n_until_none_does(how: str, tmp_path: Path) -> None:
    for n in range(100):
        path = tmp_path / f"{how}{n}.jsonl"
        acknowledged, sentence = write_until_failure(path, failing(n, how))
        if not sentence:
            assert acknowledged == 13
            break
        if acknowledged == 0:
            assert not path.exists()
            continue
        assert "could not be written" in sentence
        assert f"{acknowledged} {'entry is' if acknowledged == 1 else 'entries are'} safe" in sentence
        assert len(read_log(path)) == acknowledged
        with LogWriter.open_existing(path) as writer:
            assert (writer.count, writer.torn) == (acknowledged, None)
            writer.append([{"kind": "noted", "text": "after"}], stamp_at(60.0))
    else:
        pytest.fail("the run never got through")
    assert n > 5


def test_each_append_is_one_write_and_one_sync_before_it_returns(
    log_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[str] = []

    class WatchedFile(LogFile):
        def write(self, data: bytes) -> int:
            seen.append(f"write {len(data.splitlines())}")
            return super().write(data)

        def sync(self) -> None:
            seen.append("sync")
            super().sync()

    monkeypatch.setattr("assistant.record.log.sync_folder", lambda folder: seen.append(f"sync {folder.name}"))
    with LogWriter.create(log_path, OPENING, stamp_at(0.0), WatchedFile) as writer:
        assert seen == ["write 1", "sync", f"sync {log_path.parent.name}"]
        seen.clear()
        writer.append([{"kind": "noted", "text": "x"}] * 3, stamp_at(1.0))
        assert seen == ["write 3", "sync"]


class BrokenAfterOpening(LogFile):
    """Takes half a line, then can neither go on nor cut back."""

    broken = False

    def write(self, data: bytes) -> int:
        return super().write(data[: len(data) // 2]) if self.broken else super().write(data)

    def cut(self, size: int) -> None:
        if self.broken:
            raise OSError(errno.EROFS, "Read-only file system")
        super().cut(size)


def test_where_cutting_back_fails_too_it_is_said_and_mended_on_opening(log_path: Path) -> None:
    writer = LogWriter.create(log_path, OPENING, stamp_at(0.0), BrokenAfterOpening)
    writer._file.broken = True  # type: ignore[attr-defined]
    with pytest.raises(RecordFailed, match="cutting back the unfinished entry failed too"):
        writer.append([{"kind": "noted", "text": "x"}], stamp_at(1.0))
    writer.close()
    with LogWriter.open_existing(log_path) as again:
        assert again.torn is not None
        assert again.count == 1


def test_after_a_failure_every_append_is_refused_even_if_the_disk_is_well_again(log_path: Path) -> None:
    with LogWriter.create(log_path, OPENING, stamp_at(0.0), failing(2, "error")) as writer:
        with pytest.raises(RecordFailed):
            writer.append([{"kind": "noted", "text": "x"}], stamp_at(1.0))
        for _ in range(3):
            with pytest.raises(RecordFailed, match=r"^The record is held"):
                writer.append([{"kind": "noted", "text": "x"}], stamp_at(2.0))
    assert len(read_log(log_path)) == 1


def run_child(code: str, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code), *arguments],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


WRITE_ON = """
    import resource, sys
    from pathlib import Path
    from assistant.record.log import LogWriter, RecordFailed
    from assistant.record.stamp import SystemClock
    clock = SystemClock()
    limit = int(sys.argv[2])
    if limit:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    writer = LogWriter.create(Path(sys.argv[1]), {"kind": "opened", "simulated": False}, clock.now())
    print(writer.count, flush=True)
    try:
        while True:
            writer.append([{"kind": "noted", "text": "x" * 100}] * 3, clock.now())
            print(writer.count, flush=True)
    except RecordFailed as error:
        print(error)
"""


@pytest.mark.parametrize("limit", [4000, 4096, 5003])
def test_a_full_disk_loses_nothing_that_was_acknowledged(limit: int, log_path: Path) -> None:
    child = run_child(WRITE_ON, str(log_path), str(limit))
    out, err = child.communicate(timeout=60)
    assert err == ""
    *counts, sentence = out.splitlines()
    assert "could not be written" in sentence
    assert len(read_log(log_path)) == int(counts[-1]) > 3
    with LogWriter.open_existing(log_path) as writer:
        assert writer.torn is None


@pytest.mark.parametrize("wait_s", [0.0, 0.004, 0.011, 0.03])
def test_a_program_killed_while_writing_leaves_all_it_acknowledged(wait_s: float, log_path: Path) -> None:
    child = run_child(WRITE_ON, str(log_path), "0")
    assert child.stdout is not None
    for _ in range(20):
        child.stdout.readline()
    time.sleep(wait_s)
    child.send_signal(signal.SIGKILL)
    # Of the pipe and of what `readline` has taken out of it already: `communicate` gives the pipe alone.
    acknowledged = 58 if not (rest := child.stdout.read().split()) else int(rest[-1])
    child.communicate(timeout=30)
    with LogWriter.open_existing(log_path) as writer:
        # One append more may be on disk than the child could say.
        assert writer.count - acknowledged in (0, 3)
        writer.append([{"kind": "resumed", "gap_s": 0.0, "note": ""}], writer.lines[-1].stamp)
    assert len(read_log(log_path)) == writer.count


def test_a_second_program_is_told_and_refuses(log_path: Path) -> None:
    with LogWriter.create(log_path, OPENING, stamp_at(0.0)):
        before = log_path.read_bytes()
        with pytest.raises(RecordBusy, match="Another program"):
            LogWriter.open_existing(log_path)
        child = run_child(
            """
            import sys
            from pathlib import Path
            from assistant.record.log import LogWriter
            try:
                LogWriter.open_existing(Path(sys.argv[1]))
            except Exception as error:
                print(type(error).__name__, error)
            """,
            str(log_path),
        )
        out, err = child.communicate(timeout=60)
        assert (err, out.split()[0]) == ("", "RecordBusy")
        assert log_path.read_bytes() == before
    LogWriter.open_existing(log_path).close()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_rights_is_told(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(RecordFailed, match="Permission denied"):
            LogWriter.create(tmp_path / "log.jsonl", OPENING, stamp_at(0.0))
    finally:
        tmp_path.chmod(0o700)


def by_another_hand(how: str, path: Path) -> None:
    raw = path.read_bytes()
    lines = raw.splitlines(keepends=True)
    with path.open("r+b") as file:
        match how:
            case "cut":
                file.truncate(len(raw) - len(lines[-1]))
            case "added to":
                file.seek(0, os.SEEK_END)
                file.write(lines[-1])
            case "its end edited":
                file.seek(len(raw) - 40)
                file.write(b"9")
            case "its middle edited":
                file.seek(raw.index(b"note 1"))
                file.write(b"Note")


@pytest.mark.parametrize("how", ["cut", "added to", "its end edited", "its middle edited"])
def test_a_log_that_another_hand_has_changed_is_noticed_at_the_next_entry(how: str, log_path: Path) -> None:
    with LogWriter.create(log_path, OPENING, stamp_at(0.0)) as writer:
        for n in range(4):
            writer.append([{"kind": "noted", "text": f"note {n}"}], stamp_at(n))
        time.sleep(0.02)  # the time of a change is told in steps of some milliseconds
        by_another_hand(how, log_path)
        as_found = log_path.read_bytes()
        for _ in range(2):
            with pytest.raises(RecordFailed, match="was cut, added to or changed by another hand"):
                writer.append([{"kind": "noted", "text": "next"}], stamp_at(9.0))
    assert log_path.read_bytes() == as_found


def test_a_log_that_was_only_touched_goes_on(log_path: Path) -> None:
    with LogWriter.create(log_path, OPENING, stamp_at(0.0)) as writer:
        writer.append([{"kind": "noted", "text": "one"}], stamp_at(1.0))
        os.utime(log_path)
        writer.append([{"kind": "noted", "text": "two"}], stamp_at(2.0))
    assert len(read_log(log_path)) == 3
