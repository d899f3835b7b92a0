"""Times of fusion of lay-ups that nobody chose, against an exact solution that has neither grid nor step.

Layers from 0.05 to 20 mm, conductivities over four decades, unequal platens: the time that the program finds,
made two thousandths shorter, must not have fused the coldest point yet; made longer, must have.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from assistant.recipe.plan import Cooling, Plan, PlanRun, PlatenPlan
from assistant.recipe.plan_exact import fine_enough
from assistant.recipe.stack import Layer, Stack


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("laplace", Path(__file__).with_name("laplace.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


laplace = _load()
START_K, FUSION_K = 293.15, 433.15
WITHIN = 0.002
QUICK = (Phase.explicit, Phase.reuse, Phase.generate)  # shrinking stacks takes minutes


def log(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(np.log10(low), np.log10(high)).map(lambda x: float(10**x))


def layers(belt: bool) -> st.SearchStrategy[Layer]:
    return st.builds(
        Layer, log(0.05e-3, 20e-3), log(0.05, 2.0) if belt else log(0.02, 200.0), st.floats(800, 8000), st.floats(450, 2400),
        st.just(belt), st.just(FUSION_K if belt else None), st.just(900.0 if belt else None),
    )  # fmt: skip


@st.composite
def stacks(draw: st.DrawFn) -> Stack:
    above = draw(st.lists(layers(False), max_size=2))
    belt = draw(st.lists(layers(True), min_size=1, max_size=3))
    below = draw(st.lists(layers(False), max_size=2))
    whole = (*above, *belt, *below)
    inside = range(len(above) + 1, len(above) + len(belt))
    joints = tuple(0.0 if i in inside else draw(log(1e-6, 1e-3)) for i in range(len(whole) + 1))
    return Stack(whole, joints)


def coldest_K(stack: Stack, upper: object, lower: object, t_s: float) -> float:
    return START_K + float(laplace.belt_at(stack, upper, lower, t_s).min())


@settings(max_examples=40, deadline=None, phases=QUICK)
@given(stacks(), st.floats(440.0, 480.0), st.floats(440.0, 480.0))
def test_closed_hot_any_lay_up_fuses_within_the_stated_error(
    stack: Stack, upper_K: float, lower_K: float
) -> None:
    plan = Plan(stack, PlatenPlan(upper_K, upper_K), PlatenPlan(lower_K, lower_K), START_K, 60.0)
    run, error = fine_enough(plan, WITHIN)
    assert error <= WITHIN
    if run.fused_s is None or not 0.01 < run.fused_s < 3600.0:
        return
    ends = laplace.step(upper_K - START_K), laplace.step(lower_K - START_K)
    before, after = (coldest_K(stack, *ends, run.fused_s * factor) for factor in (1 - WITHIN, 1 + WITHIN))
    assert before < FUSION_K + 1e-3  # class: analytic -- two-ports in the Laplace domain, Talbot inversion
    assert after > FUSION_K - 1e-3  # class: analytic -- two-ports in the Laplace domain, Talbot inversion


@settings(max_examples=20, deadline=None, phases=QUICK)
@given(stacks(), st.floats(0.05, 1.0), st.floats(0.05, 1.0), st.floats(20.0, 400.0))
def test_on_ramps_any_lay_up_follows_the_exact_solution(
    stack: Stack, fast: float, slow: float, t_s: float
) -> None:
    """Ramps that are still going on at `t_s`: temperatures of every belt point."""
    plan = Plan(stack, PlatenPlan(900.0, START_K, fast), PlatenPlan(900.0, START_K, slow), START_K, 60.0)
    found = PlanRun(plan, 2.0).heated.belt(t_s)[:, 0]
    exact = START_K + laplace.belt_at(stack, laplace.ramp(fast), laplace.ramp(slow), t_s)
    scale = max(fast, slow) * t_s
    # class: analytic -- two-ports in the Laplace domain, Talbot inversion
    assert (found[0], found[-1], found.min()) == pytest.approx(
        (exact[0], exact[-1], exact.min()), abs=2e-3 * scale + 0.01
    )


@settings(max_examples=20, deadline=None, phases=QUICK)
@given(stacks(), log(20.0, 900.0), st.floats(290.0, 330.0))
def test_in_cooling_any_lay_up_follows_the_exact_solution(
    stack: Stack, tau_s: float, coolant_K: float
) -> None:
    law = Cooling(coolant_K, tau_s)
    hot_K = 460.0
    plan = Plan(
        stack,
        PlatenPlan(hot_K, hot_K, cooling=law),
        PlatenPlan(hot_K, hot_K, cooling=law),
        hot_K,
        0.0,
        0.0,
        340.0,
    )
    run, _ = fine_enough(plan, WITHIN)
    assert run.cold_s is not None
    ends = laplace.decay(coolant_K - hot_K, tau_s), laplace.decay(coolant_K - hot_K, tau_s)
    before, after = (
        hot_K + float(laplace.belt_at(stack, *ends, run.cold_s * factor).max())
        for factor in (1 - WITHIN, 1 + WITHIN)
    )
    assert before > 340.0 - 1e-3  # class: analytic -- two-ports in the Laplace domain, Talbot inversion
    assert after < 340.0 + 1e-3  # class: analytic -- two-ports in the Laplace domain, Talbot inversion
