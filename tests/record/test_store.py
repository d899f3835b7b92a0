"""Sessions in their folder: names that stay inside, what is unfinished, an index that only mirrors the files."""

from __future__ import annotations

import re
import stat
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.record.log import LogWriter
from assistant.record.read import read_log
from assistant.record.stamp import Stamp
from assistant.record.store import Store, StoreTrouble, session_id


def at(day: int) -> Stamp:
    return Stamp(0.0, f"2026-11-{day:02d}T14:05:00.000+01:00", 5.0, "0badcafe")


def make(store: Store, name: str, day: int, *events: dict[str, Any]) -> Path:
    path = store.new_log(name)
    with LogWriter.create(path, {"kind": "opened", "session": name, "simulated": False}, at(day)) as writer:
        for event in events:
            writer.append([event], at(day))
    return path


TAKEN = [
    {"kind": "value_taken", "slot": "technician", "value": "Nora"},
    {"kind": "value_taken", "slot": "belt", "value": "orchard_flat"},
    {"kind": "handed_over", "giver": "Nora", "taker": "Ilse"},
]
CLOSED = {"kind": "closed", "outcome": "accepted", "count": 1}
SEALED = {"kind": "sealed", "by": "bench", "code": "1234 5678 9012"}


def test_a_session_is_named_by_when_it_was_opened() -> None:
    name = session_id("2026-11-25T14:05:59.123+01:00")
    assert re.fullmatch(r"2026-11-25-1405-[0-9a-f]{4}", name)


def test_folders_are_for_the_owner_only(tmp_path: Path) -> None:
    store = Store(tmp_path / "data")
    path = store.new_log("a1")
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert stat.S_IMODE(store.sessions_folder.stat().st_mode) == 0o700


@pytest.mark.parametrize(
    "name",
    ["", "..", ".", "a/b", "../x", "a\\b", "A", "a b", "-a", "a-", "a\n", "ä", "a\0", "a" * 61, "con:"],
)
def test_a_name_that_could_leave_the_folder_is_refused(name: str, tmp_path: Path) -> None:
    store = Store(tmp_path)
    for method in (store.log_path, store.new_log):
        with pytest.raises(StoreTrouble, match="small letters"):
            method(name)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=12))
def test_no_name_whatever_leaves_the_folder(tmp_path: Path, name: str) -> None:
    store = Store(tmp_path)
    if re.fullmatch(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?", name):
        assert store.log_path(name).resolve().parent.parent == store.sessions_folder.resolve()
    else:
        with pytest.raises(StoreTrouble, match=r"^[^\n]*$"):
            store.log_path(name)


def test_a_name_that_is_taken_is_refused(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.new_log("a1")
    with pytest.raises(StoreTrouble, match="already a session"):
        store.new_log("a1")


def test_a_data_folder_that_cannot_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(StoreTrouble, match="--folder"):
        Store(tmp_path / "file")


def test_sessions_are_listed_newest_first_with_what_their_logs_say(tmp_path: Path) -> None:
    store = Store(tmp_path)
    make(store, "old", 1, CLOSED)
    newest = make(store, "new", 9, *TAKEN)
    make(store, "mid", 5, CLOSED)
    rows = store.sessions()
    assert [row.session for row in rows] == ["new", "mid", "old"]
    assert (rows[0].technician, rows[0].belt, rows[0].count, rows[0].outcome) == (
        "Ilse",
        "orchard_flat",
        4,
        "",
    )
    assert (rows[0].head, rows[0].simulated, rows[1].outcome) == (
        read_log(newest)[-1].digest,
        False,
        "accepted",
    )
    assert store.previous_head() == rows[0].head


def test_the_newest_session_without_a_seal_is_the_one_that_was_left(tmp_path: Path) -> None:
    store = Store(tmp_path)
    assert store.unfinished() is None
    assert store.previous_head() is None
    make(store, "a", 1)
    make(store, "b", 3)
    make(store, "c", 5, CLOSED, SEALED)
    found = store.unfinished()
    assert found is not None
    assert found.session == "b"
    make(store, "d", 6, CLOSED)  # the power went between its closing line and its seal
    found = store.unfinished()
    assert found is not None
    assert found.session == "d"


@pytest.mark.slow
def test_a_session_that_a_crash_has_torn_is_no_damaged_one(tmp_path: Path) -> None:
    store = Store(tmp_path)
    path = make(store, "a", 1, *TAKEN)
    whole = store.sessions()[0]
    with LogWriter.open_existing(path) as writer:
        writer.append([TAKEN[0], TAKEN[1]], at(2))
    raw = path.read_bytes()
    for cut in range(whole.size + 1, len(raw)):
        path.write_bytes(raw[:cut])
        (row,) = store.sessions()
        assert (row.trouble, row.count, row.head) == ("", whole.count, whole.head)
        found = store.unfinished()
        assert found is not None
        assert found.session == "a"
        assert store.previous_head() == whole.head  # what opening it will keep
        assert store.newest_in_disorder() is None


def test_a_newest_session_that_cannot_be_taken_up_is_named(tmp_path: Path) -> None:
    store = Store(tmp_path)
    make(store, "a", 1, CLOSED, SEALED)
    path = make(store, "b", 2, *TAKEN)
    assert store.newest_in_disorder() is None
    path.write_bytes(path.read_bytes().replace(b"Nora", b"Dora", 1))
    disorder = store.newest_in_disorder()
    assert disorder is not None
    assert disorder.session == "b"
    make(store, "c", 3)
    assert store.newest_in_disorder() is None  # it was told when that one was begun


def test_the_index_follows_the_files_and_is_only_a_mirror(tmp_path: Path) -> None:
    store = Store(tmp_path)
    path = make(store, "a", 1)
    before = store.sessions()
    with LogWriter.open_existing(path) as writer:
        writer.append([CLOSED], at(2))
    assert store.sessions() != before
    after = store.sessions()
    index = tmp_path / "index.sqlite"
    for damage in (b"", b"not a database" * 100):
        index.write_bytes(damage)
        assert store.sessions() == after
    index.unlink()
    assert store.sessions() == after
    path.unlink()
    assert store.sessions() == ()


def test_an_index_of_another_shape_is_made_anew(tmp_path: Path) -> None:
    import sqlite3

    store = Store(tmp_path)
    make(store, "a", 1)
    with sqlite3.connect(tmp_path / "index.sqlite") as base:
        base.execute("CREATE TABLE session (something)")
    base.close()
    assert [row.session for row in store.sessions()] == ["a"]


def test_an_index_that_cannot_be_written_hides_nothing(tmp_path: Path) -> None:
    store = Store(tmp_path)
    make(store, "a", 1)
    (tmp_path / "index.sqlite").mkdir()
    assert [row.session for row in store.sessions()] == ["a"]


def test_a_damaged_log_is_listed_with_its_trouble_and_not_offered(tmp_path: Path) -> None:
    store = Store(tmp_path)
    path = make(store, "a", 1, *TAKEN)
    path.write_bytes(path.read_bytes().replace(b"Nora", b"Dora", 1))
    (row,) = store.sessions()
    assert "Line 2 is not as it was written" in row.trouble
    assert store.unfinished() is None
