"""Whatever is changed in a log is found, and the line named: the quick part of `tests/tamper/try_all.py`."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from spoiled import Log, at_random, bytes_changed, bytes_taken_out_and_doubled, lines_moved
from spoiled_logs import long_log, whole_session

from assistant.review.verify import verify
from tui.main import run


@pytest.fixture(scope="module")
def whole() -> Log:
    return Log(whole_session("demo"))


@pytest.fixture(scope="module")
def foreign() -> Log:
    return Log(whole_session("solid"))


def test_every_line_taken_out_doubled_swapped_put_in_or_of_another_session_is_found(
    whole: Log, foreign: Log
) -> None:
    tried, missed = whole.not_found(lines_moved(whole, foreign, range(len(whole.lines))))
    assert missed == []
    assert tried > 5 * len(whole.lines)


def test_every_byte_of_the_last_lines_taken_out_doubled_or_changed_is_found(whole: Log) -> None:
    last = range(len(whole.lines) - 3, len(whole.lines))
    assert whole.not_found(bytes_taken_out_and_doubled(whole, last))[1] == []
    tried, missed = whole.not_found(bytes_changed(whole, 2, last))
    assert missed == []
    assert tried == 2 * len(whole.tail(last[0]))


@pytest.mark.slow
def test_every_bit_of_every_byte_of_a_whole_session_is_found(whole: Log) -> None:
    every = range(len(whole.lines))
    tried, missed = whole.not_found(bytes_changed(whole, 8, [n for n in every if len(whole.lines[n]) < 1000]))
    assert missed == []
    assert tried > 1_000_000
    assert whole.not_found(bytes_taken_out_and_doubled(whole, every))[1] == []


@pytest.mark.parametrize("lines", [10, 1_000, 10_000])
def test_changes_of_long_logs_at_random_are_found(lines: int, foreign: Log) -> None:
    log = Log(long_log(lines), reach=6)
    tried, missed = log.not_found(at_random(log, foreign, 4_000, random.Random(lines)))
    assert missed == []
    assert tried > 3_500


def test_the_verifier_that_goes_on_from_a_line_says_what_the_whole_one_says(
    whole: Log, foreign: Log, tmp_path: Path
) -> None:
    path = tmp_path / "log.jsonl"
    for change in at_random(whole, foreign, 60, random.Random(5)):
        path.write_bytes(whole.whole[: whole.starts[change.at]] + change.data)
        assert verify(path).first_bad_line == whole.verdict(change), change.what


def test_the_command_itself_ends_with_1_and_names_the_line(
    whole: Log,
    foreign: Log,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("signal.signal", lambda *_: None)  # those of the test runner stay
    path = tmp_path / "log.jsonl"
    for change in at_random(whole, foreign, 60, random.Random(9)):
        if change.at == 0:
            continue  # without a whole first line it is no record at all: exit code 2
        path.write_bytes(whole.whole[: whole.starts[change.at]] + change.data)
        with pytest.raises(SystemExit) as left:
            run(["verify", str(path)])
        told = capsys.readouterr()
        assert left.value.code == 1, change.what
        assert any(f"line {line}" in told.out.lower() for line in change.first_bad), (change.what, told.out)
        assert told.err == ""


def test_the_mark_of_a_change_that_is_none_is_missed(whole: Log) -> None:
    """The harness itself can fail: what was not changed is not found."""
    from spoiled import Change

    nothing = Change("nothing", 7, whole.tail(7), (8,))
    assert whole.not_found(iter([nothing])) == (1, [(nothing, None)])
