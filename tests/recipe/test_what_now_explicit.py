"""A heating given in full and cut short, against the same course of an integrator on cells of our own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from assistant.recipe.conduction import Driven
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Cooling, Plan, PlatenPlan
from assistant.recipe.stack import Layer, Stack
from assistant.recipe.what_now_explicit import what_now_explicit

SET_K, SHOP_K, FUSION_K = 458.15, 293.15, 433.15


def plan_of(layer: Callable[..., Layer], **changed: object) -> Plan:
    platen = PlatenPlan(SET_K, SHOP_K, driven=Driven(36450.0, 12000.0, 8.0, SHOP_K),
                        cooling=Cooling(SHOP_K, coefficient_W_m2K=300.0))  # fmt: skip
    stack = Stack((layer("pvc", 3.0),), (1e-4, 1e-4))
    return replace(Plan(stack, platen, platen, SHOP_K, 60.0, release_K=343.15), **changed)  # type: ignore[arg-type]


@pytest.mark.parametrize(("at_s", "back_s"), [(540.0, 700.0), (620.0, 1500.0), (580.0, 640.0)])
def test_power_lost_and_back_is_where_an_integrator_puts_it(
    layer: Callable[..., Layer], at_s: float, back_s: float
) -> None:
    found = what_now_explicit(plan_of(layer), "power", at_s, back_s)
    n = 60
    d, mass = 3e-3 / n, 3e-3 / n * 1250 * 1500
    inner, outer = 0.16 / d, 1 / (1e-4 + d / 2 / 0.16)

    def rate(t: float, x: np.ndarray) -> np.ndarray:
        out = np.empty(n + 1)  # one platen, both are alike; the other half is the mirror image
        flow = np.concatenate(([outer * (x[0] - x[1])], inner * -np.diff(x[1:]), [outer * (x[-1] - x[0])]))
        heat = 12000.0 if t < at_s and x[0] < SET_K else 8.0 * (x[0] - SHOP_K) + flow[0] if t < at_s else 0.0
        out[0] = (heat - 8.0 * (x[0] - SHOP_K) - flow[0]) / 36450.0
        out[1:] = (flow[:-1] - flow[1:]) / mass
        return out

    t, y = [], []
    start, nodes = 0.0, np.full(n + 1, SHOP_K)
    for end in (at_s, back_s):
        done = solve_ivp(rate, (start, end - 1e-9), nodes, "LSODA", rtol=1e-7, atol=1e-5, max_step=1.0)
        t.append(done.t)
        y.append(done.y)
        start, nodes = end, done.y[:, -1]
    times, cells = np.concatenate(t), np.hstack(y)
    faces = cells[1] + outer * (cells[0] - cells[1]) * d / 2 / 0.16
    coldest = np.minimum(cells[1:].min(axis=0), faces)
    fine = np.linspace(0.0, back_s, 40001)
    fused_s = float((np.interp(fine, times, coldest) > FUSION_K).mean() * back_s)
    # class: peer library -- scipy's LSODA on cells of our own, 1 %
    assert found.fused_s == pytest.approx(fused_s, rel=0.01, abs=0.5)
    assert found.coldest_K - 273.15 == pytest.approx(coldest[-1] - 273.15, rel=0.01)
    assert found.hottest_K - 273.15 == pytest.approx(cells[1:, -1].max() - 273.15, rel=0.01)


def test_it_decides_as_for_a_job(layer: Callable[..., Layer]) -> None:
    plan = plan_of(layer)
    decided = {
        ("power", 200.0): "resume heat", ("power", 900.0): "cool", ("pressure", 100.0): "resume heat",
        ("pressure", 900.0): "hold", ("opened", 900.0): "cut out and redo",
    }  # fmt: skip
    for (kind, at_s), decision in decided.items():
        found = what_now_explicit(plan, kind, at_s, at_s + 20.0)  # type: ignore[arg-type]
        assert found.decision == decision, (kind, at_s)
        assert found.enough >= 0.9
        assert found.fused_low_s <= found.fused_s <= found.fused_high_s
    set_without = what_now_explicit(plan, "pressure", 905.0, 2000.0, cool_on_s=900.0)
    assert set_without.decision == "cut out and redo"


def test_what_cannot_be_is_refused(layer: Callable[..., Layer]) -> None:
    plan = plan_of(layer)
    ramp = PlatenPlan(SET_K, SHOP_K, rate_K_s=0.3)
    with pytest.raises(NotComputable, match="tau_s"):
        what_now_explicit(replace(plan, upper=ramp), "power", 300.0)
    with pytest.raises(NotComputable, match="hold_s"):
        what_now_explicit(replace(plan, hold_s=0.0), "power", 300.0)
    with pytest.raises(NotComputable, match="correct the times"):
        what_now_explicit(plan, "power", 300.0, 200.0)
    with pytest.raises(NotComputable, match="no cooling"):
        what_now_explicit(replace(plan, release_K=None), "pressure", 900.0, 1000.0, cool_on_s=950.0)
