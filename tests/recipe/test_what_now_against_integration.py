"""Cycles cut short at random: where the weld stands, against cells of our own put through scipy's stiff integrator."""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from assistant.bench.job import Job
from assistant.bench.press import Cooling
from assistant.recipe.broken import Cut
from assistant.recipe.during import Timeline
from assistant.recipe.outcome import Recipe
from assistant.recipe.platen import press_model
from assistant.recipe.recipe import compute_recipe
from assistant.recipe.stack import ZERO_C_K, stack_of
from assistant.recipe.what_now import what_now

Make = Callable[..., Job]
Floats = NDArray[np.float64]
CELL_mm = 0.1


class Bench:
    """Platen, cells of a tenth of a millimetre, platen; heated, left alone or cooled from one moment to the next."""

    def __init__(self, job: Job, deficit: bool) -> None:
        self.job, stack = job, stack_of(job)
        cells = [
            (layer, layer.thickness_m / n)
            for layer in stack.layers
            for n in [max(4, round(layer.thickness_m * 1e3 / CELL_mm))]
            for _ in range(n)
        ]
        self.mass = np.array([d * x.density_kg_m3 * x.heat_capacity_J_kgK for x, d in cells])
        half = [d / 2 / x.conductivity_W_mK for x, d in cells]
        joints, at = [stack.contacts_m2K_W[0]], 0
        for i in range(1, len(cells)):
            new = cells[i][0] is not cells[i - 1][0]
            at += new
            joints.append(stack.contacts_m2K_W[at] if new else 0.0)
        joints.append(stack.contacts_m2K_W[-1])
        self.flow = 1 / (np.array([0, *half]) + np.array(joints) + np.array([*half, 0]))
        self.half = half
        self.belt = np.array([False, *(x.is_belt for x, _ in cells), False])
        self.fusion_K = min(x.fusion_K for x, _ in cells if x.fusion_K is not None)
        lost = (job.press.upper.edge_deficit_K, job.press.lower.edge_deficit_K) if deficit else (0.0, 0.0)
        self.set_K = [value - less for value, less in zip(self._set_K(), lost, strict=True)]
        shop_K = job.shop_degC + ZERO_C_K
        self.share = [
            (one - shop_K) / (one + less - shop_K) for one, less in zip(self.set_K, lost, strict=True)
        ]  # an edge lags in proportion to the middle's rise
        self.t_s, self.nodes = 0.0, np.full(len(cells) + 2, job.shop_degC + ZERO_C_K)
        self.held = [False, False]
        self.times: list[Floats] = []
        self.coldest: list[Floats] = []

    def _set_K(self) -> tuple[float, float]:
        recipe = compute_recipe(self.job)
        assert isinstance(recipe, Recipe)
        return recipe.value_si("upper_temperature"), recipe.value_si("lower_temperature")

    def _rate(self, how: str) -> Callable[[float, Floats], Floats]:
        press, shop_K = self.job.press, self.job.shop_degC + ZERO_C_K
        share = press_model(self.job).upper.power_W_m2 / press.upper.power_W_m2  # behind its lead
        platens = (press.upper, press.lower)
        mass = np.concatenate(([platens[0].heat_capacity_J_m2K], self.mass, [platens[1].heat_capacity_J_m2K]))

        def rate(_: float, nodes: Floats) -> Floats:
            q = self.flow * np.diff(nodes)
            gained = np.concatenate((q, [0.0])) - np.concatenate(([0.0], q))
            for side, row in ((0, 0), (1, -1)):
                if how == "heat":
                    lost = platens[side].loss_W_m2K * (nodes[row] - shop_K)
                    gained[row] += platens[side].power_W_m2 * share * self.share[side] - lost
                    if self.held[side]:
                        gained[row] = 0.0
                elif how == "cool":
                    coolant_K = press.cooling.coolant_degC + ZERO_C_K
                    gained[row] -= press.cooling.coefficient_W_m2K * (nodes[row] - coolant_K)
                else:
                    gained[row] -= platens[side].loss_W_m2K * (nodes[row] - shop_K)
            change: Floats = gained / mass
            return change

        return rate

    def go(self, how: str, until_s: float) -> None:
        """`how`: 'heat', 'alone' or 'cool'."""
        if how != "heat":
            self.held = [False, False]
        while self.t_s < until_s - 1e-9:
            open_sides = [side for side in (0, 1) if how == "heat" and not self.held[side]]

            def arrived(side: int) -> Callable[[float, Floats], float]:
                def gap(_: float, nodes: Floats) -> float:
                    return float(nodes[(0, -1)[side]] - self.set_K[side])

                gap.terminal = True  # type: ignore[attr-defined]
                return gap

            done = solve_ivp(
                self._rate(how), (self.t_s, until_s), self.nodes, "BDF", rtol=1e-7, atol=1e-5, max_step=5.0,
                events=[arrived(side) for side in open_sides],
            )  # fmt: skip
            self.times.append(done.t)
            self.coldest.append(self._belt(done.y).min(axis=0))
            self.t_s, self.nodes = float(done.t[-1]), done.y[:, -1]
            for side, found in zip(open_sides, done.t_events or [], strict=False):
                self.held[side] = self.held[side] or len(found) > 0

    @property
    def fused_s(self) -> float:
        """By the trapezoid of a step, between the integrator's own points."""
        fine = [np.linspace(t[0], t[-1], 4000) for t in self.times]
        return sum(
            float((np.interp(x, t, c) > self.fusion_K).mean() * (t[-1] - t[0]))
            for x, t, c in zip(fine, self.times, self.coldest, strict=True)
        )

    @property
    def coldest_K(self) -> float:
        return float(self._belt(self.nodes[:, None]).min())

    @property
    def hottest_K(self) -> float:
        return float(self._belt(self.nodes[:, None]).max())

    def _belt(self, nodes: Floats) -> Floats:
        """Cells of the belt and its two faces, half a cell further out."""
        first, last = np.flatnonzero(self.belt)[[0, -1]]
        top = nodes[first] + self.flow[first - 1] * (nodes[first - 1] - nodes[first]) * self.half[first - 1]
        bottom = nodes[last] + self.flow[last] * (nodes[last + 1] - nodes[last]) * self.half[last - 1]
        found: Floats = np.vstack([top, nodes[self.belt], bottom])
        return found


