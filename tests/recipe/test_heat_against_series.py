"""The heat solver against closed forms: slabs, half-spaces, ramps, and composite slabs solved exactly."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from assistant.recipe.conduction import Conduction, Follows, cell_sizes
from assistant.recipe.run import Run, first_time
from assistant.recipe.stack import ZERO_C_K, Layer, Stack

FINE = 4.0
Make = Callable[..., Layer]


def slab(layer: Layer, contact: float = 0.0) -> Stack:
    """One material in two halves, so that its mid-plane is a face."""
    half = Layer(
        layer.thickness_m / 2,
        layer.conductivity_W_mK,
        layer.density_kg_m3,
        layer.heat_capacity_J_kgK,
        True,
        1.0,
        2.0,
    )
    return Stack((half, half), (contact, 0.0, contact))


def held(stack: Stack, start: float, upper: float, lower: float) -> Run:
    body = Conduction(stack, FINE)
    return Run(body).then(0.0, body.uniform(start), Follows(upper), Follows(lower))


def at_depth(run: Run, depth_m: float, t_s: float) -> float:
    """The belt point nearest to a depth that is a face or the middle of a cell."""
    return float(run.belt(t_s)[np.argmin(abs(run.body.depth_m - depth_m)), 0])


FOURIER = (0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.5, 2.0)
MID_PLANE = [
    (1e12, (0.94931, 0.77231, 0.47449, 0.28971, 0.17687, 0.10798, 0.03144, 0.00916)),  # class: analytic -- series of the slab, Carslaw & Jaeger 3.3
    (100.0, (0.95209, 0.77936, 0.48374, 0.29825, 0.18386, 0.11334, 0.03382, 0.01009)),  # class: analytic -- series of the slab, Carslaw & Jaeger 3.11
    (10.0, (0.96842, 0.82926, 0.55743, 0.37071, 0.24643, 0.16382, 0.05902, 0.02127)),  # class: analytic -- series of the slab, Carslaw & Jaeger 3.11
    (1.0, (0.99311, 0.95064, 0.83095, 0.71768, 0.61903, 0.53386, 0.36872, 0.25467)),  # class: analytic -- series of the slab, Carslaw & Jaeger 3.11
    (0.1, (0.99922, 0.99400, 0.97717, 0.95874, 0.94041, 0.92239, 0.87883, 0.83733)),  # class: analytic -- series of the slab, Carslaw & Jaeger 3.11
]  # fmt: skip


@pytest.mark.parametrize(("biot", "theta"), MID_PLANE)
def test_the_mid_plane_of_a_slab_follows_the_series(
    layer: Make, biot: float, theta: tuple[float, ...]
) -> None:
    tpu = layer("tpu", 4.0)
    half_m = tpu.thickness_m / 2
    run = held(slab(tpu, half_m / (tpu.conductivity_W_mK * biot)), 1.0, 0.0, 0.0)
    for fourier, expected in zip(FOURIER, theta, strict=True):
        t_s = fourier * half_m**2 / tpu.diffusivity_m2_s
        assert at_depth(run, half_m, t_s) == pytest.approx(expected, abs=1e-4)


FIRST_MODE = [
    (0.1, 0.3111, 1.0161),  # class: analytic -- root of zeta tan zeta = Bi; Incropera table 5.1
    (1.0, 0.8603, 1.1191),  # class: analytic -- root of zeta tan zeta = Bi; Incropera table 5.1
    (10.0, 1.4289, 1.2620),  # class: analytic -- root of zeta tan zeta = Bi; Incropera table 5.1
    (100.0, 1.5552, 1.2731),  # class: analytic -- root of zeta tan zeta = Bi; Incropera table 5.1
]


@pytest.mark.parametrize(("biot", "zeta", "weight"), FIRST_MODE)
def test_the_slowest_mode_of_a_slab_is_the_printed_one(
    layer: Make, biot: float, zeta: float, weight: float
) -> None:
    tpu = layer("tpu", 4.0)
    half_m = tpu.thickness_m / 2
    run = held(slab(tpu, half_m / (tpu.conductivity_W_mK * biot)), 1.0, 0.0, 0.0)
    rate = run.body.decay_rates_1_s[0]
    assert (rate * half_m**2 / tpu.diffusivity_m2_s) ** 0.5 == pytest.approx(zeta, abs=1.5e-4)
    late_s = 1.5 * half_m**2 / tpu.diffusivity_m2_s
    assert at_depth(run, half_m, late_s) * np.exp(rate * late_s) == pytest.approx(weight, abs=2e-4)


@pytest.mark.parametrize(
    ("contact", "seconds"),
    [
        (0.0, 44.09),  # class: analytic -- series of the slab, 4 mm PVC
        (2e-4, 45.51),  # class: analytic -- series of the slab, 4 mm PVC, Bi 62.5
    ],
)
def test_four_millimetres_of_pvc_reach_160_in_the_middle(layer: Make, contact: float, seconds: float) -> None:
    run = held(slab(layer("pvc", 4.0), contact), 20.0, 180.0, 180.0)
    found = first_time(lambda t: run.coldest_K(t) - 160.0, 0.0, 100.0)
    assert found == pytest.approx(seconds, abs=0.01)


def half_space(layer: Make, key: str, contact: float = 0.0) -> Stack:
    """Deep enough not to notice its far side for half a minute; fine at the top."""
    fine = tuple(layer(key, mm) for mm in (0.5, 0.5, 1.0, 2.0, 4.0, 12.0))
    return Stack(fine, (contact, *(0.0,) * 6))


def test_a_half_space_under_a_step_follows_the_error_function(layer: Make) -> None:
    run = held(half_space(layer, "pvc"), 20.0, 185.0, 20.0)
    assert at_depth(run, 1e-3, 10.0) == pytest.approx(93.26, abs=0.05)  # class: analytic -- error function
    nodes = run.now(10.0)
    flux = run.body.conductance[0] * (nodes[0] - nodes[1])
    assert flux == pytest.approx(16124, rel=1e-3)  # class: analytic -- k (Ts - T0) / sqrt(pi a t)


def test_a_half_space_behind_a_contact_resistance_lags(layer: Make) -> None:
    run = held(half_space(layer, "pvc", 1e-4), 20.0, 185.0, 20.0)
    assert at_depth(run, 0.0, 1.0) == pytest.approx(
        179.91, abs=0.05
    )  # class: analytic -- convective half-space
    assert at_depth(run, 0.5e-3, 2.0) == pytest.approx(
        82.26, abs=0.1
    )  # class: analytic -- convective half-space


@pytest.mark.parametrize(
    ("hot", "hot_degC", "interface"),
    [
        ("aluminium", 185.0, 180.67),  # class: analytic -- effusivities 20325 and 547.7
        ("tpu", 180.0, 106.46),  # class: analytic -- effusivities 644.0 and 547.7
    ],
)
def test_two_bodies_that_touch_meet_at_the_mean_weighted_by_effusivity(
    layer: Make, hot: str, hot_degC: float, interface: float
) -> None:
    above = tuple(
        layer(hot, mm) for mm in ((80.0, 20.0) if hot == "aluminium" else (12.0, 4.0, 2.0, 1.0, 0.5, 0.5))
    )
    below = tuple(layer("pvc", mm) for mm in (0.5, 0.5, 1.0, 2.0, 4.0, 12.0))
    body = Conduction(Stack((*above, *below), (0.0,) * (len(above) + 7)), FINE)
    nodes = body.uniform(20.0)
    cells = sum(len(cell_sizes(piece, FINE)) for piece in above)
    nodes[: cells + 1] = hot_degC
    run = Run(body).then(0.0, nodes, Follows(hot_degC), Follows(20.0))
    top = np.argmin(abs(body.depth_m - sum(piece.thickness_m for piece in above if piece.is_belt)))
    assert run.belt(1.0)[top, 0] == pytest.approx(interface, abs=0.1)


@pytest.mark.parametrize(
    ("t_s", "mid"),
    [
        (10.0, 56.48),  # class: analytic -- series, faces 180 and 150
        (20.0, 100.58),  # class: analytic -- series, faces 180 and 150
        (40.0, 142.52),  # class: analytic -- series, faces 180 and 150
        (80.0, 162.26),  # class: analytic -- series, faces 180 and 150
    ],
)
def test_unequal_faces_follow_their_series(layer: Make, t_s: float, mid: float) -> None:
    run = held(slab(layer("pvc", 4.0)), 20.0, 180.0, 150.0)
    assert at_depth(run, 2e-3, t_s) == pytest.approx(mid, abs=0.02)


PHI = (
    0.001127,
    0.014807,
    0.092324,
    0.217415,
    0.371682,
    0.543761,
    1.012740,
    1.503710,
)  # class: analytic -- Duhamel, Carslaw & Jaeger 3.5


def test_ramping_faces_follow_duhamel(layer: Make) -> None:
    tpu = layer("tpu", 4.0)
    half_m, a = tpu.thickness_m / 2, tpu.diffusivity_m2_s
    slope = 0.5
    body = Conduction(slab(tpu), FINE)
    run = Run(body).then(0.0, body.uniform(0.0), Follows(0.0, slope), Follows(0.0, slope))
    for fourier, phi in zip(FOURIER, PHI, strict=True):
        found = at_depth(run, half_m, fourier * half_m**2 / a) / (slope * half_m**2 / a)
        assert found == pytest.approx(phi, abs=1e-4)


@pytest.mark.parametrize(
    ("t_s", "mid"),
    [
        (60.0, 32.53),  # class: analytic -- Duhamel
        (120.0, 52.20),  # class: analytic -- Duhamel
        (300.0, 112.19),  # class: analytic -- Duhamel
    ],
)
def test_pvc_between_faces_that_gain_20_kelvin_a_minute(layer: Make, t_s: float, mid: float) -> None:
    body = Conduction(slab(layer("pvc", 4.0)), FINE)
    run = Run(body).then(0.0, body.uniform(20.0), Follows(20.0, 20 / 60), Follows(20.0, 20 / 60))
    assert at_depth(run, 2e-3, t_s) == pytest.approx(mid, abs=0.02)
    assert 20.0 + 2000.0 / 3 - at_depth(run, 2e-3, 2000.0) == pytest.approx(
        7.81, abs=0.02
    )  # class: analytic -- beta L2 / 2a


def pvc_on_ply(layer: Make, contact: float) -> Stack:
    ply = layer("ply_pvc", 0.8)
    return Stack((layer("pvc", 1.0), ply), (contact, 0.0, contact))


def tpu_in_cloths(layer: Make, contact: float) -> Stack:
    half = layer("tpu", 1.0)
    return Stack(
        (layer("silicone", 0.3), half, half, layer("ptfe_glass", 0.15)),
        (contact, contact, 0.0, contact, contact),
    )


TIMES = (2.0, 5.0, 10.0, 20.0)
COMPOSITES = [
    (pvc_on_ply, 0.0, (0.28560, 1.13219, 2.56646), {1e-3: (64.53, 123.98, 157.62, 167.62)}),  # class: analytic -- transfer matrices, 30 digits
    (pvc_on_ply, 1e-4, (0.27509, 1.09072, 2.47244), {1e-3: (62.33, 121.58, 156.46, 167.51)}),  # class: analytic -- transfer matrices, 30 digits
    (
        tpu_in_cloths, 0.0, (0.15266, 0.61194, 1.38051),  # class: analytic -- transfer matrices, 30 digits
        {
            0.0: (126.53, 147.86, 163.93, 174.80),  # class: analytic -- transfer matrices, 30 digits
            1e-3: (33.57, 80.99, 128.14, 160.43),  # class: analytic -- transfer matrices, 30 digits
            2e-3: (138.38, 147.60, 154.72, 159.60),  # class: analytic -- transfer matrices, 30 digits
        },
    ),
    (
        tpu_in_cloths, 1e-4, (0.14370, 0.57967, 1.31734),  # class: analytic -- transfer matrices, 30 digits
        {1e-3: (32.00, 77.32, 124.46, 158.73)},  # class: analytic -- transfer matrices, 30 digits
    ),
]  # fmt: skip


@pytest.mark.parametrize(("make", "contact", "rates", "curves"), COMPOSITES)
def test_composite_slabs_follow_the_exact_solution(
    layer: Make,
    make: Callable[[Make, float], Stack],
    contact: float,
    rates: tuple[float, ...],
    curves: dict[float, tuple[float, ...]],
) -> None:
    run = held(make(layer, contact), 20.0, 180.0, 160.0)
    assert run.body.decay_rates_1_s[:3] == pytest.approx(rates, rel=0.005)
    for depth_m, curve in curves.items():
        for t_s, expected in zip(TIMES, curve, strict=True):
            assert at_depth(run, depth_m, t_s) == pytest.approx(expected, abs=0.5)


CLOTH_FACES = [
    ((0, 1), (124.03, 145.56, 162.14, 174.03)),  # class: analytic -- transfer matrices, silicone at the joint
    ((2, 1), (135.11, 145.39, 153.43, 159.26)),  # class: analytic -- transfer matrices, cloth at the joint
]


@pytest.mark.parametrize(("face", "curve"), CLOTH_FACES)
def test_the_cloth_side_of_a_joint_follows_the_exact_solution(
    layer: Make, face: tuple[int, int], curve: tuple[float, ...]
) -> None:
    """The cloth is watched by calling it belt; the answer must not depend on what is called so."""
    plain = tpu_in_cloths(layer, 1e-4)
    cloth = plain.layers[0] if face[0] == 0 else plain.layers[3]
    seen = Layer(
        cloth.thickness_m,
        cloth.conductivity_W_mK,
        cloth.density_kg_m3,
        cloth.heat_capacity_J_kgK,
        True,
        1.0,
        2.0,
    )
    tpu = Layer(1e-3, 0.19, 1180, 1850)
    layers = (seen, tpu, tpu, plain.layers[3]) if face[0] == 0 else (plain.layers[0], tpu, tpu, seen)
    run = held(Stack(layers, plain.contacts_m2K_W), 20.0, 180.0, 160.0)
    row = -1 if face[0] == 0 else 0
    for t_s, expected in zip(TIMES, curve, strict=True):
        assert run.belt(t_s)[row, 0] == pytest.approx(expected, abs=0.5)


def test_kelvin_and_celsius_differ_by_the_defined_offset() -> None:
    assert ZERO_C_K == 273.15  # class: printed -- definition of the degree Celsius
