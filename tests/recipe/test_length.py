"""Belt length against closed forms and a polygon of many sides."""

from math import asin, cos, degrees, pi, radians, sin, sqrt, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.recipe.length import corner_offset, cut, endless
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.path import Path, Pulley, crossed_path, open_path, path


def pulley(x_mm: float, y_mm: float, r_mm: float, side: int = 1) -> Pulley:
    return Pulley(x_mm / 1e3, y_mm / 1e3, 2 * r_mm / 1e3, 1 if side == 1 else -1)


TAKE_UP = [pulley(0, 0, 50), pulley(700, -20, 30, -1), pulley(1000, -150, 50), pulley(1300, -20, 30, -1), pulley(2000, 0, 50)]  # fmt: skip
RECTANGLE = [pulley(0, 0, 50), pulley(1200, 0, 80), pulley(1200, 600, 50), pulley(0, 600, 80)]


@pytest.mark.parametrize(
    ("distance", "one", "other", "mm"),
    [
        (1000, 100, 100, 2314.15927),  # class: analytic -- 2000 + 100 pi
        (500, 700, 100, 2442.73773),  # class: analytic -- 800 + 400 pi + 600 asin 0.6
        (1500, 60, 20, 3125.93038),  # class: analytic -- open belt formula
    ],
)
def test_an_open_belt_has_its_closed_form_length(
    distance: float, one: float, other: float, mm: float
) -> None:
    assert open_path(distance / 1e3, one / 1e3, other / 1e3) * 1e3 == pytest.approx(mm, abs=1e-5)
    assert open_path(distance / 1e3, other / 1e3, one / 1e3) * 1e3 == pytest.approx(mm, abs=1e-5)
    general = (
        path([pulley(0, 0, one / 2), pulley(distance, 0, other / 2)])
        if distance > (one + other) / 2
        else None
    )
    if general:
        assert general.length_m * 1e3 == pytest.approx(mm, abs=1e-5)


def test_a_crossed_belt_has_its_closed_form_length() -> None:
    # class: analytic -- 800 + 600 (pi/2 + asin 0.6)
    assert crossed_path(0.5, 0.4, 0.2) * 1e3 == pytest.approx(2128.57846, abs=1e-5)
    eight = path([pulley(0, 0, 200), pulley(500, 0, 100, -1)], crossed=True)
    assert eight.length_m * 1e3 == pytest.approx(800 + 600 * (pi / 2 + asin(0.6)), abs=1e-9)
    # class: analytic -- the turns of a figure of eight cancel
    assert eight.wraps_rad[0] - eight.wraps_rad[1] == pytest.approx(0, abs=1e-9)


def test_three_pulleys_on_an_equilateral_triangle() -> None:
    found = path([pulley(0, 0, 50), pulley(1000, 0, 50), pulley(500, 500 * sqrt(3), 50)])
    assert found.length_m * 1e3 == pytest.approx(3314.15927, abs=1e-5)  # class: analytic -- 3000 + 100 pi
    assert [degrees(wrap) for wrap in found.wraps_rad] == pytest.approx(
        [120] * 3
    )  # class: analytic -- symmetry


def test_a_rectangle_of_unequal_pulleys() -> None:
    found = path(RECTANGLE)
    # class: peer library -- shapely's hull of sampled circles gives 4010.65735
    assert found.length_m * 1e3 == pytest.approx(4010.65740, abs=1e-5)
    # class: analytic -- tangent construction
    assert [degrees(wrap) for wrap in found.wraps_rad] == pytest.approx([85.7015, 94.2985] * 2, abs=1e-4)
    # class: analytic -- sqrt(dist^2 - 30^2)
    assert [span * 1e3 for span in found.spans_m] == pytest.approx([1199.6249, 599.2495] * 2, abs=1e-4)


def test_a_take_up_with_two_pulleys_outside() -> None:
    found = path(TAKE_UP)
    assert found.length_m * 1e3 == pytest.approx(
        4458.32004, abs=1e-5
    )  # class: analytic -- tangent construction
    # class: analytic -- tangent construction
    assert [degrees(wrap) for wrap in found.wraps_rad] == pytest.approx(
        [184.9232, 42.5149, 75.1834, 42.5149, 184.9232], abs=1e-4
    )
    # class: analytic -- tangent construction
    assert [span * 1e3 for span in found.spans_m] == pytest.approx(
        [695.7011, 317.0173, 317.0173, 695.7011, 2000.0], abs=1e-4
    )