def job_of(make_job: Make, draw: random.Random) -> Job:
    layers = (("pvc", draw.uniform(0.6, 2.5)), ("ply_pvc", 0.7), ("pvc", draw.uniform(0.3, 0.8)))
    cooling = Cooling(
        kind="water", coefficient_W_m2K=draw.uniform(100, 500), coolant_degC=20, needs_supply=True
    )
    return make_job(layers, cooling=cooling)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_a_power_cut_at_a_random_moment_leaves_the_weld_where_an_integrator_does(
    make_job: Make, seed: int
) -> None:
    draw = random.Random(seed)
    job = job_of(make_job, draw)
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    at_s = recipe.fused_s + draw.uniform(-0.3, 1.0) * recipe.dwell_s
    back_s = at_s + draw.uniform(30.0, 1500.0)
    found = what_now(job, recipe, Timeline(0.0), "power", at_s, back_s)
    edge, middle = Bench(job, deficit=True), Bench(job, deficit=False)
    for own in (edge, middle):
        own.go("heat", at_s)
        own.go("alone", back_s)
    # class: peer library -- scipy's BDF on cells of our own, 1 %
    assert found.fused_s == pytest.approx(edge.fused_s, rel=0.01, abs=0.5)
    assert found.coldest_K - ZERO_C_K == pytest.approx(edge.coldest_K - ZERO_C_K, rel=0.01)
    assert found.hottest_K - ZERO_C_K == pytest.approx(middle.hottest_K - ZERO_C_K, rel=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10, 13))
def test_a_second_cut_is_counted_on_what_the_first_one_left(make_job: Make, seed: int) -> None:
    draw = random.Random(seed)
    job = job_of(make_job, draw)
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    off_s = draw.uniform(0.3, 1.05) * recipe.ramp_s
    on_s = off_s + draw.uniform(60.0, 900.0)
    at_s = on_s + draw.uniform(0.3, 0.8) * recipe.ramp_s
    back_s = at_s + draw.uniform(20.0, 300.0)
    found = what_now(job, recipe, Timeline(0.0, cuts=(Cut(off_s, on_s),)), "power", at_s, back_s)
    edge, middle = Bench(job, deficit=True), Bench(job, deficit=False)
    for own in (edge, middle):
        own.go("heat", off_s)
        own.go("alone", on_s)
        own.go("heat", at_s)
        own.go("alone", back_s)
    # class: peer library -- scipy's BDF on cells of our own, 1 %
    assert found.fused_s == pytest.approx(edge.fused_s, rel=0.01, abs=0.5)
    assert found.coldest_K - ZERO_C_K == pytest.approx(edge.coldest_K - ZERO_C_K, rel=0.01)
    assert found.hottest_K - ZERO_C_K == pytest.approx(middle.hottest_K - ZERO_C_K, rel=0.01)


def test_power_lost_while_it_cools_stops_the_cooling_too(make_job: Make) -> None:
    job = job_of(make_job, random.Random(5))
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    cool_s = recipe.ramp_s + recipe.dwell_s
    line = Timeline(0.0, None, cool_s)
    found = what_now(job, recipe, line, "power", cool_s + 20.0, cool_s + 200.0)
    edge = Bench(job, deficit=True)
    edge.go("heat", cool_s)
    edge.go("cool", cool_s + 20.0)
    edge.go("alone", cool_s + 200.0)
    # class: peer library -- scipy's BDF on cells of our own, 1 %
    assert found.fused_s == pytest.approx(edge.fused_s, rel=0.01, abs=0.5)
    assert found.coldest_K - ZERO_C_K == pytest.approx(edge.coldest_K - ZERO_C_K, rel=0.01)
