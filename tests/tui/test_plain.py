"""Text made harmless for a terminal."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.plain import clock, plain


@given(st.text())
def test_nothing_that_a_terminal_obeys_gets_through(text: str) -> None:
    assert all(unicodedata.category(sign)[0] != "C" for sign in plain(text))


@given(st.text("abc °Cé漢[]/\\'", max_size=40))
def test_what_a_person_reads_stays(text: str) -> None:
    assert plain(text) == text


def test_breaks_and_tabs_become_spaces() -> None:
    assert plain("one\ntwo\tthree\u2028four") == "one two three four"


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(0, "00:00"), (59.6, "01:00"), (222, "03:42"), (-20, "+00:20"), (3661, "1:01:01"), (-0.2, "00:00")],
)
def test_a_clock_reads_minutes_and_seconds(seconds: float, shown: str) -> None:
    assert clock(seconds) == shown
