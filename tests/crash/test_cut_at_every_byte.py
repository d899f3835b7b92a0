"""A log cut at every byte of its last append, as a power cut leaves it: it opens, is mended and noted, and no more."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import at_the_press as press
import pytest
from cuts import Cut, cuts_of, open_cut, recorded_appends, take_up_cut

EVERY = 97  # each so manieth cut is taken up as a session too: opening is what differs, taking up is the same
LARGEST = 2500  # bytes of an append that is cut at each of them here; `cuts.py` takes larger ones too


def a_single_line() -> bytes:
    """The recorded job before the heat, ending with an append of one line."""
    return next(
        raw
        for raw, _, kinds in recorded_appends("demo")
        if kinds == ["question_put"] and raw.count(b"\n") > 40
    )


def several_lines() -> bytes:
    """The recorded job when a step is done: several lines in one append."""
    done = (raw for raw, size, kinds in recorded_appends("demo") if "act_done" in kinds and size < LARGEST)
    return next(done)


@pytest.mark.parametrize("pick", [a_single_line, several_lines])
def test_every_cut_of_the_last_append_opens_and_leaves_what_stood_before_as_it_was(
    pick: Callable[[], bytes], tmp_path: Path
) -> None:
    cuts = list(cuts_of(pick()))
    assert len(cuts) > 200
    path = tmp_path / "log.jsonl"
    assert [fault for cut in cuts for fault in open_cut(cut, path)] == []
    assert [fault for cut in cuts[::EVERY] for fault in take_up_cut(cut, path)] == []


def test_a_cut_inside_an_append_takes_all_of_its_lines(tmp_path: Path) -> None:
    raw = several_lines()
    last = list(cuts_of(raw))[-1]
    assert last == Cut(raw[:-1], last.kept, len(raw) - last.kept - 1)
    assert open_cut(last, tmp_path / "log.jsonl") == []
    assert raw[last.kept : -1].count(b"\n") > 2


def test_a_log_cut_inside_its_opening_line_is_no_session(tmp_path: Path) -> None:
    from assistant.record.chain import BadLog
    from assistant.record.log import LogWriter

    raw, _, _ = press.recorded("demo")[0]
    path = tmp_path / "log.jsonl"
    for at in range(1, len(raw), 7):
        path.write_bytes(raw[:at])
        with pytest.raises(BadLog, match="no whole opening line"):
            LogWriter.open_existing(path)
        assert path.read_bytes() == raw[:at]
