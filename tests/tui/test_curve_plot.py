"""The curve: right place, marks for readings, never outside its room."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from assistant.view import CurvePoint, ReadingPoint
from tui.curve_plot import draw_curve

FLAT = tuple(CurvePoint(float(t), 100.0, 100.0, 100.0, 100.0) for t in range(0, 601, 60))


def test_a_level_curve_stands_on_its_own_label() -> None:
    rows = draw_curve(FLAT, (), None, 60, 15)
    (labelled,) = (row for row in rows if row.startswith("100"))
    assert sum(0x2800 < ord(sign) <= 0x28FF for sign in labelled) == 55


def test_a_reading_stands_at_its_time_and_temperature() -> None:
    reading = ReadingPoint("upper_reading", 300.0, 50.0, True)
    rows = draw_curve(FLAT, (reading,), None, 65, 19)
    (row,) = (row for row in rows[:-1] if "U" in row)
    assert row.startswith(" 50")
    assert abs(row.index("U") - (5 + 60 / 2)) <= 1


def test_a_reading_that_is_not_plausible_has_its_own_mark() -> None:
    reading = ReadingPoint("edge_reading", 300.0, 50.0, False)
    plot = "\n".join(draw_curve(FLAT, (reading,), None, 60, 15)[:-1])
    assert "!" in plot
    assert "E" not in plot


def test_without_a_curve_it_says_so() -> None:
    assert draw_curve((), (), None, 60, 15) == ["No curve yet: it comes with the recipe."]


@given(
    st.integers(0, 200),
    st.integers(0, 60),
    st.lists(st.tuples(st.floats(0, 1e5), st.floats(-40, 400)), max_size=5),
    st.none() | st.floats(0, 1e5),
)
def test_it_stays_in_its_room(
    width: int, height: int, read: list[tuple[float, float]], run_s: float | None
) -> None:
    readings = tuple(ReadingPoint("lower_reading", t, degC, True) for t, degC in read)
    rows = draw_curve(FLAT, readings, run_s, width, height)
    assert len(rows) <= height
    if width >= 40:
        assert all(len(row) <= width for row in rows)
