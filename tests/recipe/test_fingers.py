"""Finger joints against closed forms."""

from math import atan, degrees, hypot, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.recipe.fingers import check_fit, fingers, flank_stress
from assistant.recipe.not_computable import NotComputable

# class: analytic -- triangle geometry; mm, N/mm; n, rest, flank, weld line, gain, angle in degrees, sigma_n, tau in MPa
TABLE = [
    (10, 80, 500, 2.0, 10, 0, 50, 0.0, 80.1561, 8015.610, 16.0312, 3.5763, 0.019455, 0.311284),
    (11.5, 35, 305, 1.2, 5, 0, 26, 6.0, 35.4692, 1881.409, 6.16855, 9.3295, 0.109502, 0.666534),
    (20, 80, 1000, 4, 20, 0, 50, 0.0, 80.6226, 8062.258, 8.06226, 7.1250, 0.076923, 0.615385),
    (50, 100, 600, 5, 25, 0, 12, 0.0, 103.0776, 2473.863, 4.12311, 14.0362, 0.294118, 1.176471),
    (10, 80, 500, 2, 10, 1, 50, 0.0, 80.0999, 8109.994, 16.2200, 2.8624, 0.012469, 0.249377),
]


@pytest.mark.parametrize("row", TABLE)
def test_a_finger_joint_agrees_with_its_closed_form(row: tuple[float, ...]) -> None:
    p, L, b, t, pull, w, n, rest, s, W, gain, phi, sigma, tau = row
    joint = fingers(p / 1e3, L / 1e3, b / 1e3, t / 1e3, w / 1e3)
    stress = flank_stress(joint, pull * 1e3)
    assert joint.whole == n
    assert joint.rest_m * 1e3 == pytest.approx(rest, abs=1e-6)
    assert joint.flank_m * 1e3 == pytest.approx(s, abs=1e-4)
    assert joint.weld_line_m * 1e3 == pytest.approx(W, abs=1e-3)
    assert joint.gain == pytest.approx(gain, abs=1e-4)
    assert degrees(joint.flank_angle_rad) == pytest.approx(phi, abs=1e-4)
    assert stress.normal_Pa / 1e6 == pytest.approx(sigma, abs=1e-6)
    assert stress.shear_Pa / 1e6 == pytest.approx(tau, abs=1e-6)
    assert stress.resultant_Pa == pytest.approx(hypot(stress.normal_Pa, stress.shear_Pa))


lengths = st.floats(0.005, 0.2)


@given(pitch=st.floats(0.004, 0.05), length=lengths, width=st.floats(0.05, 1.0), pull=st.floats(0, 1e5))
def test_the_flanks_carry_the_whole_pull(pitch: float, length: float, width: float, pull: float) -> None:
    joint = fingers(pitch, length, width, 0.002)
    stress = flank_stress(joint, pull)
    along = stress.normal_Pa * (pitch / 2 / joint.flank_m) + stress.shear_Pa * (length / joint.flank_m)
    # class: analytic -- force balance along the belt
    assert along * joint.weld_area_m2 == pytest.approx(pull * width, rel=1e-9, abs=1e-9)


def test_fingers_of_no_length_are_a_butt_joint() -> None:
    joint = fingers(0.01, 1e-9, 0.5, 0.002)
    stress = flank_stress(joint, 1e4)
    # class: analytic -- limit L to 0: W = b, angle 90 degrees, sigma_n = sigma, tau = 0
    assert joint.gain == pytest.approx(1.0, abs=1e-6)
    # class: analytic -- limit L to 0
    assert joint.flank_angle_rad == pytest.approx(pi / 2, abs=1e-6)
    # class: analytic -- limit L to 0; 10 N/mm over 2 mm
    assert (stress.normal_Pa, stress.shear_Pa) == pytest.approx((5e6, 0.0), abs=5.0)


def test_very_fine_fingers_see_no_shear() -> None:
    # class: analytic -- limit p to 0: tau = sigma p / 2L
    assert flank_stress(fingers(1e-6, 0.08, 0.5, 0.002), 1e4).shear_Pa == pytest.approx(
        5e6 * 1e-6 / 0.16, rel=1e-6
    )
    assert atan(1e-6 / 0.16) < 1e-5


def test_a_narrow_part_finger_at_the_edge_is_flagged() -> None:
    # class: common practice, no published source -- a part-finger under a quarter pitch may curl
    assert "curl" in fingers(0.010, 0.035, 0.123, 0.002).notes[0]  # 1.5 mm at each edge
    assert fingers(0.0115, 0.035, 0.305, 0.0012).notes == ()  # 3.0 mm, more than 2.875
    assert fingers(0.015, 0.060, 0.045, 0.002).notes == ()  # whole pitches


def test_the_number_of_whole_fingers_survives_rounding() -> None:
    joint = fingers(0.0075, 0.03, 0.045, 0.002)
    assert (joint.whole, joint.rest_m) == (6, 0.0)  # class: analytic -- 45 / 7.5


@pytest.mark.parametrize(
    ("p", "L", "b", "t", "w"),
    [
        (0.02, 0.08, 0.015, 0.002, 0),
        (0.01, 0.0, 0.1, 0.002, 0),
        (0.01, -1.0, 0.1, 0.002, 0),
        (0.01, 0.08, 0.1, 0.0, 0),
        (0.01, 0.08, 0.1, 0.002, 0.005),
        (0.01, 0.08, float("nan"), 0.002, 0),
        (0.0, 0.08, 0.1, 0.002, 0),
    ],
)
def test_fingers_that_cannot_be_are_refused(p: float, L: float, b: float, t: float, w: float) -> None:
    with pytest.raises(NotComputable):
        fingers(p, L, b, t, w)


def test_fingers_longer_than_the_plate_are_refused_with_the_lengths() -> None:
    joint = fingers(0.01, 0.08, 0.1, 0.002)
    check_fit(joint, 0.140, 0.1)  # class: common practice, no published source -- 80 mm and 30 mm each way
    with pytest.raises(NotComputable, match=r"80 mm need 140 mm .* only 139 mm"):
        check_fit(joint, 0.139, 0.1)
    with pytest.raises(NotComputable, match="wide"):
        check_fit(joint, 0.2, 0.099)
    with pytest.raises(NotComputable, match="negative"):
        flank_stress(joint, -1.0)
