"""Whoever can write a session's folder and has not the bench's key: what they put there is not taken up, nor sealed."""

from __future__ import annotations

import json
import os
import signal
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest
from lies import chained, raw, signed

from assistant.opening import NotTakenUp, begin_session, open_bench, take_up_session
from assistant.record.heads import BenchVoucher, mark_path, read_mark
from assistant.record.keys import bench_key, known_keys, rotate
from assistant.record.read import read_log
from assistant.review.own import home_of, not_own
from assistant.review.verify import verify

Object = dict[str, Any]
NEWLINE = b"\n"
WHAT_TO_DO = "Look at it with 'loopwright verify', tell the supervisor, and begin a new session."


@pytest.fixture
def left(tmp_path: Path) -> Path:
    """A session that was begun, in which a safety question was refused, and left."""
    talk = press.fresh(tmp_path, press.sheet("demo"))
    talk.type("that is correct", "just do it", "note the shop is cold")
    talk.session.writer.close()
    return talk.session.writer.path


def objects(path: Path) -> list[Object]:
    return [json.loads(line) for line in path.read_bytes().splitlines()]


def sizes(path: Path) -> list[int]:
    """Bytes up to the end of each append."""
    ends, at = [], 0
    for line in path.read_bytes().splitlines(keepends=True):
        at += len(line)
        if not json.loads(line)["left"]:
            ends.append(at)
    return ends


def refused(path: Path, words: str) -> None:
    """Not taken up, not offered, the newest one told of, and not touched."""
    before = path.read_bytes()
    bench = open_bench(path.parents[2], callsign=None)
    assert bench.store.unfinished() is None
    disorder = bench.store.newest_in_disorder()
    assert disorder is not None
    with pytest.raises(NotTakenUp, match=words) as told:
        take_up_session(bench, path.parent.name)
    assert str(told.value).endswith(WHAT_TO_DO)
    assert disorder.trouble == str(told.value)
    assert path.read_bytes() == before


def taken_up(path: Path) -> list[str]:
    """What is told when it is taken up; what it is noted with in the log is the last."""
    bench = open_bench(path.parents[2], callsign=None)
    row = bench.store.unfinished()
    assert row is not None
    session = take_up_session(bench, row.session)
    told = [line.text for line in session.lines_since(0)]
    session.writer.close()
    return [*told, next(line.event["note"] for line in reversed(read_log(path)) if line.kind == "resumed")]


def forged_gate(lines: list[Object]) -> list[Object]:
    closed = {
        "kind": "gate_closed",
        "gate": "lifting",
        "act": "gate_lifting",
        "sentence": "x",
        "way": "typed",
    }
    return [*lines, lines[-1] | {"event": closed}]


def without_the_refusal(lines: list[Object]) -> list[Object]:
    return [line for line in lines if line["event"]["kind"] != "skip_refused"]


def of_another_session(lines: list[Object]) -> list[Object]:
    """All but the opening line from a whole job, up to its end."""
    donor = [
        json.loads(line) for line, kind, _ in press.recorded("demo")[1:] if kind not in ("closed", "sealed")
    ]
    return [lines[0], *donor]


@pytest.mark.parametrize("forge", [forged_gate, without_the_refusal, of_another_session])
@pytest.mark.parametrize("torn", [b"", b'{"boot"'])
def test_a_log_chained_anew_without_the_key_is_not_taken_up(
    forge: Callable[[list[Object]], list[Object]], torn: bytes, left: Path
) -> None:
    forged = forge(objects(left))
    for n, line in enumerate(forged):  # each an append of its own: nothing of it is torn
        forged[n] = line | {"left": 0}
    left.write_bytes(raw(chained(forged)) + torn)
    assert torn or verify(left).ok, "the chain alone does not show it"
    refused(left, "was changed: its last line, [0-9]+, does not carry the bench's signature")
    if not torn:
        verdict = verify(left, home=home_of(left))
        assert not verdict.ok
        assert (verdict.first_bad_line or 0) > 1
        assert "the bench's signature" in verdict.sentences[0]
        home = home_of(left)
        assert home is not None
        assert "the bench's signature" in not_own(read_log(left), home), "it would count in the statistics"


def test_a_log_that_nobody_changed_counts_as_the_benchs_own(left: Path) -> None:
    home = home_of(left)
    assert home is not None
    assert not_own(read_log(left), home) == ""


