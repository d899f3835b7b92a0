"""Paths nobody chose: random pulleys against references that share nothing with the program's tangents."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve
from scipy.spatial import ConvexHull

from assistant.recipe.length import elongation_span
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.path import Pulley, crossed_path, open_path, path, path_round

SIDES = 20_000  # of the polygon that stands for a pulley


def circle(pulley: Pulley, sides: int) -> np.ndarray:
    angle = np.linspace(0, 2 * math.pi, sides, endpoint=False)
    radius = pulley.diameter_m / 2
    return np.column_stack((pulley.x_m + radius * np.cos(angle), pulley.y_m + radius * np.sin(angle)))


def hull_length(pulleys: list[Pulley]) -> float:
    """Perimeter of the convex hull of polygons with many sides."""
    return float(ConvexHull(np.vstack([circle(one, SIDES) for one in pulleys])).area)


def tightened(pulleys: list[Pulley], thickness_m: float, neutral_m: float) -> float:
    """Length of the taut string: where it touches and leaves each pulley is found by search, span by span.

    A taut span stands square on the radius at both its ends; the arcs run counter-clockwise inside, clockwise
    outside, along the neutral line.
    """
    radii = [
        one.diameter_m / 2 + (neutral_m if one.side == 1 else thickness_m - neutral_m) for one in pulleys
    ]
    centres = [np.array((one.x_m, one.y_m)) for one in pulleys]
    count, length = len(pulleys), 0.0
    on, off = [0.0] * count, [0.0] * count
    for i in range(count):
        j = (i + 1) % count

        def ends(x: np.ndarray, i: int = i, j: int = j) -> tuple[np.ndarray, ...]:
            out = [np.array((math.cos(angle), math.sin(angle))) for angle in x]
            return out[0], out[1], centres[i] + radii[i] * out[0], centres[j] + radii[j] * out[1]

        def square(x: np.ndarray) -> list[float]:
            leaving, touching, start, stop = ends(x)
            return [float((stop - start) @ leaving), float((stop - start) @ touching)]

        toward = centres[j] - centres[i]
        heading = math.atan2(toward[1], toward[0])
        # The belt runs to the right of a pulley's centre inside, to its left outside, seen along the span.
        begin = [heading - pulleys[i].side * math.pi / 2, heading - pulleys[j].side * math.pi / 2]
        found = fsolve(square, begin, xtol=1e-11)
        off[i], on[j] = float(found[0]), float(found[1])
        _, _, start, stop = ends(found)
        length += float(np.linalg.norm(stop - start))
    for i in range(count):
        length += radii[i] * ((pulleys[i].side * (off[i] - on[i])) % (2 * math.pi))
    return length


@st.composite
def convex(draw: st.DrawFn) -> list[Pulley]:
    """Pulleys on a ring, counter-clockwise, so far out that none lies inside the others' hull."""
    count = draw(st.integers(2, 6))
    turn = draw(st.floats(0, 6.28))
    ring = draw(st.floats(0.8, 2.5))
    return [
        Pulley(
            ring * math.cos(turn + 2 * math.pi * i / count),
            ring * math.sin(turn + 2 * math.pi * i / count),
            draw(st.floats(0.04, 0.3)),
        )
        for i in range(count)
    ]


@settings(max_examples=30, deadline=None)
@given(convex())
def test_a_convex_path_is_the_hull_of_its_pulleys(pulleys: list[Pulley]) -> None:
    try:
        found = path(pulleys)
    except NotComputable:
        assume(False)
        raise
    # class: peer library -- scipy.spatial.ConvexHull of polygons of 20000 sides
    assert found.length_m == pytest.approx(hull_length(pulleys), rel=1e-7)
    # class: analytic -- a convex loop turns once
    assert sum(found.wraps_rad) == pytest.approx(2 * math.pi)


@settings(max_examples=30, deadline=None)
@given(
    st.floats(0.6, 1.2), st.floats(0.05, 0.2), st.floats(0.04, 0.12), st.floats(0.04, 0.12), st.floats(0.0, 0.12),
    st.floats(0.0, 0.006), st.floats(0.0, 1.0),
)  # fmt: skip
def test_a_path_with_outside_pulleys_is_the_taut_string(
    half_m: float, drop_m: float, one_m: float, out_m: float, rise_m: float, thickness_m: float, share: float
) -> None:
    """A take-up: the lower strand goes over an outside pulley, under a hanging one, over another outside one."""
    pulleys = [
        Pulley(-2 * half_m, 0.0, one_m),
        Pulley(-0.7 * half_m, rise_m - 0.05, out_m, -1),
        Pulley(0.0, -drop_m - 0.15, one_m),
        Pulley(0.7 * half_m, rise_m - 0.06, out_m, -1),
        Pulley(2 * half_m, 0.0, one_m),
    ]
    neutral_m = share * thickness_m
    try:
        found = path(pulleys, thickness_m, neutral_m)
    except NotComputable:
        assume(False)
        raise
    # class: peer library -- scipy.optimize.fsolve for where the string touches and leaves
    assert found.length_m == pytest.approx(tightened(pulleys, thickness_m, neutral_m), rel=1e-7)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.05, 0.4), st.floats(0.05, 0.4), st.floats(1.01, 12.0))
