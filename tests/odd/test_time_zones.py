"""Time zones and the change to summer time: timers go by the monotonic clock, and the review tells no hour twice."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

import at_the_press as press
import pytest

from assistant.record.index import rows
from assistant.record.log import LogWriter
from assistant.record.read import read_log
from assistant.record.recipe_book import KeptRecipe, RecipeBook
from assistant.record.stamp import Stamp, SystemClock, instant_s
from assistant.record.store import Store
from assistant.review.over_sessions import over_sessions
from assistant.review.report import report_html
from assistant.review.statistics import USUAL_RULES
from assistant.review.story import story_of
from assistant.review.verify import verify
from assistant.review.when import When, offset_of
from assistant.review.words import retell

BERLIN = ZoneInfo("Europe/Berlin")
BACK = datetime(2026, 10, 25, 2, 59, 0, tzinfo=BERLIN).timestamp()
"""A minute before three becomes two."""
FORWARD = datetime(2027, 3, 28, 1, 59, 0, tzinfo=BERLIN).timestamp()
"""A minute before two becomes three."""


def in_a_zone(zone: str, log: Path, wall_s: float) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("zone_child.py")), str(log), str(wall_s)],
        env={**os.environ, "TZ": zone}, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told: dict[str, Any] = json.loads(done.stdout)
    return told


@pytest.fixture(scope="module")
def in_dwell(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The log of a session that was left in its dwell."""
    talk = press.at("demo", "dwell", tmp_path_factory.mktemp("left"))
    talk.session.writer.close()
    return talk.session.writer.path.read_bytes()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("zone", "at_s", "offsets"),
    [
        ("Europe/Berlin", BACK, ["+02:00", "+01:00"]),
        ("Europe/Berlin", FORWARD, ["+01:00", "+02:00"]),
        ("Australia/Lord_Howe", datetime(2027, 4, 4, 1, 59, tzinfo=ZoneInfo("Australia/Lord_Howe")).timestamp(), ["+11:00", "+10:30"]),
        ("Asia/Kathmandu", BACK, ["+05:45"]),
    ],
    ids=["back", "forward", "half an hour back", "another zone"],
)  # fmt: skip
def test_a_dwell_over_a_change_of_time_ends_by_its_own_timer(
    zone: str, at_s: float, offsets: list[str], in_dwell: bytes, tmp_path: Path
) -> None:
    log = tmp_path / "log.jsonl"
    log.write_bytes(in_dwell)
    told = in_a_zone(zone, log, at_s)
    deadline_s = dict(told["before"])["dwell"]
    assert told["after"] == told["before"]
    assert (
        deadline_s <= told["over_s"] <= deadline_s + 6.0
    )  # class: analytic -- ticks of 5 s, and the 1 s of an answer
    lines = read_log(log)
    here = lines[len(in_dwell.splitlines()) :]
    assert list(dict.fromkeys(offset_of(line.wall) for line in here)) == offsets
    # Every stamp is what another library makes of the same instant.
    for line in here:
        wall = datetime.fromisoformat(line.wall)
        # class: peer library -- zoneinfo
        assert wall.astimezone(ZoneInfo(zone)).isoformat(timespec="milliseconds") == line.wall
    instants = [instant_s(line.wall) for line in here]
    assert instants == sorted(instants)
    # The wall clock was set before, not by the change of time.
    noted = [line.event["text"] for line in here if line.kind == "clock_noted"]
    assert noted == []
    assert "was set" in next(line.event["note"] for line in here if line.kind == "resumed")
    rows_told = retell(lines)
    headers = [re.findall(r"UTC([+-]\d\d:\d\d)", row)[0] for row in rows_told if row.startswith("--- ")]
    assert headers[-len(offsets) :] == offsets
    assert verify(log).ok
    page = report_html(lines, verify(log))
    # Each time in a table says which of the hours of that name it was.
    cells = re.findall(r"<td[^>]*>([^<]*\d\d:\d\d:\d\d[^<]*)</td>", page)
    assert cells
    assert [cell for cell in cells if not re.search(r"\d\d:\d\d:\d\d [+-]\d\d:\d\d", cell)] == []