def test_every_end_of_an_append_where_it_may_be_cut_is_known(left: Path) -> None:
    whole, lines = left.read_bytes(), len(objects(left))
    for size in sizes(left)[:-1]:
        left.write_bytes(whole[:size])
        refused(left, f"was cut: {lines} lines were written, and {whole.count(NEWLINE, 0, size)} are left")
    left.write_bytes(whole)
    assert "mark" not in taken_up(left)[-1]


def test_a_seal_that_was_cut_off_is_not_made_anew(left: Path) -> None:
    talk = take_up_session(open_bench(left.parents[2], callsign=None), left.parent.name)
    talk.typed("stop the session")
    time.sleep(0.01)
    talk.typed("that is correct", talk.clock.now().t_s + 1)
    assert verify(left).sealed
    without_seal = left.read_bytes()[: sizes(left)[-2]]
    left.write_bytes(without_seal)
    refused(left, "was cut")
    changed = objects(left)
    next(line for line in changed if line["event"].get("slot") == "belt")["event"]["value"] = "another"
    left.write_bytes(raw(chained(changed)))
    refused(left, "does not carry the bench's signature")
    mark_path(left.parents[2], left.parent.name).unlink()
    refused(left, "does not carry the bench's signature")
    # Its end as it was, and the mark gone: sealed again, and told.
    left.write_bytes(without_seal)
    session = take_up_session(open_bench(left.parents[2], callsign=None), left.parent.name)
    assert [line.text for line in session.lines_since(0) if "is missing or cannot be read" in line.text]
    assert verify(left, home=home_of(left)).sealed


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda mark: mark.unlink(), "is missing or cannot be read"),
        (lambda mark: mark.write_bytes(b""), "is missing or cannot be read"),
        (lambda mark: mark.write_bytes(mark.read_bytes() + b"\n"), "is missing or cannot be read"),
        (lambda mark: (mark.unlink(), mark.mkdir()), "is missing or cannot be read"),
        (lambda mark: mark.write_bytes(b"9" + mark.read_bytes()[1:]), "was not made by this bench"),
    ],
)
def test_a_mark_that_is_gone_or_not_ours_is_told_and_noted_and_the_signature_decides(
    spoil: Callable[[Path], object], words: str, left: Path
) -> None:
    mark = mark_path(left.parents[2], left.parent.name)
    spoil(mark)
    told = taken_up(left)
    assert words in told[-1]
    assert "the last line of the record carries this bench's signature" in told[-1]
    assert [line for line in told[:-1] if told[-1] in line]
    assert verify(left, home=home_of(left)).ok
    left.write_bytes(raw(chained(forged_gate(objects(left)))))
    refused(left, "does not carry the bench's signature")


def test_a_mark_is_made_anew_where_it_was_lost_and_guards_again(left: Path) -> None:
    mark_path(left.parents[2], left.parent.name).unlink()
    taken_up(left)
    left.write_bytes(left.read_bytes()[: sizes(left)[-2]])
    refused(left, "was cut")


def test_a_mark_of_another_way_that_the_session_went_is_known(left: Path) -> None:
    mark, before = mark_path(left.parents[2], left.parent.name), left.read_bytes()
    taken_up(left)
    of_the_other = mark.read_bytes()
    left.write_bytes(before)
    mark.unlink()
    taken_up(left)
    taken_up(left)
    mark.write_bytes(of_the_other)
    refused(left, "was changed: line [0-9]+ is not the one that this bench wrote")


def test_whoever_kept_the_old_key_after_it_was_handed_over_signs_nothing(left: Path) -> None:
    old, folder = bench_key(left.parents[2]), left.parents[2]
    lines = objects(left)
    last = datetime.fromisoformat(lines[-1]["wall"])
    rotate(folder, (last + timedelta(seconds=1)).isoformat(timespec="milliseconds"))
    forged = forged_gate(lines)
    forged[-1] = forged[-1] | {"wall": (last + timedelta(seconds=2)).isoformat(timespec="milliseconds")}
    left.write_bytes(raw(signed(forged, old)))
    refused(left, "was handed over at")


