"""Heat through layers that melt: against a worked value, an independent solver, and what must hold anyway."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from assistant.recipe.conduction import Conduction, Driven, Follows
from assistant.recipe.melting import Melting
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.platen import hot_fusion_time
from assistant.recipe.run import Run
from assistant.recipe.stack import ZERO_C_K, Layer, Stack

START_K = 20 + ZERO_C_K
PE = Layer(2e-3, 0.30, 930, 2300, True, 150 + ZERO_C_K, 220 + ZERO_C_K, "pe", 100e3, 373.15, 398.15)
DRY = replace(PE, latent_J_kg=0.0)


def slab(half: Layer) -> Stack:
    return Stack((half, half), (0.0, 0.0, 0.0))


def test_four_millimetres_of_polyethylene_take_the_longer_for_melting() -> None:
    fused_s = [hot_fusion_time(Conduction(slab(half)), START_K, 453.15, 453.15) for half in (PE, DRY)]
    assert fused_s[0] == pytest.approx(
        29.96, rel=0.005
    )  # class: analytic -- enthalpy and effective heat capacity agree
    assert fused_s[1] == pytest.approx(22.14, rel=0.005)  # class: analytic -- series of the slab


@pytest.mark.slow
@pytest.mark.parametrize(
    ("latent", "band", "upper_K", "lower_K"),
    [(60e3, (400.0, 440.0), 460.0, 430.0), (150e3, (380.0, 384.0), 470.0, 470.0), (20e3, (330.0, 450.0), 455.0, 480.0)],
)  # fmt: skip
def test_another_grid_and_radau_with_effective_heat_capacity_agree(
    latent: float, band: tuple[float, float], upper_K: float, lower_K: float
) -> None:
    """Nodes on the faces in place of cells, temperature in place of enthalpy, Radau in place of LSODA."""
    cloth = Layer(0.5e-3, 0.22, 1180, 1400)
    belt = replace(PE, thickness_m=3e-3, latent_J_kg=latent, melts_from_K=band[0], melts_to_K=band[1])
    n, contact = 60, 1e-4
    h = belt.thickness_m / n
    area = belt.density_kg_m3 * h * np.array([0.5, *[1.0] * (n - 1), 0.5])
    film = 1 / (cloth.thickness_m / cloth.conductivity_W_mK / 8 + contact)
    m = 4  # cells of the cloth

    def rate(_t: float, y: np.ndarray) -> np.ndarray:
        upper, belt_K = y[:m], y[m:]
        d = cloth.thickness_m / m
        g = cloth.conductivity_W_mK / d
        into = np.concatenate(([2 * g * (upper_K - upper[0])], g * (upper[:-1] - upper[1:])))
        onward = film * (upper[-1] - belt_K[0])
        cp = belt.heat_capacity_J_kgK + latent / (band[1] - band[0]) * (
            (belt_K > band[0]) & (belt_K < band[1])
        )
        flow = belt.conductivity_W_mK / h * (belt_K[:-1] - belt_K[1:])
        gain = np.concatenate(([onward], flow)) - np.concatenate((flow, [(belt_K[-1] - lower_K) / 1e-4]))
        top = (into - np.concatenate((into[1:], [onward]))) / (
            cloth.density_kg_m3 * cloth.heat_capacity_J_kgK * d
        )
        return np.concatenate((top, gain / (area * cp)))

    times = np.array([5.0, 15.0, 30.0, 60.0, 120.0])
    peer = solve_ivp(
        rate, (0, 120), np.full(m + n + 1, START_K), method="Radau", t_eval=times, max_step=0.2, rtol=1e-5
    )
    body = Conduction(Stack((cloth, belt), (0.0, contact, 1e-4)), 2.0)
    ours = Run(body).then(0.0, body.uniform(START_K), Follows(upper_K), Follows(lower_K)).belt(times)
    # class: peer library -- scipy Radau on another grid, computed here
    assert ours[0] == pytest.approx(peer.y[m], abs=0.7)
    assert ours[-1] == pytest.approx(peer.y[-1], abs=0.7)
    assert ours.min(axis=0) == pytest.approx(peer.y[m:].min(axis=0), abs=0.7)


def test_without_latent_heat_both_solvers_are_one() -> None:
    body = Conduction(Stack((Layer(3e-3, 170, 2700, 900), *slab(DRY).layers), (1e-4, 1e-4, 0.0, 2e-4)))
    for ends in (
        (Follows(300.0, 0.4), Follows(460.0, towards_K=300.0, tau_s=60.0)),
        (Driven(36000.0, 12000.0, 8.0, 293.15), Follows(440.0)),
    ):
        times = np.array([0.0, 1.0, 20.0, 300.0])
        exact = Run(body).then(0.0, body.uniform(START_K), *ends).nodes(times)
        assert Melting(body, body.uniform(START_K), *ends).nodes(times) == pytest.approx(exact, abs=0.02)


def test_the_heat_given_is_stored_and_comes_back() -> None:
    body = Conduction(Stack((Layer(3e-3, 170, 2700, 900), PE), (1e-4, 1e-4, 1e-4)))
    heated = Run(body).then(
        0.0, body.uniform(START_K), Driven(30000.0, 9000.0, 0.0, 300.0), Driven(30000.0, 7000.0, 0.0, 300.0)
    )
    nodes = heated.now(500.0)
    stored = float(body.stored_J_m2(nodes, START_K)) + 30000.0 * float(nodes[0] + nodes[-1] - 2 * START_K)
    assert stored == pytest.approx(16000.0 * 500.0, rel=1e-3)  # class: analytic -- energy balance
    without = Conduction(Stack((Layer(3e-3, 170, 2700, 900), DRY), (1e-4, 1e-4, 1e-4)))
    more = float(body.stored_J_m2(nodes, START_K)) - float(without.stored_J_m2(nodes, START_K))
    assert more == pytest.approx(930 * 2e-3 * 100e3)  # class: analytic -- mass times latent heat


def test_times_may_be_asked_in_any_order_and_again() -> None:
    body = Conduction(slab(PE))
    segment = Melting(body, body.uniform(START_K), Follows(453.15), Follows(453.15))
    whole = segment.nodes(np.array([0.0, 5.0, 25.0, 90.0]))
    assert segment.nodes(np.array([90.0, 5.0, 5.0])) == pytest.approx(whole[:, [3, 1, 1]], abs=0.01)
    assert segment.nodes(np.array([24.0]))[:, 0].max() < whole[:, 2].max() + 1e-6


def test_more_latent_heat_never_fuses_sooner() -> None:
    times = [
        hot_fusion_time(Conduction(slab(replace(PE, latent_J_kg=latent))), START_K, 453.15, 448.15)
        for latent in (0.0, 10e3, 50e3, 100e3, 200e3)
    ]
    assert all(later > sooner for sooner, later in pairwise(t for t in times if t is not None))


def test_latent_heat_without_its_band_is_refused() -> None:
    with pytest.raises(NotComputable, match="two temperatures between which it melts"):
        Layer(1e-3, 0.3, 930, 2300, latent_J_kg=1e5)
    with pytest.raises(NotComputable, match="zero or more"):
        Layer(1e-3, 0.3, 930, 2300, latent_J_kg=-1.0)
