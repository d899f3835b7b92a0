"""Pressure on the belt against plain statics, and what a temperature means to a hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.recipe.not_computable import NotComputable
from assistant.recipe.pressure import belt_pressure, line_pressure
from assistant.recipe.touch import burn_threshold, skin_face, touch

BAR = 1e5


def test_a_wide_bag_presses_harder_on_a_narrow_belt() -> None:
    pressed = belt_pressure(2 * BAR, 1.2 * 0.12, 0.6 * 0.1, 0.1)
    assert pressed.force_N == pytest.approx(28_800)  # class: analytic -- p A
    assert pressed.belt_Pa / BAR == pytest.approx(4.8)  # class: analytic -- F / A of the belt


def test_the_weight_of_the_plate_counts() -> None:
    # class: analytic -- (p A + 150 N) / A
    assert belt_pressure(2 * BAR, 0.08, 0.08, 0.08, weight_N=150).belt_Pa / BAR == pytest.approx(2.01875)


@given(st.floats(0.5, 4), st.floats(0.005, 0.1), st.floats(0.005, 0.1), st.floats(0, 100))
def test_the_gauge_pressure_puts_the_wanted_pressure_on_the_belt(
    bar: float, bag: float, belt: float, weight: float
) -> None:
    if bar * BAR * belt <= weight:
        return
    line = line_pressure(bar * BAR, bag, belt, belt, weight_N=weight).line_Pa
    # class: analytic -- inverse
    assert belt_pressure(line, bag, belt, belt, weight_N=weight).belt_Pa == pytest.approx(bar * BAR, rel=1e-9)


@pytest.mark.parametrize(
    ("impossible", "words"),
    [
        (lambda: belt_pressure(-0.1 * BAR, 0.1, 0.1, 0.1), "below zero"),
        (
            lambda: belt_pressure(4 * BAR, 0.1, 0.1, 0.1, press_limit_Pa=3 * BAR),
            "the press may have, 3.00 bar",
        ),
        (
            lambda: belt_pressure(2 * BAR, 0.1, 0.05, 0.1, belt_limit_Pa=3 * BAR),
            "data sheet allows, 3.00 bar",
        ),
        (lambda: belt_pressure(2 * BAR, 0.1, 0.0, 0.1), "no belt"),
        (lambda: belt_pressure(2 * BAR, 0.1, 0.2, 0.1), "more belt"),
        (lambda: belt_pressure(2 * BAR, 0.0, 0.1, 0.1), "no area"),
        (lambda: line_pressure(0.001 * BAR, 0.1, 0.1, 0.1, weight_N=500), "weight"),
    ],
)
def test_pressure_that_cannot_be_is_refused(impossible, words) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NotComputable, match=words):
        impossible()


@pytest.mark.parametrize(
    ("celsius", "words"),
    [
        (43.0, "cool"),  # class: common practice, no published source -- above 43 warm
        (43.1, "warm"),  # class: common practice, no published source -- above 43 warm
        (48.1, "hot, gloves"),  # class: common practice, no published source -- above 48 gloves
        (64.9, "hot, gloves"),  # class: common practice, no published source -- from 65 a touch burns
        (65.0, "burns at a touch"),  # class: common practice, no published source -- from 65 a touch burns
    ],
)
def test_a_temperature_is_said_as_a_hand_feels_it(celsius: float, words: str) -> None:
    assert touch(celsius + 273.15) == words


def test_metal_burns_sooner_than_plastic() -> None:
    assert burn_threshold(1, "metal") - 273.15 == pytest.approx(65)  # class: from memory -- ISO 13732-1
    assert burn_threshold(1, "plastic") - 273.15 == pytest.approx(85)  # class: from memory -- ISO 13732-1
    assert burn_threshold(30, "metal") - 273.15 == pytest.approx(51)  # class: from memory -- ISO 13732-1
    assert burn_threshold(1e6, "plastic") - 273.15 == pytest.approx(43)  # class: from memory -- ISO 13732-1


def test_a_hot_plate_brings_the_skin_nearer_to_its_heat_than_a_belt() -> None:
    # class: analytic -- contact of two half spaces at 70 °C: aluminium e 20325, PVC e 547.7, skin e 1181 at 33 °C
    assert skin_face(343.15, 20325) - 273.15 == pytest.approx(68.0, abs=0.05)
    # class: analytic -- contact of two half spaces
    assert skin_face(343.15, 547.7) - 273.15 == pytest.approx(44.7, abs=0.05)