def test_two_pulleys_agree_with_their_closed_forms_however_near(
    one_m: float, other_m: float, apart: float
) -> None:
    distance_m = apart * (one_m + other_m) / 2
    pulleys = [Pulley(0, 0, one_m), Pulley(distance_m, 0, other_m)]
    # class: analytic -- the closed forms of the open and the crossed belt
    assert path(pulleys).length_m == pytest.approx(open_path(distance_m, one_m, other_m), rel=1e-9)
    eight = path([pulleys[0], Pulley(distance_m, 0, other_m, -1)], crossed=True)
    assert eight.length_m == pytest.approx(crossed_path(distance_m, one_m, other_m), rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(convex())
def test_pulleys_may_be_listed_either_way_round(pulleys: list[Pulley]) -> None:
    try:
        there = path_round(pulleys)
    except NotComputable:
        assume(False)
        raise
    back = path_round(pulleys[::-1])
    assert back.length_m == pytest.approx(there.length_m)
    assert back.wraps_rad[::-1] == pytest.approx(there.wraps_rad)
    spans = {(i, (i + 1) % len(pulleys)): span for i, span in enumerate(there.spans_m)}
    last = len(pulleys) - 1
    for i, span in enumerate(back.spans_m):
        pair = (last - i, last - (i + 1) % len(pulleys))
        assert span == pytest.approx(spans[pair[::-1]])


def test_a_belt_made_too_long_runs_slacker() -> None:
    low, high = elongation_span(5.0, 4.975, 0.005)
    # class: analytic -- path over length made, less one
    assert (low, high) == pytest.approx((5.0 / 4.98 - 1, 5.0 / 4.97 - 1))
    with pytest.raises(NotComputable):
        elongation_span(5.0, 4.975, -0.001)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0.05, 0.4), st.floats(0.05, 0.4), st.floats(1.05, 12.0), st.floats(0.0, 0.006), st.floats(0.0, 1.0)
)  # fmt: skip
def test_a_crossed_belt_twisted_in_its_spans_runs_with_the_same_face_on_both(
    one_m: float, other_m: float, apart: float, thickness_m: float, share: float
) -> None:
    distance_m, neutral_m = apart * (one_m + other_m) / 2 + 0.02, share * thickness_m
    twisted = path_round([Pulley(0, 0, one_m), Pulley(distance_m, 0, other_m)], thickness_m, neutral_m, True)
    # class: analytic -- the closed form of the crossed belt, both diameters at the neutral plane
    closed = crossed_path(distance_m, one_m + 2 * neutral_m, other_m + 2 * neutral_m)
    assert twisted.length_m == pytest.approx(closed, rel=1e-9)


NEARLY_FLAT = (
    (0.0, 0.0, 0.1455, 1), (0.7397, 0.0121, 0.1271, -1), (1.3759, -0.1386, 0.1826, 1), (1.7899, 0.0003, 0.1288, -1),
    (2.9126, 0.0120, 0.1481, 1),
)  # fmt: skip


def test_a_mirrored_take_up_is_not_taken_for_another_loop_through_its_own_pulleys() -> None:
    """Read the other way round, the straight strand of this one would run through the outside pulleys."""
    loop = [Pulley(x, y, d, 1 if side == 1 else -1) for x, y, d, side in NEARLY_FLAT]
    mirrored = [Pulley(-one.x_m, one.y_m, one.diameter_m, one.side) for one in loop]
    # class: analytic -- a mirror changes no length
    assert path_round(mirrored, 0.0036, 0.003).length_m == pytest.approx(path(loop, 0.0036, 0.003).length_m)
    with pytest.raises(NotComputable, match="through pulley"):
        path(mirrored, 0.0036, 0.003)


def test_a_path_said_to_cross_itself_must_do_so() -> None:
    corners = [Pulley(0, 0, 0.1), Pulley(1, 0, 0.1), Pulley(0.5, 0.8, 0.1)]
    with pytest.raises(NotComputable, match="does not"):
        path_round(corners, crossed=True)