def test_the_neutral_plane_makes_a_difference_of_pi_t() -> None:
    two = [pulley(0, 0, 30), pulley(1500, 0, 30)]
    surface, middle = path(two, 0.002, 0.0), path(two, 0.002)
    assert surface.length_m * 1e3 == pytest.approx(3188.49556, abs=1e-5)  # class: analytic -- 3000 + 60 pi
    assert middle.length_m * 1e3 == pytest.approx(3194.77874, abs=1e-5)  # class: analytic -- 3000 + 62 pi


def _sampled_hull_length(pulleys: list[Pulley], sides: int = 4000) -> float:
    """Perimeter of the convex hull of sampled circles: an independent way to the length of a convex path."""
    points = sorted(
        (
            p.x_m + p.diameter_m / 2 * cos(2 * pi * i / sides),
            p.y_m + p.diameter_m / 2 * sin(2 * pi * i / sides),
        )
        for p in pulleys
        for i in range(sides)
    )

    def half(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
        hull: list[tuple[float, float]] = []
        for x, y in ordered:
            while len(hull) > 1 and (hull[-1][0] - hull[-2][0]) * (y - hull[-2][1]) <= (
                hull[-1][1] - hull[-2][1]
            ) * (x - hull[-2][0]):
                hull.pop()
            hull.append((x, y))
        return hull

    around = half(points)[:-1] + half(points[::-1])[:-1]
    return sum(
        sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)
        for a, b in zip(around, around[1:] + around[:1], strict=True)
    )


def test_a_convex_path_is_the_hull_of_its_pulleys() -> None:
    # class: analytic -- the perimeter of a polygon of 4000 sides a circle, 1e-6 short
    assert path(RECTANGLE).length_m == pytest.approx(_sampled_hull_length(RECTANGLE), rel=2e-6)


@settings(max_examples=60)
@given(turn=st.floats(0, 2 * pi), factor=st.floats(0.1, 20), dx=st.floats(-3, 3))
def test_turning_moving_and_scaling_a_path_scales_its_length(turn: float, factor: float, dx: float) -> None:
    def moved(p: Pulley) -> Pulley:
        return Pulley(
            factor * (p.x_m * cos(turn) - p.y_m * sin(turn)) + dx,
            factor * (p.x_m * sin(turn) + p.y_m * cos(turn)) - dx,
            factor * p.diameter_m,
            p.side,
        )

    found, was = path([moved(p) for p in TAKE_UP]), path(TAKE_UP)
    # class: analytic -- similarity
    assert found.length_m == pytest.approx(factor * was.length_m, rel=1e-9)
    # class: analytic -- the turns of a plain loop add up to one full turn
    assert sum(p.side * w for p, w in zip(TAKE_UP, found.wraps_rad, strict=True)) == pytest.approx(2 * pi)


def test_a_mirrored_path_has_the_same_length() -> None:
    mirrored = [Pulley(-p.x_m, p.y_m, p.diameter_m, p.side) for p in reversed(TAKE_UP)]
    assert path(mirrored).length_m == pytest.approx(path(TAKE_UP).length_m)  # class: analytic -- symmetry


@pytest.mark.parametrize(
    ("pulleys", "words"),
    [
        ([pulley(0, 0, 50)], "two pulleys"),
        ([pulley(0, 0, 50), pulley(60, 0, 50)], "overlap"),
        ([pulley(0, 0, 50), pulley(500, 900, 50), pulley(1000, 0, 50)], "clockwise"),
        ([pulley(0, 0, 50), pulley(1000, 1000, 50), pulley(1000, 0, 50), pulley(0, 1000, 50)], "crosses"),
        ([pulley(0, 0, 50), pulley(700, -200, 30, -1), *TAKE_UP[2:]], "does not touch pulley 2"),
        ([pulley(0, 0, 0), pulley(1000, 0, 50)], "greater than zero"),
        ([pulley(0, 0, 200), pulley(500, 0, 100, -1)], "crosses"),
    ],
)
def test_a_path_that_cannot_be_is_refused(pulleys: list[Pulley], words: str) -> None:
    with pytest.raises(NotComputable, match=words):
        path(pulleys)