def test_every_zone_stamps_the_hours_around_the_change_as_zoneinfo_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import time

    zones = [
        "UTC",
        "Europe/Berlin",
        "America/St_Johns",
        "Asia/Kathmandu",
        "Australia/Lord_Howe",
        "Pacific/Apia",
    ]
    assert set(zones) <= available_timezones()
    try:
        for zone in zones:
            monkeypatch.setenv("TZ", zone)
            time.tzset()
            for at_s in (BACK, FORWARD):
                for minutes in range(-120, 121, 7):
                    now_s = at_s + 60 * minutes
                    clock = SystemClock(wall_s=lambda now_s=now_s: now_s, mono_s=lambda: 5.0, boot="0badcafe")
                    expected = datetime.fromtimestamp(now_s, ZoneInfo(zone)).isoformat(
                        timespec="milliseconds"
                    )
                    assert clock.now().wall == expected  # class: peer library -- zoneinfo
    finally:
        monkeypatch.undo()
        time.tzset()


def session_at(store: Store, name: str, wall: str) -> None:
    opened = {"kind": "opened", "session": name, "simulated": False}
    LogWriter.create(store.new_log(name), opened, Stamp(0.0, wall, 5.0, "0badcafe")).close()


IN_ORDER = (
    ("a", "2026-10-25T02:50:00.000+02:00"),
    ("b", "2026-10-25T02:10:00.000+01:00"),  # twenty minutes later
    ("c", "2026-10-25T01:40:00.000+00:00"),  # half an hour later, in another zone
)
"""Sessions as they came, whose wall times as texts are in another order."""


def test_the_newest_session_is_the_newest_whatever_offset_its_time_has(tmp_path: Path) -> None:
    store = Store(tmp_path)
    for name, wall in IN_ORDER:
        session_at(store, name, wall)
    assert [row.session for row in store.sessions()] == ["c", "b", "a"]
    assert store.unfinished() == store.sessions()[0]
    assert store.previous_head() == read_log(store.log_path("c"))[-1].digest
    index = tmp_path / "index.sqlite"
    assert [row.session for row in rows(index, {n: store.log_path(n) for n, _ in IN_ORDER})] == [
        "c",
        "b",
        "a",
    ]


def test_charts_and_recipes_go_in_the_order_in_which_things_happened(tmp_path: Path) -> None:
    store = Store(tmp_path)
    for name, wall in IN_ORDER:
        path = store.new_log(name)
        at = Stamp(0.0, wall, 5.0, "0badcafe")
        with LogWriter.create(path, {"kind": "opened", "session": name, "simulated": False}, at) as writer:
            writer.append([{"kind": "run_marked", "mark": "heat_on"}], at)
            writer.append([{"kind": "run_marked", "mark": "vented"}], at._replace(t_s=60.0))
    stories = [story_of(read_log(store.log_path(name))) for name in ("b", "c", "a")]
    assert over_sessions(stories, USUAL_RULES)[0].measured[0].sessions == ("a", "b", "c")
    book = RecipeBook(tmp_path / "recipes")
    for name, wall in IN_ORDER:
        book.keep(
            KeptRecipe(name=name, belt="b", press="p", values={"dwell": 1.0}, technician="Robin", kept=wall, session=name,
                       outcome="accepted"), simulated=False,
        )  # fmt: skip
    assert [recipe.name for recipe in book.offered("b", "p")] == ["c", "b", "a"]


def test_a_table_shows_date_and_offset_only_where_there_are_several() -> None:
    one, other, zone = (wall for _, wall in IN_ORDER)
    assert When([one]).clock(one) == "02:50:00"
    assert When([one, other]).clock(other) == "02:10:00 +01:00"
    assert When([one, zone]).clock(one) == "02:50:00 +02:00"
    assert When([one, "2026-10-26T00:10:00.000+02:00"]).clock(one) == "10-25 02:50:00"
    assert offset_of("2026-10-25T01:40:00.000Z") == "+00:00"
    assert offset_of("2026-10-25T01:40:00.000-03:30") == "-03:30"
