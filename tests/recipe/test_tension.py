"""Tension, shaft load and slip against closed forms."""

from math import pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.recipe.not_computable import NotComputable
from assistant.recipe.tension import bending_strain, drive, elongation_for, grip, marks, pull, shaft_load


def test_the_pull_goes_with_elongation_and_width() -> None:
    tight = pull(8e3, 0.005, 0.5)
    assert tight == pytest.approx(2000)  # class: analytic -- 8 N/mm * 0.5 * 500 mm
    assert shaft_load(tight, tight, pi) == pytest.approx(4000)  # class: analytic -- 2 F sin 90
    # class: analytic -- 2 F sin 60
    assert shaft_load(tight, tight, radians(120)) == pytest.approx(3464.10, abs=0.01)
    assert elongation_for(tight, 8e3, 0.5) == pytest.approx(0.005)  # class: analytic -- inverse


def test_a_running_shaft_carries_the_vector_sum() -> None:
    # class: analytic -- law of cosines
    assert shaft_load(1500, 500, radians(210)) == pytest.approx(1949.11, abs=0.01)


@pytest.mark.parametrize(
    ("friction", "wrap", "ratio"),
    [
        (0.2, 180, 1.87446),  # class: analytic -- exp(mu beta)
        (0.3, 180, 2.56633),  # class: analytic -- exp(mu beta)
        (0.3, 210, 3.00284),  # class: analytic -- exp(mu beta)
        (0.15, 180, 1.60198),  # class: analytic -- exp(mu beta)
        (0.25, 200, 2.39328),  # class: analytic -- exp(mu beta)
    ],
)
def test_grip_grows_with_friction_and_wrap(friction: float, wrap: float, ratio: float) -> None:
    assert grip(friction, radians(wrap)) == pytest.approx(ratio, abs=1e-5)


def test_the_least_tension_that_carries_the_drive() -> None:
    least = drive(800, 0.3, pi)
    # class: analytic -- F2 = FU / (e^(mu beta) - 1)
    assert least.slack_N == pytest.approx(510.75, abs=0.01)
    assert least.tight_N == pytest.approx(1310.75, abs=0.01)  # class: analytic -- F1 = F2 + FU
    assert least.rest_N == pytest.approx(910.75, abs=0.01)  # class: analytic -- (F1 + F2) / 2
    # class: analytic -- F0 / (k1 b)
    assert elongation_for(least.rest_N, 8e3, 0.5) * 100 == pytest.approx(0.22769, abs=1e-5)


@pytest.mark.parametrize(
    ("thickness", "diameter", "percent"),
    [
        (2.4, 50, 4.580),  # class: analytic -- t / (D + t)
        (1.2, 20, 5.660),  # class: analytic -- t / (D + t)
        (5, 120, 4.000),  # class: analytic -- t / (D + t)
    ],
)
def test_bending_stretches_the_outer_face(thickness: float, diameter: float, percent: float) -> None:
    assert bending_strain(thickness / 1e3, diameter / 1e3) * 100 == pytest.approx(percent, abs=5e-4)


def test_a_pulley_below_the_data_sheet_is_refused() -> None:
    with pytest.raises(NotComputable, match=r"20 mm is smaller than the data sheet's 30 mm.*5\.7 %"):
        bending_strain(0.0012, 0.020, 0.030)
    bending_strain(0.0012, 0.030, 0.030)


def test_marks_a_metre_apart_show_the_elongation() -> None:
    assert marks(0.003) == pytest.approx(
        1.003
    )  # class: common practice, no published source -- 1003 to 1010 mm
    assert marks(0.01) == pytest.approx(1.010)  # class: analytic -- 1000 (1 + e)
    with pytest.raises(NotComputable, match="outside"):
        marks(0.02, 1.0, (0.002, 0.01))


@given(st.floats(1, 1e4), st.floats(0.05, 1.0), st.floats(0.1, 6.28))
def test_the_tight_strand_is_on_the_verge_of_slipping(effective: float, friction: float, wrap: float) -> None:
    least = drive(effective, friction, wrap)
    # class: analytic -- Euler-Eytelwein holds with equality
    assert least.tight_N / least.slack_N == pytest.approx(grip(friction, wrap), rel=1e-9)


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: grip(0, pi),
        lambda: grip(0.3, 0),
        lambda: grip(0.3, radians(361)),
        lambda: shaft_load(1, 1, -1),
        lambda: drive(-1, 0.3, pi),
        lambda: pull(0, 0.005, 0.5),
        lambda: pull(8e3, 0.02, 0.5, (0.002, 0.01)),
        lambda: elongation_for(-1, 8e3, 0.5),
        lambda: bending_strain(0, 0.05),
    ],
)
def test_what_cannot_be_is_refused(impossible) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NotComputable):
        impossible()
