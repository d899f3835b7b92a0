"""No name leads out of the folder of the records: not an id, not a link, not a key, not an archive's member."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from at_the_press import fresh, sheet

from assistant.opening import open_bench, take_up_session
from assistant.record.index import _COLUMNS, rows
from assistant.record.recipe_book import KeptRecipe, RecipeBook, RecipeNotKept
from assistant.record.store import Store, StoreTrouble
from tui.voice_settings import VoiceSettings, keep_settings

Outcome = tuple[int, str, str]
Play = Callable[..., Outcome]
NO_IDS = (
    "", ".", "..", "../x", "/etc", "a/b", "a\0b", "a\\b", "A", "a\n", "\n", "-a", "a-", "x" * 61, "x" * 300, "é", "a.b", "a b",
    "\u202ea", "a\u0301", "con:", "~", "$HOME", "%2e%2e", "..\u2215x", "\uff0e\uff0e",
)  # fmt: skip


@pytest.mark.parametrize("name", NO_IDS, ids=ascii)
def test_an_id_that_could_lead_elsewhere_is_none(tmp_path: Path, name: str) -> None:
    store = Store(tmp_path / "records")
    for use in (store.log_path, store.new_log):
        with pytest.raises(StoreTrouble, match="small letters"):
            use(name)
    assert not list(store.sessions_folder.iterdir())
    assert {path.name for path in tmp_path.iterdir()} == {"records"}


@pytest.mark.parametrize("what", ["folder", "log"])
def test_a_session_that_is_a_link_is_neither_listed_nor_taken_up(tmp_path: Path, what: str) -> None:
    talk = fresh(tmp_path / "other", sheet("demo"))
    log = talk.session.writer.path
    talk.session.writer.close()
    before = log.read_bytes()
    store = Store(tmp_path / "records")
    place = store.sessions_folder / "linked"
    if what == "folder":
        place.symlink_to(log.parent)
    else:
        place.mkdir()
        (place / "log.jsonl").symlink_to(log)
    assert store.sessions() == ()
    assert store.unfinished() is None
    with pytest.raises(StoreTrouble, match="is a link to another place"):
        take_up_session(open_bench(store.folder), "linked")
    assert log.read_bytes() == before


def test_an_index_that_is_a_link_is_put_aside_and_what_it_led_to_stays(tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as base:
        base.execute("CREATE TABLE session (precious)")
        base.execute("INSERT INTO session VALUES ('kept')")
    before = other.read_bytes()
    store = Store(tmp_path / "records")
    (store.folder / "index.sqlite").symlink_to(other)
    assert store.sessions() == ()
    assert other.read_bytes() == before
    assert not (store.folder / "index.sqlite").is_symlink()


def test_an_index_with_a_query_without_end_in_it_is_thrown_away(tmp_path: Path) -> None:
    talk = fresh(tmp_path, sheet("demo"))
    log = talk.session.writer.path
    endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT count(*) FROM n"
    index = tmp_path / "index.sqlite"
    assert [row.session for row in rows(index, {"one": log})] == ["one"]
    with sqlite3.connect(index) as base:
        base.execute(f"CREATE TRIGGER t BEFORE DELETE ON session BEGIN SELECT * FROM ({endless}); END")
    began = time.process_time()
    assert [row.session for row in rows(index, {"one": log})] == ["one"]
    assert time.process_time() - began < 30  # without end before


def test_an_index_with_something_else_in_its_columns_is_thrown_away(tmp_path: Path) -> None:
    talk = fresh(tmp_path, sheet("demo"))
    log, index = talk.session.writer.path, tmp_path / "index.sqlite"
    good = rows(index, {"one": log})
    for column in _COLUMNS.split(", ")[4:]:
        for value in (None, b"\xff", 2.5):
            with sqlite3.connect(index) as base:
                base.execute(f"UPDATE session SET {column} = ?", (value,))
            found = rows(index, {"one": log})
            assert found == good, (column, value)


def test_an_index_of_damaged_bytes_is_thrown_away(tmp_path: Path) -> None:
    talk = fresh(tmp_path, sheet("demo"))
    log, index = talk.session.writer.path, tmp_path / "index.sqlite"
    good = rows(index, {"one": log})
    whole = index.read_bytes()
    at = whole.index(b"CREATE TABLE")
    for place in (0, 18, 100, at, at + 8, at + 30):
        for byte in (0x00, 0x9B, 0xFF):
            index.write_bytes(whole[:place] + bytes([byte]) + whole[place + 1 :])
            assert rows(index, {"one": log}) == good
    index.unlink()
    index.mkdir()
    assert rows(index, {"one": log}) == good


def kept(name: str) -> KeptRecipe:
    return KeptRecipe(
        name=name, belt="packing_line", press="hinged", values={"dwell": 240.0}, technician="Nora",
        kept="2026-11-25T14:05:00+01:00", session="2026-11-25-1405-a1b2", outcome="accepted",
    )  # fmt: skip


@pytest.mark.parametrize(
    "name",
    ["../../outside", "/etc/passwd", "a/b", "..", ".", "~", "x" * 80, "é" * 80, "con", "$(id)", "%2e/"],
)
def test_a_recipe_lies_in_the_book_whatever_it_is_called(tmp_path: Path, name: str) -> None:
    book = RecipeBook(tmp_path / "recipes")
    written = book.keep(kept(name), simulated=False)
    assert written.parent == tmp_path / "recipes"
    assert written.resolve().parent == (tmp_path / "recipes").resolve()
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [written]
    found = book.get(name)
    assert found is not None
    assert found.name == name


@pytest.mark.parametrize("name", ["a\nb", "a\0b", "\x1b[2J", "\u202ea"])
def test_a_recipes_name_that_steers_is_no_name(name: str) -> None:
    with pytest.raises(ValueError, match="no sign that can be read"):
        kept(name)


def test_what_is_written_beside_a_file_never_goes_through_a_link_there(
    loopwright: Play, tmp_path: Path
) -> None:
    precious = tmp_path / "precious"
    precious.write_text("kept")
    (tmp_path / "voice.toml.new").symlink_to(precious)
    assert keep_settings(tmp_path, VoiceSettings()) == ""
    import os

    book = RecipeBook(tmp_path / "recipes")
    path = book.keep(kept("flat"), simulated=False)
    path.with_suffix(f".{os.getpid()}.draft").symlink_to(precious)
    book.keep(kept("flat"), simulated=False)
    talk = fresh(tmp_path / "records", sheet("demo"))
    page = tmp_path / "page.html"
    page.with_name(f".page.html.{os.getpid()}").symlink_to(precious)
    assert loopwright("report", talk.session.writer.path, "-o", page)[0] == 0
    assert page.read_text().startswith("<!DOCTYPE html>")
    assert precious.read_text() == "kept"
    assert not page.is_symlink()


def test_a_press_to_learn_of_is_one_of_the_catalogue(loopwright: Play, tmp_path: Path) -> None:
    for press in ("../../outside", "/etc/passwd", "hinged/../hinged", "x" * 300, "..", "HINGED", "hinged\n"):
        code, out, err = loopwright("learn", press, "--folder", tmp_path)
        assert (code, out) == (2, "")
        assert "There is no press" in err
    assert not list(tmp_path.rglob("*.toml"))


def test_a_folder_of_records_with_a_strange_name_holds_all_that_is_written(
    loopwright: Play, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import io

    for name in ("é\u202e", "[bold]x[/bold]", "\x1b[2J", "new\nline%s{}", "n" * 250):
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"why\n")))
        folder = tmp_path / "in" / name
        code, out, err = loopwright("talk", "--typed", "--folder", folder)
        assert code == 3, err
        assert len(list(folder.glob("sessions/*/log.jsonl"))) == 1
        assert not [sign for sign in out + err if sign != "\n" and ord(sign) < 32]
        assert "\u202e" not in out
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"why\n")))
    assert loopwright("talk", "--typed", "--folder", tmp_path / ("n" * 256))[0] == 2
    assert {path.name for path in tmp_path.iterdir()} <= {
        "in",
        "XDG_STATE_HOME",
        "XDG_DATA_HOME",
        "XDG_CACHE_HOME",
    }


def test_no_name_that_a_recipe_cannot_have_is_kept(tmp_path: Path) -> None:
    book = RecipeBook(tmp_path)
    for name in ("", " ", "x" * 81):
        with pytest.raises(RecipeNotKept, match="a name of 1 to 80"):
            book.get(name)
