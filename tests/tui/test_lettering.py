"""The large letters: complete, distinct, within their room, nothing lost."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.lettering import GLYPHS, letter, span


def test_every_capital_and_figure_is_drawn_five_dots_high() -> None:
    for sign in string.ascii_uppercase + string.digits + " .,:-+/%°'?!()":
        assert len(GLYPHS[sign]) == 5
        assert len({len(row) for row in GLYPHS[sign]}) == 1


def test_no_two_signs_look_the_same() -> None:
    drawn = [rows for sign, rows in GLYPHS.items() if sign != "'"]
    assert len(set(drawn)) == len(drawn)


def test_figures_are_equally_wide_so_that_a_clock_stands_still() -> None:
    assert len({len(GLYPHS[figure][0]) for figure in string.digits}) == 1


@given(st.text(max_size=60), st.integers(1, 160), st.integers(1, 20))
def test_whatever_is_lettered_stays_in_its_room(text: str, width: int, height: int) -> None:
    drawn = letter(text, width, height)
    assert len(drawn.rows) <= height
    assert all(len(row) <= width for row in drawn.rows)


@given(st.lists(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=8), min_size=1, max_size=5))
def test_the_largest_face_that_fits_is_taken(words: list[str]) -> None:
    text = " ".join(words)
    assert letter(text, span(text, "large"), 6).face == "large"
    assert letter(text, span(text, "large") - 1, 5).face == "small"


def test_a_sign_without_a_drawing_falls_back_to_plain_letters() -> None:
    drawn = letter("δοκιμή", 80, 10)
    assert (drawn.face, drawn.rows) == ("plain", ("ΔΟΚΙΜΉ",))


def test_an_accent_is_left_off_rather_than_the_letter() -> None:
    assert letter("Zoë", 80, 10) == letter("ZOE", 80, 10)


def test_plain_letters_that_do_not_fit_end_with_an_ellipsis() -> None:
    assert letter("a long word of warning", 8, 1, "plain").rows[-1].endswith("…")


@pytest.mark.parametrize(("figure", "rows"), [("1", (" ▄█ ", "  █ ", " ▀▀▀"))])
def test_two_dots_share_a_character_in_the_small_face(figure: str, rows: tuple[str, ...]) -> None:
    assert letter(figure, 10, 3).rows[0].rstrip() == rows[0].rstrip()
    assert letter(figure, 10, 3).rows[1].rstrip() == rows[1].rstrip()
