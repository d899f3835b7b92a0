"""Taking a session up: only one that this bench opened, and as it opened it."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest

from assistant.bench.catalogue import load_catalogue
from assistant.bench.learned import Constant, LearnedPlaten, LearnedPress, as_toml
from assistant.bench.press import Platen
from assistant.opening import NotTakenUp, begin_session, open_bench, take_up_session
from assistant.record.chain import decode, encode, fields
from assistant.record.heads import BenchVoucher
from assistant.record.keys import bench_key, load_public_key, rotate
from assistant.record.log import LogWriter
from assistant.record.opening_mark import marked
from assistant.record.read import read_log
from assistant.record.store import Store
from assistant.review.verify import verify


def begun(folder: Path, *, simulated: bool = False) -> Path:
    """A log that was begun and left."""
    session = begin_session(
        open_bench(folder, callsign=None), press.sheet("demo"), press.HandClock(), simulated=simulated
    )
    session.writer.close()
    return session.writer.path


def rewritten(path: Path, change: dict[str, Any]) -> None:
    """The log with another opening line and a chain that fits it."""
    raw, prev = [], "0" * 64
    for n, line in enumerate(path.read_bytes().splitlines()):
        old = decode(line, n + 1)
        event = {**old.event, **change} if n == 0 else old.event
        raw.append(encode(fields(n, prev, old.left, old.stamp, event)))
        prev = decode(raw[-1], n + 1).digest
    path.write_bytes(b"\n".join(raw) + b"\n")


def test_a_session_that_this_bench_opened_is_taken_up(tmp_path: Path) -> None:
    path = begun(tmp_path)
    session = take_up_session(open_bench(tmp_path, callsign=None), path.parent.name)
    assert session.state.resumed == 1
    session.writer.close()


def learned_of_the_demo_press(factor: float) -> LearnedPress:
    planned = load_catalogue().presses["hinged"]

    def constant(value: float) -> Constant:
        return Constant(value=value * factor, low=value * factor * 0.97, high=value * factor * 1.03)

    def platen(one: Platen) -> LearnedPlaten:
        return LearnedPlaten(
            power_W_m2=constant(one.power_W_m2),
            loss_W_m2K=constant(one.loss_W_m2K),
            cooling_W_m2K=constant(60.0),
        )

    return LearnedPress(
        schema_version=1, key="hinged", sessions=4, readings=40, residual_K=0.8, first="2026-10-01",
        last="2026-11-01", upper=platen(planned.upper), lower=platen(planned.lower), source="for the test",
    )  # fmt: skip


def test_what_is_learned_meanwhile_changes_no_session_that_was_begun_before(tmp_path: Path) -> None:
    planned = load_catalogue().presses["hinged"].upper.power_W_m2
    first = begun(tmp_path)
    own = tmp_path / "bench" / "learned"
    own.mkdir(parents=True)
    (own / "hinged.toml").write_text(as_toml(learned_of_the_demo_press(0.8)))
    second = begun(tmp_path)
    (own / "hinged.toml").write_text(as_toml(learned_of_the_demo_press(0.5)))
    bench = open_bench(tmp_path, callsign=None)
    for path, factor in ((first, 1.0), (second, 0.8)):
        session = take_up_session(bench, path.parent.name)
        # class: analytic -- the share of the planned power that was learned when the session began
        assert session.rules.catalogue.presses["hinged"].upper.power_W_m2 == pytest.approx(planned * factor)
        session.writer.close()


def test_an_older_log_without_the_learned_values_asks_for_the_same_ones(tmp_path: Path) -> None:
    bench = open_bench(tmp_path, callsign=None)
    path = begun(tmp_path)
    opening = decode(path.read_bytes().splitlines()[0], 1).event
    rewritten(path, marked({**opening, "learned": None}, bench_key(tmp_path)))
    own = tmp_path / "bench" / "learned"
    own.mkdir(parents=True)
    (own / "hinged.toml").write_text(as_toml(learned_of_the_demo_press(0.8)))
    with pytest.raises(NotTakenUp, match="begun with other learned constants; put those files back"):
        take_up_session(open_bench(tmp_path, callsign=None), path.parent.name)
    assert bench.rules.catalogue.learned == {}


@pytest.mark.parametrize("change", [{"simulated": False}, {"simulated": False, "mark": ""}])
def test_a_simulated_log_that_was_made_to_look_real_is_refused(
    tmp_path: Path, change: dict[str, Any]
) -> None:
    path = begun(tmp_path, simulated=True)
    rewritten(path, change)
    assert verify(path).ok, "the chain alone does not show it"
    before = path.read_bytes()
    with pytest.raises(NotTakenUp, match="was not opened by this bench, or its opening line was changed"):
        take_up_session(open_bench(tmp_path, callsign=None), path.parent.name)
    assert path.read_bytes() == before


def test_a_session_of_another_bench_is_refused(tmp_path: Path) -> None:
    path = begun(tmp_path / "there")
    here = open_bench(tmp_path / "here", callsign=None)
    log = here.store.new_log(path.parent.name)
    log.write_bytes(path.read_bytes())
    with pytest.raises(NotTakenUp, match="was not opened by this bench"):
        take_up_session(here, path.parent.name)


def test_verify_with_the_benchs_key_finds_a_changed_opening_line(tmp_path: Path) -> None:
    talk = press.fresh(tmp_path, press.sheet("demo"))
    talk.type("that is correct", "stop the session", "that is correct")
    path, key = talk.session.writer.path, load_public_key(tmp_path / "bench.pub")
    assert "The opening line was signed with the key that was given." in verify(path, key).vouched
    lines = path.read_text(encoding="utf-8").splitlines()
    assert json.loads(lines[0])["event"]["mark"]
    rewritten(path, {"previous_head": "0" * 64})
    verdict = verify(path, key)
    assert (verdict.ok, verdict.first_bad_line) == (False, 1)
    assert "opening line" in verdict.sentences[0]


def test_a_session_goes_on_after_the_key_was_handed_over_and_none_is_opened_by_the_old_one(
    tmp_path: Path,
) -> None:
    path, old = begun(tmp_path), bench_key(tmp_path)
    opened = read_log(path)[0]
    later = (datetime.fromisoformat(opened.wall) + timedelta(hours=1)).isoformat()
    rotate(tmp_path, later)
    session = take_up_session(open_bench(tmp_path, callsign=None), path.parent.name)
    session.writer.close()
    # The thief of the old key opens one of his own, a day after.
    forged = Store(tmp_path).new_log("forged")
    stamp = opened.stamp._replace(wall=(datetime.fromisoformat(later) + timedelta(days=1)).isoformat())
    LogWriter.create(forged, marked(opened.event, old), stamp).close()
    with pytest.raises(NotTakenUp, match="was not opened by this bench"):
        take_up_session(open_bench(tmp_path, callsign=None), "forged")


@pytest.mark.parametrize(
    "event",
    [
        {"kind": "of_tomorrow", "text": "x"},
        {"kind": "noted", "text": 5},
        {"kind": "act_done", "act": "nowhere", "by": "typed"},
        {"kind": "computed", "topic": "recipe", "inputs": {}, "results": {"values": 3}},
        {"kind": "value_taken", "slot": "belt", "value": 5.0, "said": "x", "way": "typed"},
        {"kind": "value_taken", "slot": "belt_width", "value": "wide", "said": "x", "way": "typed"},
        {"kind": "value_offered", "slot": "of_tomorrow", "value": 1.0, "said": "x", "way": "typed"},
    ],
)
def test_an_entry_that_this_version_can_not_follow_ends_in_a_sentence_and_changes_nothing(
    tmp_path: Path, event: dict[str, Any]
) -> None:
    path = begun(tmp_path)
    name = path.parent.name
    with LogWriter.open_existing(path, check=lambda _: BenchVoucher(tmp_path, name)) as writer:
        writer.append([event], writer.lines[-1].stamp)
    before, session, refused = path.read_bytes(), None, ""
    try:
        session = take_up_session(open_bench(tmp_path, callsign=None), name)
    except NotTakenUp as error:
        refused = str(error)
    if session is None:
        assert "cannot follow" in refused
        assert "\n" not in refused
        assert path.read_bytes() == before
    else:  # it can: then the job goes on as ever
        session.typed("where are we")
        session.writer.close()
        assert verify(path).ok


def test_an_entry_of_another_version_is_not_followed(tmp_path: Path) -> None:
    path = begun(tmp_path)
    name = path.parent.name
    with LogWriter.open_existing(path, check=lambda _: BenchVoucher(tmp_path, name)) as writer:
        writer.append([{"kind": "of_tomorrow"}], writer.lines[-1].stamp)
    with pytest.raises(NotTakenUp, match="begin a new one with --new"):
        take_up_session(open_bench(tmp_path, callsign=None), name)
