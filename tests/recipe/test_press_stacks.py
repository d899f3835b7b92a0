"""Three worked lay-ups under given platens, and one with the press as part of the problem.

The numbers were found by three methods that agree (finite volumes, exact transfer matrices, finite elements
of second order by scikit-fem); tolerance one per cent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from assistant.recipe.conduction import Conduction, Follows
from assistant.recipe.platen import (
    PlatenModel,
    PressModel,
    Settings,
    above_fusion_s,
    cycle,
    heat_up,
    hot_fusion_time,
)
from assistant.recipe.run import Run, first_time, first_time_ever
from assistant.recipe.stack import ZERO_C_K, Layer, Stack

START_K = 20 + ZERO_C_K


@dataclass(frozen=True)
class Worked:
    upper: float  # set, degC
    lower: float
    upper_rate: float  # K/min
    lower_rate: float
    fusion: float
    release: float
    ramp_dwell_s: float
    hot_dwell_s: float
    air: tuple[float, float]  # coolant degC, time constant s
    water: tuple[float, float]


WORKED = {
    "A": Worked(175, 175, 25, 25, 160, 60, 90, 120, (25, 420), (20, 60)),
    "B": Worked(185, 175, 15, 12, 160, 70, 240, 240, (25, 600), (20, 75)),
    "C": Worked(185, 185, 12, 12, 165, 60, 300, 420, (25, 720), (20, 90)),
}


def body_of(stacks: dict[str, Stack], name: str, fineness: float = 1.0) -> Conduction:
    stack = stacks[name]
    if name != "C":
        return Conduction(stack, fineness)
    layers = tuple(
        Layer(
            layer.thickness_m, layer.conductivity_W_mK, layer.density_kg_m3, layer.heat_capacity_J_kgK, True,
            165 + ZERO_C_K, 205 + ZERO_C_K,
        ) if layer.is_belt else layer
        for layer in stack.layers
    )  # fmt: skip
    return Conduction(Stack(layers, stack.contacts_m2K_W), fineness)


def ramped(body: Conduction, case: Worked) -> tuple[Run, float]:
    """Both platens on their ramps, then held; and when the later one arrives."""
    arrivals = [
        (goal - 20) / (rate / 60)
        for goal, rate in ((case.upper, case.upper_rate), (case.lower, case.lower_rate))
    ]
    run, nodes, now = Run(body), body.uniform(START_K), 0.0
    for end in sorted({*arrivals, 1e9}):
        ends = [
            Follows(START_K + rate / 60 * now, rate / 60) if now < arrival else Follows(goal + ZERO_C_K)
            for goal, rate, arrival in (
                (case.upper, case.upper_rate, arrivals[0]),
                (case.lower, case.lower_rate, arrivals[1]),
            )
        ]
        run = run.then(now, nodes, *ends)
        if end < 1e9:
            nodes, now = run.now(end), end
    return run, max(arrivals)


def hot(body: Conduction, case: Worked) -> Run:
    return Run(body).then(
        0.0, body.uniform(START_K), Follows(case.upper + ZERO_C_K), Follows(case.lower + ZERO_C_K)
    )


def cooled(run: Run, at_s: float, case: Worked, by: tuple[float, float]) -> Run:
    coolant, tau_s = by
    return run.then(
        at_s, run.now(at_s),
        Follows(case.upper + ZERO_C_K, towards_K=coolant + ZERO_C_K, tau_s=tau_s),
        Follows(case.lower + ZERO_C_K, towards_K=coolant + ZERO_C_K, tau_s=tau_s),
    )  # fmt: skip


def above_s(run: Run, stop_s: float) -> float:
    """Between first and last time at fusion: exact where it rises once and falls once."""
    first = first_time_ever(run.coldest_over_fusion_K, 0.0)
    assert first is not None
    last = first_time(lambda t: -run.coldest_over_fusion_K(t), stop_s, stop_s + 4000.0)
    assert last is not None
    return last - first


RAMP = [
    ("A", 372.0, 339.86, (168.3, 130.1), 2.370e6, (175.00, 175.00, 175.00)),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("B", 775.0, 695.30, (388.6, 330.4), 3.571e6, (175.56, 183.97, 175.56)),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("C", 825.0, 771.48, (457.5, 369.5), 5.156e6, (185.00, 185.00, 185.00)),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
]  # fmt: skip


@pytest.mark.parametrize(("name", "set_s", "fused_s", "above", "stored", "ends"), RAMP)
def test_a_ramp_fuses_the_belt_when_it_should(
    stacks: dict[str, Stack],
    name: str,
    set_s: float,
    fused_s: float,
    above: tuple[float, float],
    stored: float,
    ends: tuple[float, ...],
) -> None:
    case, body = WORKED[name], body_of(stacks, name)
    run, later_s = ramped(body, case)
    assert later_s == pytest.approx(set_s, rel=1e-9)
    assert first_time_ever(run.coldest_over_fusion_K, 0.0) == pytest.approx(fused_s, rel=0.01)
    stop_s = later_s + case.ramp_dwell_s
    belt = run.belt(stop_s)[:, 0] - ZERO_C_K
    assert (belt.min(), belt[0], belt[-1]) == pytest.approx(ends, abs=0.05)
    assert float(body.stored_J_m2(run.now(stop_s), START_K)) == pytest.approx(stored, rel=0.01)
    for by, seconds in zip((case.air, case.water), above, strict=True):
        assert above_s(cooled(run, stop_s, case, by), stop_s) == pytest.approx(seconds, rel=0.01)


HOT = [
    ("A", 7.490, (158.6, 120.4), (615.1, 85.2), 0.37987),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("B", 21.216, (287.7, 229.5), (762.0, 99.5), 0.11573),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("C", 87.72, (436.3, 348.3), (1141.7, 182.3), 0.027122),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
]  # fmt: skip


@pytest.mark.parametrize(("name", "fused_s", "above", "cooling", "rate"), HOT)
def test_between_hot_platens_the_belt_fuses_and_cools_when_it_should(
    stacks: dict[str, Stack],
    name: str,
    fused_s: float,
    above: tuple[float, float],
    cooling: tuple[float, float],
    rate: float,
) -> None:
    case, body = WORKED[name], body_of(stacks, name)
    run = hot(body, case)
    assert hot_fusion_time(body, START_K, case.upper + ZERO_C_K, case.lower + ZERO_C_K) == pytest.approx(
        fused_s, rel=0.01
    )
    assert body.decay_rates_1_s[0] == pytest.approx(rate, rel=0.01)
    for by, fused, cold in zip((case.air, case.water), above, cooling, strict=True):
        down = cooled(run, case.hot_dwell_s, case, by)
        assert above_s(down, case.hot_dwell_s) == pytest.approx(fused, rel=0.01)
        assert above_fusion_s(down, 0.0, 1500.0) == pytest.approx(fused, rel=0.01)
        found = first_time_ever(lambda t, r=down: case.release + ZERO_C_K - r.hottest_K(t), case.hot_dwell_s)
        assert found is not None
        assert found - case.hot_dwell_s == pytest.approx(cold, rel=0.01)


CURVES = [
    ("A", "ramp", {60: (44.14, 43.39, 44.23), 180: (94.14, 93.39, 94.23), 300: (144.14, 143.39, 144.23)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("A", "air", {540: (150.19, 150.13, 150.13), 720: (106.56, 106.51, 106.51), 1080: (59.61, 59.59, 59.59)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("A", "hot", {5: (160.45, 136.46, 161.28), 10: (172.86, 169.21, 172.92), 15: (174.68, 174.13, 174.69)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("B", "ramp", {120: (48.26, 43.47, 43.62), 300: (92.33, 80.12, 80.12), 480: (136.40, 116.63, 116.63), 660: (180.47, 153.13, 153.13), 720: (182.52, 164.67, 164.67)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("B", "air", {1200: (142.73, 136.25, 136.25), 1560: (89.61, 86.05, 86.05)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("B", "hot", {5: (141.60, 53.54, 149.85), 10: (161.21, 107.72, 162.58), 20: (176.81, 157.05, 171.50), 30: (181.72, 172.13, 174.28), 60: (183.90, 175.52, 175.52)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("C", "ramp", {120: (41.12, 35.08, 42.45), 360: (89.02, 82.71, 90.40), 600: (137.02, 130.70, 138.40), 780: (173.02, 166.70, 174.40), 840: (183.30, 178.59, 184.22)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("C", "air", {1200: (171.90, 170.66, 170.66), 1560: (114.34, 113.45, 113.45)}),  # class: peer library -- scikit-fem 12 and transfer matrices
    ("C", "hot", {5: (114.70, 20.40, 145.31), 20: (151.64, 60.20, 169.57), 40: (165.78, 112.04, 176.24), 60: (173.82, 142.58, 179.92), 100: (181.22, 170.67, 183.28), 180: (184.57, 183.36, 184.80)}),  # class: peer library -- scikit-fem 12 and transfer matrices
]  # fmt: skip


@pytest.mark.parametrize(("name", "kind", "points"), CURVES)
def test_the_curves_of_top_face_coldest_point_and_bottom_face(
    stacks: dict[str, Stack], name: str, kind: str, points: dict[float, tuple[float, float, float]]
) -> None:
    case, body = WORKED[name], body_of(stacks, name)
    run, later_s = ramped(body, case)
    if kind == "hot":
        run = hot(body, case)
    if kind == "air":
        run = cooled(run, later_s + case.ramp_dwell_s, case, case.air)
    for t_s, expected in points.items():
        belt = run.belt(t_s)[:, 0] - ZERO_C_K
        assert (belt[0], belt.min(), belt[-1]) == pytest.approx(expected, rel=0.01)


SENSITIVITY = [
    (
        "A",
        "hot",
        (1.79, 1.93, 0.66, 1.27, 0.54),
    ),  # class: peer library -- scikit-fem 12 and transfer matrices
    (
        "B",
        "hot",
        (2.91, 2.51, 2.49, 3.94, 1.29),
    ),  # class: peer library -- scikit-fem 12 and transfer matrices
    (
        "C",
        "hot",
        (6.20, 5.57, 11.73, 17.15, 5.32),
    ),  # class: peer library -- scikit-fem 12 and transfer matrices
    (
        "B",
        "ramp",
        (0.64, -0.71, 1.00, 0.31, 0.87),
    ),  # class: peer library -- scikit-fem 12 and transfer matrices
    (
        "C",
        "ramp",
        (3.25, 3.28, 6.19, 8.95, 0.0),
    ),  # class: peer library -- scikit-fem 12 and transfer matrices
]


@pytest.mark.parametrize(("name", "kind", "changes"), SENSITIVITY)
def test_what_changes_if_an_assumption_is_wrong(
    stacks: dict[str, Stack], name: str, kind: str, changes: tuple[float, ...]
) -> None:
    case, stack = WORKED[name], body_of(stacks, name).stack
    colder = Worked(
        case.upper - 3, case.lower - 3, case.upper_rate, case.lower_rate, case.fusion, case.release,
        case.ramp_dwell_s, case.hot_dwell_s, case.air, case.water,
    )  # fmt: skip

    def fused(changed: Stack, platens: Worked) -> float:
        body = Conduction(changed, 2.0)
        run = hot(body, platens) if kind == "hot" else ramped(body, platens)[0]
        found = first_time_ever(run.coldest_over_fusion_K, 0.0)
        assert found is not None
        return found

    base = fused(stack, case)
    found = (
        fused(stack.changed(belt_thicker_m=0.2e-3), case) - base,
        fused(stack.changed(contact_factor=2.0), case) - base,
        fused(stack.changed(conductivity_factor=0.85), case) - base,
        fused(stack.changed(capacity_factor=1.2), case) - base,
        fused(stack, colder) - base,
    )
    assert found == pytest.approx(changes, rel=0.01, abs=0.015)  # printed to hundredths


def test_platens_reach_60_long_before_the_inside_of_a_thick_belt(stacks: dict[str, Stack]) -> None:
    case, body = WORKED["C"], body_of(stacks, "C")
    for by, platen_s, inside in (
        (case.water, 127.5, 90.7),  # class: peer library -- two solvers
        (case.air, 1094.0, 62.4),  # class: peer library -- two solvers
    ):
        run = Run(body).then(0.0, body.steady(case.upper + ZERO_C_K, case.lower + ZERO_C_K), *[
            Follows(case.upper + ZERO_C_K, towards_K=by[0] + ZERO_C_K, tau_s=by[1])] * 2)  # fmt: skip
        reached = first_time_ever(lambda t, r=run: 60 + ZERO_C_K - r.nodes(t)[0], 0.0)
        assert reached == pytest.approx(platen_s, rel=0.01)
        assert run.hottest_K(platen_s)[0] - ZERO_C_K == pytest.approx(inside, abs=0.5)


def test_the_error_of_the_grid_is_below_half_a_per_cent_by_halving_it(stacks: dict[str, Stack]) -> None:
    for name, case in WORKED.items():
        fine, coarse = (
            hot_fusion_time(body_of(stacks, name, f), START_K, case.upper + ZERO_C_K, case.lower + ZERO_C_K)
            for f in (1.0, 0.5)
        )
        assert fine is not None
        assert coarse is not None
        assert abs(coarse / fine - 1) < 0.005


def press(cooling: float, coolant: float) -> PressModel:
    platen = PlatenModel(36450.0, 12000.0, 8.0, START_K, cooling, coolant + ZERO_C_K)
    return PressModel(platen, platen)


@pytest.mark.parametrize(
    ("cooling", "coolant", "above", "cold"),
    [
        (60.0, 25.0, 426.1, 994.2),  # class: peer library -- two solvers
        (500.0, 20.0, 342.6, 122.9),  # class: peer library -- two solvers
    ],
)
def test_platens_with_power_and_mass_carry_the_whole_cycle(
    stacks: dict[str, Stack], cooling: float, coolant: float, above: float, cold: float
) -> None:
    body = body_of(stacks, "B")
    settings = Settings(185 + ZERO_C_K, 175 + ZERO_C_K, 240.0, 70 + ZERO_C_K)
    found = cycle(body, press(cooling, coolant), settings, START_K)
    assert found is not None
    assert found.upper_s == pytest.approx(685.6, rel=0.01)  # class: peer library -- two solvers
    assert found.lower_s == pytest.approx(656.5, rel=0.01)  # class: peer library -- two solvers
    assert found.fused_s == pytest.approx(595.8, rel=0.01)  # class: peer library -- two solvers
    assert found.cool_on_s == pytest.approx(925.6, rel=0.01)  # class: peer library -- two solvers
    belt = found.run.belt(found.cool_on_s)[:, 0] - ZERO_C_K
    assert (belt.min(), belt[0]) == pytest.approx(
        (175.56, 183.97), abs=0.05
    )  # class: peer library -- two solvers
    assert above_s(found.run, found.cool_on_s) == pytest.approx(above, rel=0.01)
    assert found.cold_s is not None
    assert found.cold_s - found.cool_on_s == pytest.approx(cold, rel=0.01)


def test_the_heat_that_both_platens_deliver(stacks: dict[str, Stack]) -> None:
    from assistant.recipe.curves import heat_delivered_J_m2

    body = body_of(stacks, "B")
    found = cycle(body, press(60.0, 25.0), Settings(185 + ZERO_C_K, 175 + ZERO_C_K, 240.0, 343.15), START_K)
    assert found is not None
    heat = heat_delivered_J_m2(press(60.0, 25.0), found.run, START_K, found.cool_on_s)
    assert heat == pytest.approx(16.76e6, rel=0.01)  # class: peer library -- two solvers


def test_a_platen_alone_cools_with_its_own_time_constant() -> None:
    platen = press(60.0, 25.0).upper
    assert platen.capacity_J_m2K / platen.cooling_W_m2K == pytest.approx(
        607, rel=0.01
    )  # class: analytic -- C'' / h


def test_a_press_that_loses_what_it_makes_never_arrives(stacks: dict[str, Stack]) -> None:
    body = body_of(stacks, "A")
    weak = press(60.0, 25.0).scaled(power=0.1)
    assert heat_up(weak, Run(body), body.uniform(START_K), 0.0, 448.15, 448.15).both_s is None


def test_a_belt_with_its_lower_platen_cold_never_fuses(stacks: dict[str, Stack]) -> None:
    body = body_of(stacks, "B")
    faces = body.belt(body.steady(185 + ZERO_C_K, START_K)) - ZERO_C_K
    assert (faces[0], faces[-1]) == pytest.approx(
        (168.0, 29.2), abs=0.05
    )  # class: analytic -- resistances in series
    assert hot_fusion_time(body, START_K, 185 + ZERO_C_K, START_K) is None


def test_a_thick_solid_belt_burns_before_its_core_fuses(layer: Callable[..., Layer]) -> None:
    pvc = layer("pvc", 6.0)
    stack = Stack(
        (
            layer("aluminium", 2),
            layer("ptfe_glass", 0.15),
            pvc,
            layer("ptfe_glass", 0.15),
            layer("aluminium", 2),
        ),
        (1e-4,) * 6,
    )
    body = Conduction(stack)
    run = Run(body).then(0.0, body.uniform(START_K), Follows(210 + ZERO_C_K), Follows(210 + ZERO_C_K))
    assert first_time(run.over_damage_K, 0.0, 200.0) == pytest.approx(
        27.7, rel=0.01
    )  # class: peer library -- two solvers
    assert first_time_ever(run.coldest_over_fusion_K, 0.0) == pytest.approx(
        74.7, rel=0.01
    )  # class: peer library -- two solvers
    assert hot_fusion_time(body, START_K, 458.15, 458.15) == pytest.approx(
        100.6, rel=0.01
    )  # class: peer library -- two solvers
    peak = (
        Run(body)
        .then(0.0, body.uniform(START_K), Follows(458.15), Follows(458.15))
        .hottest_K(np.array([600.0]))[0]
    )
    assert peak - ZERO_C_K == pytest.approx(185.0, abs=0.05)  # class: analytic -- maximum principle
