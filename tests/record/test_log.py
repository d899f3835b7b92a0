"""The log: what is acknowledged is there, what is torn is cut, what is bad is named."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

import pytest

from assistant.record.chain import (
    FIRST_PREV,
    LARGEST_LOG,
    BadLog,
    EntryRefused,
    RecordError,
    digest,
    encode,
    fields,
)
from assistant.record.log import LogFile, LogWriter, RecordFailed
from assistant.record.read import read_log
from assistant.record.stamp import Stamp

NOTE = {"kind": "noted", "text": "x"}
OPENING = {"kind": "opened", "simulated": False}


def stamp_at(t_s: float) -> Stamp:
    return Stamp(t_s, "2026-11-25T14:00:00.000+01:00", 5000.0 + t_s, "0badcafe")


def test_entries_come_back_as_they_were_given(three_appends: Path) -> None:
    lines = read_log(three_appends)
    assert [line.kind for line in lines] == ["opened", "noted", "said", "question_put", "noted"]
    assert [line.left for line in lines] == [0, 2, 1, 0, 0]
    assert lines[1].event["text"] == "snow ☃ and \x1b[31m red"
    assert lines[4].stamp == stamp_at(2.25)


def test_a_log_is_readable_by_its_owner_only(three_appends: Path) -> None:
    assert stat.S_IMODE(three_appends.stat().st_mode) == 0o600


def test_a_log_is_never_written_over(three_appends: Path) -> None:
    before = three_appends.read_bytes()
    with pytest.raises(RecordFailed, match="never written over"):
        LogWriter.create(three_appends, OPENING, stamp_at(0.0))
    assert three_appends.read_bytes() == before


def test_a_session_is_taken_up_where_it_stopped(three_appends: Path) -> None:
    with LogWriter.open_existing(three_appends) as writer:
        assert writer.torn is None
        assert (writer.count, writer.head) == (5, read_log(three_appends)[-1].digest)
        assert [line.n for line in writer.lines] == [0, 1, 2, 3, 4]
        writer.append([NOTE], stamp_at(9.0))
    assert len(read_log(three_appends)) == 6


class Unsynced(LogFile):
    """Saves the disk a few thousand syncs; what is tested is what is cut."""

    def sync(self) -> None:
        pass


def test_a_tail_torn_at_any_byte_is_cut_back_to_the_last_whole_append(three_appends: Path) -> None:
    whole = three_appends.read_bytes()
    ends = [at + 1 for at, byte in enumerate(whole) if byte == ord("\n")]
    appends = [(ends[0], 1), (ends[3], 4), (ends[4], 5)]  # bytes and lines at the end of each append
    for cut in range(ends[0], len(whole) + 1):
        three_appends.write_bytes(whole[:cut])
        kept_bytes, kept_lines = max(entry for entry in appends if entry[0] <= cut)
        with LogWriter.open_existing(three_appends, Unsynced) as writer:
            assert writer.count == kept_lines, cut
            assert (writer.torn.cut_bytes if writer.torn else 0) == cut - kept_bytes, cut
            assert three_appends.read_bytes() == whole[:kept_bytes], cut
            writer.append([{"kind": "torn_tail", "cut_bytes": cut - kept_bytes}], stamp_at(3.0))
        assert len(read_log(three_appends)) == kept_lines + 1, cut


def test_a_torn_opening_line_is_no_session(three_appends: Path) -> None:
    first = three_appends.read_bytes().splitlines(keepends=True)[0]
    for cut in range(1, len(first)):
        three_appends.write_bytes(first[:cut])
        with pytest.raises(BadLog, match="no whole opening line"):
            LogWriter.open_existing(three_appends)
        assert three_appends.read_bytes() == first[:cut]


def test_a_tail_of_zeros_as_a_power_cut_leaves_it_is_cut(three_appends: Path) -> None:
    whole = three_appends.read_bytes()
    three_appends.write_bytes(whole + b"\0" * 4096)
    with LogWriter.open_existing(three_appends) as writer:
        assert writer.torn is not None
        assert (writer.torn.after_line, writer.torn.cut_bytes) == (5, 4096)
    assert three_appends.read_bytes() == whole


def test_damage_before_the_tail_is_not_mended(three_appends: Path) -> None:
    raw = bytearray(three_appends.read_bytes())
    raw[raw.index(b"Right.")] ^= 1
    three_appends.write_bytes(raw + b"torn")
    with pytest.raises(BadLog, match=r"^Line 3 is not as it was written") as caught:
        LogWriter.open_existing(three_appends)
    assert caught.value.line_no == 3
    assert three_appends.read_bytes() == raw + b"torn"


def test_half_an_append_does_not_read_as_a_whole_log(three_appends: Path) -> None:
    lines = three_appends.read_bytes().splitlines(keepends=True)
    three_appends.write_bytes(b"".join(lines[:3]))
    with pytest.raises(BadLog, match="Line 3 was written together with lines after it"):
        read_log(three_appends)


def test_an_entry_that_cannot_be_written_leaves_the_log_going(log_path: Path) -> None:
    with LogWriter.create(log_path, OPENING, stamp_at(0.0)) as writer:
        size = log_path.stat().st_size
        with pytest.raises(EntryRefused):
            writer.append([NOTE, {"kind": "noted", "text": "\ud800"}], stamp_at(1.0))
        assert log_path.stat().st_size == size
        writer.append([NOTE], stamp_at(2.0))
    assert len(read_log(log_path)) == 2


def test_nothing_appended_writes_nothing(log_path: Path) -> None:
    with LogWriter.create(log_path, OPENING, stamp_at(0.0)) as writer:
        writer.append([], stamp_at(1.0))
    assert len(read_log(log_path)) == 1


def test_a_closed_writer_refuses(log_path: Path) -> None:
    writer = LogWriter.create(log_path, OPENING, stamp_at(0.0))
    writer.close()
    with pytest.raises(RecordFailed, match="is closed"):
        writer.append([NOTE], stamp_at(1.0))


@pytest.mark.parametrize("reader", [read_log, LogWriter.open_existing])
@pytest.mark.parametrize(
    ("what", "words"),
    [("missing", "no file"), ("folder", "is a folder"), ("empty", "is empty"), ("junk", "Line 1 is not"),
     ("zeros", "Line 1 is not whole"), ("sparse", "Line 1 is not whole"), ("huge", "never over"), ("pipe", "not an ordinary file"),
     ("text", "Line 1 is not a whole JSON"), ("json", "fields of a log line"), ("nul", r"a\\x00b"), ("long name", "name")],
)  # fmt: skip
def test_a_bad_file_is_told_in_one_sentence(what: str, words: str, reader: object, tmp_path: Path) -> None:
    path = tmp_path / "bad"
    match what:
        case "folder":
            path.mkdir()
        case "empty":
            path.touch()
        case "junk":
            path.write_bytes(os.urandom(5000).replace(b"\n", b"") + b"\n")
        case "zeros":
            path.write_bytes(b"\0" * 5000)
        case "sparse":
            path.touch()
            os.truncate(path, 100_000_000)
        case "huge":
            path.touch()
            os.truncate(path, LARGEST_LOG + 1)
        case "pipe":
            os.mkfifo(path)
        case "text":
            path.write_text("Dear diary,\n")
        case "json":
            path.write_text('{"kind": "opened"}\n')
        case "nul":
            path = tmp_path / "a\0b"
        case "long name":
            path = tmp_path / ("a" * 300)
    with pytest.raises(RecordError) as caught:
        reader(path)  # type: ignore[operator]
    sentence = str(caught.value)
    if reader == LogWriter.open_existing and what in ("zeros", "sparse"):
        words = "opening line|not whole"
    assert "\n" not in sentence
    assert sentence.endswith(".")
    assert re.search(words, sentence), sentence


def test_a_missing_folder_is_told_and_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(RecordFailed, match="Cannot make"):
        LogWriter.create(tmp_path / "not there" / "log.jsonl", OPENING, stamp_at(0.0))
    assert list(tmp_path.iterdir()) == []


def test_a_line_that_breaks_into_entries_written_together_is_named(log_path: Path) -> None:
    head, block = FIRST_PREV, b""
    for n, (left, event) in enumerate([(0, OPENING), (2, NOTE), (0, NOTE)]):
        raw = encode(fields(n, head, left, stamp_at(float(n)), event))
        head, block = digest(raw), block + raw + b"\n"
    log_path.write_bytes(block)
    with pytest.raises(BadLog, match="Line 3 does not belong to the entries written together"):
        read_log(log_path)