def test_pulleys_that_overlap_are_refused_in_the_closed_forms_too() -> None:
    with pytest.raises(NotComputable, match="overlap"):
        open_path(0.2, 0.7, 0.1)
    with pytest.raises(NotComputable, match="overlap"):
        crossed_path(0.3, 0.4, 0.2)
    with pytest.raises(NotComputable, match="greater than zero"):
        open_path(1.0, 0.0, 0.1)
    with pytest.raises(NotComputable, match="neutral"):
        path(TAKE_UP, 0.002, 0.003)


def test_a_notched_belt_gets_a_whole_number_of_notches() -> None:
    made = endless(5.0, 0.005, 0.025, (0.002, 0.01))
    assert made.relaxed_m * 1e3 == pytest.approx(4975.124, abs=1e-3)  # class: analytic -- 5000 / 1.005
    assert made.notches == 199  # class: analytic -- round(4975.124 / 25)
    assert made.endless_m * 1e3 == pytest.approx(4975, abs=1e-6)  # class: analytic -- 199 * 25
    assert made.elongation * 100 == pytest.approx(0.50251, abs=1e-5)  # class: analytic -- 5000 / 4975 - 1
    assert [one.notches for one in made.nearest] == [199, 200]
    assert made.nearest[1].elongation == pytest.approx(0, abs=1e-12)  # class: analytic -- 200 * 25 = 5000
    parts = cut(made.endless_m, 0.08, 0.005)
    assert parts.cut_m * 1e3 == pytest.approx(5065)  # class: analytic -- 4975 + 80 + 2 * 5
    assert parts.beyond_centre_m * 1e3 == pytest.approx(45)  # class: analytic -- 80 / 2 + 5


def test_an_elongation_outside_the_data_sheet_is_refused_with_the_numbers_on_either_side() -> None:
    with pytest.raises(
        NotComputable, match=r"40 notches would run at 1\.25 %.* 39 give 3\.85 % and 41 give -1\.22 %"
    ):
        endless(1.0125, 0.005, 0.025, (0.002, 0.01))
    with pytest.raises(NotComputable, match="outside what the data sheet allows"):
        endless(5.0, 0.02, None, (0.002, 0.01))


def test_a_belt_without_notches_is_made_to_the_relaxed_length() -> None:
    made = endless(5.0, 0.005)
    assert (made.notches, made.nearest) == (None, ())
    assert made.endless_m == pytest.approx(5 / 1.005)  # class: analytic -- definition of elongation


def test_a_cut_out_of_square_sets_the_corner_off() -> None:
    # class: analytic -- b tan(error): 0.5 mm in 100 mm
    assert corner_offset(0.1, radians(degrees(0.005))) == pytest.approx(0.1 * tan(0.005))


@pytest.mark.parametrize(
    "arguments", [(0.0, 0.005, None), (5.0, -0.1, None), (5.0, 0.0, -0.02), (0.01, 0.0, 0.025)]
)
def test_lengths_that_cannot_be_are_refused(arguments: tuple[float, float, float | None]) -> None:
    with pytest.raises(NotComputable):
        endless(*arguments)


def test_fingers_do_not_go_with_a_belt_that_short() -> None:
    with pytest.raises(NotComputable, match="do not go"):
        cut(0.1, 0.08)
    with pytest.raises(NotComputable):
        cut(1.0, 0.0)


@given(st.floats(0.5, 50), st.floats(0, 0.02), st.floats(0.005, 0.05))
def test_the_wanted_length_lies_between_the_two_offered(
    path_m: float, elongation: float, pitch: float
) -> None:
    made = endless(path_m, elongation, pitch)
    assert made.notches in [one.notches for one in made.nearest]
    assert made.nearest[0].endless_m <= made.relaxed_m * (1 + 1e-9)
    assert made.nearest[-1].endless_m >= made.relaxed_m * (1 - 1e-9)


def test_a_path_names_spans_and_wraps_for_each_pulley() -> None:
    found = path(TAKE_UP)
    assert isinstance(found, Path)
    assert len(found.spans_m) == len(found.wraps_rad) == len(TAKE_UP)
