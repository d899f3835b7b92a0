"""Healing against closed forms, and what must hold of it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from assistant.recipe.conduction import Conduction, Follows
from assistant.recipe.healing import LABEL, Reptation, degree, healing_of
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.run import Run
from assistant.recipe.stack import ZERO_C_K, Layer, Stack

MODEL = Reptation()
COLD = np.array([0.0])


@pytest.mark.parametrize(
    ("degC", "seconds"),
    [
        (160, 204.35),  # class: analytic -- t_ref exp[(E/R)(1/T - 1/T_ref)]
        (170, 109.21),  # class: analytic -- t_ref exp[(E/R)(1/T - 1/T_ref)]
        (180, 60.0),  # class: analytic -- the reference itself
        (190, 33.83),  # class: analytic -- t_ref exp[(E/R)(1/T - 1/T_ref)]
    ],
)
def test_the_time_to_heal_wholly_falls_with_temperature(degC: float, seconds: float) -> None:
    assert MODEL.time_s(degC + ZERO_C_K) == pytest.approx(seconds, rel=5e-4)


def held(degC: float, seconds: float, fusion_degC: float = 150.0) -> float:
    times = np.array([0.0, seconds])
    found = MODEL.integral(times, np.full((1, 2), degC + ZERO_C_K), np.array([fusion_degC + ZERO_C_K]))
    return float(found[0])


def test_held_still_it_grows_with_the_fourth_root_of_time() -> None:
    assert degree(held(180, 15)) == pytest.approx(0.70711, rel=1e-4)  # class: analytic -- (15 / 60)^(1/4)
    assert degree(held(170, 60)) == pytest.approx(0.86094, rel=5e-3)  # class: analytic -- (60 / 109.21)^(1/4)
    assert held(140, 600) == 0.0  # class: analytic -- nothing below fusion counts


def test_a_ramp_in_closed_form() -> None:
    rate = 20 / 60
    whole = MODEL.of_ramp(423.15, 453.15, rate)
    assert whole == pytest.approx(
        0.68953, rel=5e-4
    )  # class: analytic -- closed form with E1; quadrature agrees to 1e-13
    assert degree(whole) == pytest.approx(0.91125, rel=5e-4)  # class: analytic -- closed form with E1
    assert MODEL.of_ramp(443.15, 453.15, rate) == pytest.approx(
        0.37701, rel=5e-4
    )  # class: analytic -- closed form with E1
    assert degree(whole + held(180, 20)) == 1.0  # class: analytic -- capped


@given(st.floats(380, 450), st.floats(1, 60), st.floats(0.01, 5.0), st.floats(0, 300e3), st.floats(0.1, 1000))
def test_the_closed_form_is_the_integral(
    from_K: float, rise_K: float, rate: float, activation: float, t_ref_s: float
) -> None:
    model = Reptation(t_ref_s, 453.15, activation)
    by_quadrature, _ = quad(lambda t: 1 / model.time_s(from_K + rate * t), 0.0, rise_K / rate)
    assert model.of_ramp(from_K, from_K + rise_K, rate) == pytest.approx(by_quadrature, rel=1e-6)
    times = np.linspace(0.0, rise_K / rate, 60)
    sampled = model.integral(times, (from_K + rate * times)[None, :], COLD)
    assert float(sampled[0]) == pytest.approx(by_quadrature, rel=1e-6)


def test_only_what_lies_above_fusion_counts_on_the_way_up_and_down() -> None:
    times, fusion = np.array([0.0, 90.0, 120.0, 210.0]), np.array([443.15])
    degC = np.array([[150.0, 180.0, 180.0, 150.0]])
    found = float(MODEL.integral(times, degC + ZERO_C_K, fusion)[0])
    assert found == pytest.approx(
        2 * 0.37701 + 0.5, rel=5e-4
    )  # class: analytic -- closed form with E1, twice, and 30 s of 60


def test_the_worst_point_of_a_belt_is_its_last_one_to_fuse(layer: Callable[..., Layer]) -> None:
    body = Conduction(Stack((layer("tpu", 4.0),), (1e-4, 1e-4)))
    run = Run(body).then(0.0, body.uniform(293.15), Follows(458.15), Follows(458.15))
    found = healing_of(run, 120.0)
    assert found.depth_m == pytest.approx(2e-3, abs=0.2e-3)  # class: analytic -- symmetry
    assert 0 < found.degree <= 1
    assert found.label == LABEL
    assert healing_of(run, 60.0).degree <= found.degree
    assert healing_of(run, 1.0).degree == 0.0
    assert healing_of(run, 0.0).degree == 0.0


def test_impossible_constants_are_refused() -> None:
    with pytest.raises(NotComputable, match="above zero"):
        Reptation(0.0)
    with pytest.raises(NotComputable, match="not be below"):
        Reptation(activation_J_mol=-1.0)