def test_a_mark_left_behind_by_a_power_cut_is_told_and_guards_as_far_as_it_goes(left: Path) -> None:
    mark = mark_path(left.parents[2], left.parent.name)
    stale = mark.read_bytes()
    found = read_mark(mark)
    assert found is not None
    taken_up(left)
    mark.write_bytes(stale)
    assert f"stands at line {found.count} of {len(objects(left))}: the power failed" in taken_up(left)[-1]
    before = [size for size in sizes(left) if left.read_bytes()[:size].count(b"\n") < found.count]
    mark.write_bytes(stale)
    left.write_bytes(left.read_bytes()[: before[-1]])
    refused(left, "was cut")


def test_killed_between_an_entry_and_its_mark_it_is_taken_up_without_a_word(tmp_path: Path) -> None:
    child = os.fork()
    if child == 0:
        try:
            talk = press.fresh(tmp_path, press.sheet("demo"))
            talk.type("that is correct")
            BenchVoucher.reached = lambda *_: os.kill(os.getpid(), signal.SIGKILL)  # type: ignore[method-assign]
            talk.type("just do it")
        finally:
            os._exit(1)
    assert os.waitpid(child, 0)[1] == signal.SIGKILL
    (path,) = tmp_path.glob("sessions/*/log.jsonl")
    mark = read_mark(mark_path(tmp_path, path.parent.name))
    assert mark is not None
    ends = [n + 1 for n, line in enumerate(objects(path)) if not line["left"]]
    assert mark.count == ends[-2]
    assert "mark" not in taken_up(path)[-1]
    assert "skip_refused" in [line.kind for line in read_log(path)]


def test_a_mark_that_cannot_be_written_stops_nothing_and_is_told_later(tmp_path: Path) -> None:
    (tmp_path / "heads").write_bytes(b"")  # no folder can be made there
    talk = press.fresh(tmp_path, press.sheet("demo"))
    talk.type("that is correct", "just do it")
    assert not talk.session.failed
    talk.session.writer.close()
    assert "is missing or cannot be read" in taken_up(talk.session.writer.path)[-1]


@pytest.mark.parametrize("how", ["cut", "added to", "edited"])
def test_a_log_changed_while_the_session_runs_holds_it(how: str, tmp_path: Path) -> None:
    talk = press.fresh(tmp_path, press.sheet("demo"))
    talk.type("that is correct")
    path, act = talk.session.writer.path, talk.act
    whole = path.read_bytes()
    time.sleep(0.02)
    with path.open("r+b") as file:
        match how:
            case "cut":
                file.truncate(sizes(path)[-2])
            case "added to":
                file.write(raw(chained(forged_gate(objects(path)))))
            case "edited":
                file.seek(whole.index(b'"slot":"belt"') + 8)
                file.write(b"B")
    told = talk.type("just do it")
    assert "I can't write the record, so I hold" in told
    assert "was cut, added to or changed by another hand while the session ran" in told
    assert talk.act == act
    assert talk.session.view().held


def test_a_session_goes_on_over_a_hand_over_of_the_key_and_each_signs_its_own(tmp_path: Path) -> None:
    session = begin_session(open_bench(tmp_path, callsign=None), press.sheet("demo"))
    path = session.writer.path
    last = datetime.fromisoformat(read_log(path)[-1].wall)
    rotate(tmp_path, (last + timedelta(milliseconds=1)).isoformat(timespec="milliseconds"))
    time.sleep(0.02)
    session.typed("just do it")
    session.writer.close()
    assert "mark" not in taken_up(path)[-1]
    verdict = verify(path, home=home_of(path))
    assert verdict.ok, verdict.sentences
    assert any("was signed by that bench" in sentence for sentence in verdict.vouched)
    # An unsealed log is not vouched for with a key that was given; what is wrong is only that.
    assert verify(path, known_keys(tmp_path / "bench.pub")).sentences == (
        "The log carries no seal that the key given could have made.",
    )


def test_verifying_without_a_key_claims_nothing_of_signatures(left: Path) -> None:
    assert not [sentence for sentence in verify(left).vouched if "signed" in sentence]
    at_home = verify(left, home=home_of(left)).vouched
    entries = sum(not line["left"] for line in objects(left))
    assert (
        f"The entries: {entries} were written, each with a signature; the last was signed by that bench, with all lines "
        "before it." in at_home
    )
    assert "The session is not closed: nothing vouches for lines cut off the end." in at_home
