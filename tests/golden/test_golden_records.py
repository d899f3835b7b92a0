"""What an earlier version of the program wrote opens for ever: verified, told, reported, counted, folded, taken up."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from golden_records import HERE, digest_of, folded, put_key, records, unpacked

from assistant.opening import Bench, NotTakenUp, open_bench, take_up_session
from assistant.record.chain import RecordError
from assistant.record.keys import load_public_key
from assistant.record.read import read_log
from assistant.record.stamp import SystemClock
from assistant.record.store import LOG_NAME, Store
from assistant.review.deviations import departures
from assistant.review.over_sessions import over_sessions
from assistant.review.report import report_html
from assistant.review.statistics import USUAL_RULES
from assistant.review.story import story_of
from assistant.review.verify import verify
from assistant.review.words import retell

ALL = records()
UNFINISHED = ("left", "reworded")
LEFT = [version for version, kind in ALL if kind == "left"]


def kept(version: str, kind: str) -> dict[str, Any]:
    told: dict[str, Any] = json.loads((HERE / version / f"{kind}.json").read_text("utf-8"))
    return told


@pytest.fixture
def log(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[str, str, Path]:
    version, kind = request.param
    path = tmp_path / "log.jsonl"
    path.write_bytes(unpacked(version, kind))
    return version, kind, path


every_record = pytest.mark.parametrize("log", ALL, indirect=True, ids="-".join)


def test_there_is_a_whole_an_unfinished_and_a_simulated_record() -> None:
    assert {kind for _, kind in ALL} == {"flat", "guided", "left", "simulated", "reworded"}
    assert len({version for version, _ in ALL}) >= 3
    assert sum(path.stat().st_size for path in HERE.rglob("*") if path.is_file()) < 400_000


@every_record
def test_it_verifies_with_the_key_of_its_bench(log: tuple[str, str, Path]) -> None:
    version, kind, path = log
    told = kept(version, kind)
    verdict = verify(path, None if kind in UNFINISHED else load_public_key(HERE / version / "bench.pub"))
    assert verdict.ok, verdict.sentences
    # class: regression -- as the version wrote it
    assert (verdict.lines, verdict.sealed, verdict.simulated) == (
        told["lines"],
        kind not in UNFINISHED,
        told["simulated"],
    )


def test_entries_are_vouched_for_by_their_signatures_since_they_have_them(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    for version in sorted({version for version, kind in ALL if kind == "flat"}):
        path.write_bytes(unpacked(version, "flat"))
        vouched = verify(path, load_public_key(HERE / version / "bench.pub")).vouched
        signed = any("was signed with that key, with all lines before it" in told for told in vouched)
        assert signed is (
            version == "0.1.0-signed-appends"
        )  # class: regression -- the first version that signs them


@every_record
def test_it_folds_to_the_state_that_it_had(log: tuple[str, str, Path]) -> None:
    version, kind, path = log
    told = kept(version, kind)
    state = folded(path)
    # class: regression -- the state when the record was made
    assert (state.closed, len(state.done), len(state.readings)) == (
        told["closed"],
        told["done"],
        told["readings"],
    )
    assert digest_of(state, told["fields"]) == told["state"]  # class: regression -- as above


@every_record
def test_it_is_told_with_no_unknown_entry_and_reported(log: tuple[str, str, Path]) -> None:
    version, kind, path = log
    lines = read_log(path)
    rows = retell(lines)
    assert len(rows) > 50
    assert not [row for row in rows if "Unknown entry" in row]
    page = report_html(lines, verify(path))
    assert "The record is in order" in page
    assert ("SIMULATED" in page) is kept(version, kind)["simulated"]
    told = departures(lines)
    if kind == "guided":
        assert {"answer refused", "skip refused", "held", "hand-over", "asked again"} <= {
            one.sort for one in told
        }
        assert [row for row in rows if "Asked what if" in row]


@every_record
def test_a_finished_joint_counts_and_a_simulated_one_does_not(log: tuple[str, str, Path]) -> None:
    version, kind, path = log
    groups = over_sessions([story_of(read_log(path))], USUAL_RULES)
    if kept(version, kind)["simulated"]:
        assert groups == ()
        return
    (group,) = groups
    assert group.sessions == 1
    if kept(version, kind)["closed"]:
        assert group.rate is not None
        assert group.rate.passed == 1
        assert group.measured[0].name == "cycle_time_s"


def placed(version: str, kind: str, folder: Path) -> tuple[Bench, str]:
    """The record in the folder of its own bench, as it lay there."""
    put_key(folder)
    raw = unpacked(version, kind)
    name = json.loads(raw.splitlines()[0])["event"]["session"]
    log = Store(folder).new_log(name)
    log.write_bytes(raw)
    return open_bench(folder), name


def same_rules(bench: Bench, path: Path) -> bool:
    opened = read_log(path)[0].event["digests"]
    return all(
        bench.rules.digests.get(what) == digest for what, digest in opened.items() if what != "learned"
    )


@pytest.mark.parametrize("version", LEFT)
def test_the_unfinished_one_is_taken_up_with_its_own_rules_or_says_which_are_other_ones(
    version: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench, name = placed(version, "left", tmp_path)
    path = bench.store.log_path(name)
    before, last = path.read_bytes(), read_log(path)[-1].stamp
    if not same_rules(bench, path):
        with pytest.raises(
            NotTakenUp, match=r"was begun with other \w+; put those files back, or begin a new session"
        ):
            take_up_session(bench, name)
        assert path.read_bytes() == before
        return
    # An hour later on the same computer.
    wall_s = datetime.fromisoformat(last.wall).timestamp() + 3600
    monkeypatch.setattr(
        "assistant.opening.SystemClock",
        lambda stamp: SystemClock(
            stamp, wall_s=lambda: wall_s, mono_s=lambda: last.mono_s + 3600, boot=last.boot
        ),
    )
    timers = folded(path).timers
    session = take_up_session(bench, name)
    assert [(t.name, t.deadline_s) for t in session.state.timers] == [(t.name, t.deadline_s) for t in timers]
    assert timers
    session.writer.close()
    assert path.read_bytes().startswith(before)
    assert path.name == LOG_NAME
    assert verify(path).ok


@pytest.mark.parametrize(("version", "kind"), [one for one in ALL if one[1] not in UNFINISHED])
def test_a_finished_or_simulated_one_is_not_taken_up_again(version: str, kind: str, tmp_path: Path) -> None:
    bench, name = placed(version, kind, tmp_path)
    with pytest.raises(RecordError, match="is closed"):
        take_up_session(bench, name)
    row = bench.store.sessions()[0]
    assert (row.session, row.trouble, row.simulated) == (name, "", kept(version, kind)["simulated"])
