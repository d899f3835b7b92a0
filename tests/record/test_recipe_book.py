"""Recipes by name: kept whole, found again however the name is said, never from a simulated session."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.record.plain import steering_sign
from assistant.record.recipe_book import BadRecipe, KeptRecipe, RecipeBook, RecipeNotKept


def recipe(
    name: str = "Orchard flat 45",
    belt: str = "flat",
    press: str = "hinged",
    kept: str = "2026-11-25T15:00:00+01:00",
) -> KeptRecipe:
    return KeptRecipe(
        name=name, belt=belt, press=press, values={"upper_temperature": 458.15, "dwell": 240.0}, cycle_time_s=1100.0,
        technician="Nora", kept=kept, session="2026-11-25-1400-a1b2", outcome="accepted",
    )  # fmt: skip


def test_a_kept_recipe_comes_back_as_it_was(tmp_path: Path) -> None:
    book = RecipeBook(tmp_path / "recipes")
    assert book.recipes() == ()
    book.keep(recipe(), simulated=False)
    assert book.get("orchard  FLAT 45") == recipe()
    assert book.get("another") is None
    assert [p.suffix for p in book.folder.iterdir()] == [".json"]


def test_a_simulated_session_keeps_nothing(tmp_path: Path) -> None:
    book = RecipeBook(tmp_path)
    with pytest.raises(RecipeNotKept, match="SIMULATED"):
        book.keep(recipe(), simulated=True)
    assert list(tmp_path.iterdir()) == []


def test_the_same_name_replaces_and_another_stands_beside(tmp_path: Path) -> None:
    book = RecipeBook(tmp_path)
    book.keep(recipe(), simulated=False)
    book.keep(recipe("ORCHARD flat 45", press="split"), simulated=False)
    book.keep(recipe("orchard-flat-45"), simulated=False)
    assert [(r.name, r.press) for r in book.recipes()] == [
        ("ORCHARD flat 45", "split"),
        ("orchard-flat-45", "hinged"),
    ]


def test_what_fits_belt_and_press_is_offered_newest_first(tmp_path: Path) -> None:
    book = RecipeBook(tmp_path)
    book.keep(recipe("one", kept="2026-11-01T10:00:00+01:00"), simulated=False)
    book.keep(recipe("two", kept="2026-11-20T10:00:00+01:00"), simulated=False)
    book.keep(recipe("three", press="split"), simulated=False)
    assert [r.name for r in book.offered("flat", "hinged")] == ["two", "one"]
    assert book.offered("flat", "none such") == ()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.text(min_size=1, max_size=80))
def test_no_name_leaves_the_folder_and_each_is_found_again(tmp_path: Path, name: str) -> None:
    book = RecipeBook(tmp_path / "recipes")
    if steering_sign(name):
        with pytest.raises(ValueError, match="no sign that can be read"):
            recipe(name)
        return
    if not name.split():
        with pytest.raises(RecipeNotKept, match="needs a name"):
            book.keep(recipe(name), simulated=False)
        return
    path = book.keep(recipe(name), simulated=False)
    assert path.parent == book.folder
    assert book.get(name) == recipe(name)
    assert [p.name for p in tmp_path.iterdir()] == ["recipes"]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{}",
        b"junk\xff",
        b'{"schema_version": 9}',
        recipe().model_dump_json().replace("dwell", "dwell\\u0000", 1).encode()[:-1],
    ],
)
def test_a_damaged_file_of_the_book_is_told_in_one_sentence(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "x.json").write_bytes(content)
    with pytest.raises(BadRecipe) as caught:
        RecipeBook(tmp_path).recipes()
    assert "x.json" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(RecipeNotKept, match="could not be written"):
        RecipeBook(tmp_path / "file").keep(recipe(), simulated=False)
