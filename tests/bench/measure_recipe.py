"""How long heat and recipe take, and against a general solver on the same grid: `python tests/bench/measure_recipe.py`.

'At given values': fusion, ramp and cooling for settings that are known. BDF is scipy's solve_ivp with the
same cells, platens held, to the time of fusion of the coldest belt point. Processor time, the quickest run.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from figures import Figure, least_processor_s, table
from scipy.integrate import solve_ivp
from scipy.sparse import diags

import assistant.recipe
from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.recipe.answer import answer
from assistant.recipe.conduction import Conduction
from assistant.recipe.during import Timeline, inside_now
from assistant.recipe.explicit import load_heat
from assistant.recipe.outcome import Given, Recipe
from assistant.recipe.plan import PlanRun, PlatenPlan
from assistant.recipe.platen import hot_fusion_time
from assistant.recipe.recipe import case_of, compute_recipe, settings_of
from assistant.recipe.stack import ZERO_C_K, Stack, stack_of

EXAMPLE = Path(str(assistant.recipe.__file__)).parent / "data" / "heat.toml"


def by_bdf(body: Conduction, start_K: float, upper_K: float, lower_K: float) -> float:
    """Time to fusion of the coldest belt point by an implicit solver with error control."""
    g, capacity = body.conductance, body.capacity
    matrix = np.diag(-(g[:-1] + g[1:])) + np.diag(g[1:-1], 1) + np.diag(g[1:-1], -1)
    matrix /= capacity[:, None]
    ends = np.zeros(len(capacity))
    ends[0], ends[-1] = g[0] * upper_K / capacity[0], g[-1] * lower_K / capacity[-1]

    def fused(_t: float, inner: np.ndarray) -> float:
        nodes = np.concatenate(([upper_K], inner, [lower_K]))
        return float((body.belt(nodes) - body.fusion_K).min())

    fused.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        lambda _t, inner: matrix @ inner + ends, (0.0, 3600.0), np.full(len(capacity), start_K), method="BDF",
        jac=matrix, events=fused, rtol=1e-6, atol=1e-4,
    )  # fmt: skip
    return float(found.t_events[0][0])


def melting_by_bdf(run: PlanRun) -> float:
    """Time to fusion where the belt melts, platens held: the same cells in enthalpy, by the same solver."""
    body, plan = run.body, run.plan
    g, width = body.conductance, (body.melts_to_K - body.melts_from_K).clip(min=1e-9) + body.latent_K

    def nodes(u: np.ndarray) -> np.ndarray:
        cells = u - body.latent_K * ((u - body.melts_from_K) / width).clip(0.0, 1.0)
        return np.concatenate(([plan.upper.set_K], cells, [plan.lower.set_K]))

    def rate(_t: float, u: np.ndarray) -> np.ndarray:
        flow = g * -np.diff(nodes(u))
        return -np.diff(flow) / body.capacity

    def jacobian(_t: float, u: np.ndarray) -> object:
        soft = np.where(
            (u > body.melts_from_K) & (u < body.melts_from_K + width), 1 - body.latent_K / width, 1.0
        )
        above, below = g[1:-1] / body.capacity[:-1], g[1:-1] / body.capacity[1:]
        return diags(
            [above * soft[1:], -(g[:-1] + g[1:]) / body.capacity * soft, below * soft[:-1]],
            [1, 0, -1],
            format="csc",
        )

    def fused(_t: float, u: np.ndarray) -> float:
        return float((body.belt(nodes(u)) - body.fusion_K).min())

    fused.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        rate, (0.0, 3600.0), np.full(len(body.capacity), plan.start_K), method="BDF", jac=jacobian, events=fused,
        rtol=1e-6, atol=1e-4,
    )  # fmt: skip
    return float(found.t_events[0][0])


def of_job(name: str, job: Job, rounds: int) -> Iterator[Figure]:
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    settings, start_K = settings_of(recipe), job.shop_degC + ZERO_C_K

    def at_given_values() -> None:
        case = case_of(job, settings)
        assert None not in (case.hot_fusion_s, case.set_s, case.fused_s, case.cooling_s)

    def exact() -> float | None:
        return hot_fusion_time(Conduction(stack_of(job)), start_K, settings.upper_K, settings.lower_K)

    def general() -> float:
        return by_bdf(Conduction(stack_of(job)), start_K, settings.upper_K, settings.lower_K)

    line = Timeline(0.0, recipe.ramp_s, recipe.ramp_s + recipe.dwell_s)
    cooling_s = recipe.ramp_s + recipe.dwell_s + 60.0
    ours_s, bdf_s = least_processor_s(exact, rounds), least_processor_s(general, rounds)
    fused_s = exact()
    assert fused_s is not None
    yield Figure(
        f"{name}: recipe at given values", f"{1e3 * least_processor_s(at_given_values, rounds):.1f} ms"
    )
    yield Figure(
        f"{name}: whole recipe",
        f"{1e3 * least_processor_s(lambda: compute_recipe(job), rounds):.0f} ms",
        f"its own numerical error {recipe.numerical_error:.2%}",
    )
    refused = Given(upper_temperature=settings.upper_K, lower_temperature=start_K)
    yield Figure(
        f"{name}: a refusal with its nearest change",
        f"{1e3 * least_processor_s(lambda: compute_recipe(job, refused), rounds):.0f} ms",
    )
    yield Figure(
        f"{name}: time of fusion",
        f"{1e3 * ours_s:.1f} ms",
        f"scipy BDF on the same grid takes {bdf_s / ours_s:.0f} x as long; results {abs(fused_s / general() - 1):.0e} apart",
    )
    yield Figure(
        f"{name}: what is inside now",
        f"{1e3 * least_processor_s(lambda: inside_now(job, recipe, line, (), cooling_s), rounds):.1f} ms",
    )


def of_plan(rounds: int) -> Iterator[Figure]:
    """The example of a heating given in full, with and without melting heat in its belt."""
    _, plan = load_heat(EXAMPLE)
    melting = tuple(
        replace(layer, latent_J_kg=60e3, melts_from_K=400.0, melts_to_K=425.0) if layer.is_belt else layer
        for layer in plan.stack.layers
    )
    for name, one in (("", plan), (", melting", plan.with_stack(Stack(melting, plan.stack.contacts_m2K_W)))):
        found = answer(one)
        yield Figure(
            f"heating given in full{name}: all of it",
            f"{1e3 * least_processor_s(lambda one=one: answer(one), rounds):.0f} ms",  # type: ignore[misc]
            f"its own numerical error {found.numerical_error:.2%} of the times, {found.numerical_error_K:.2f} K",
        )
        yield Figure(
            f"heating given in full{name}: times only, on its grid",
            f"{1e3 * least_processor_s(lambda one=one: PlanRun(one).times, rounds):.1f} ms",  # type: ignore[misc]
        )

    hot = replace(
        one,
        upper=PlatenPlan(one.upper.set_K, one.upper.set_K),
        lower=PlatenPlan(one.lower.set_K, one.lower.set_K),
        release_K=None,
    )
    ours_s = least_processor_s(lambda: PlanRun(hot).fused_s, rounds)
    bdf_s = least_processor_s(lambda: melting_by_bdf(PlanRun(hot)), rounds)
    apart = abs((PlanRun(hot).fused_s or 0.0) / melting_by_bdf(PlanRun(hot)) - 1)
    yield Figure(
        "melting, laid between hot platens: time of fusion",
        f"{1e3 * ours_s:.1f} ms",
        f"scipy BDF on the same grid takes {bdf_s / ours_s:.0f} x as long; results {apart:.0e} apart",
    )


def figures(rounds: int) -> Iterator[Figure]:
    yield from of_plan(rounds)
    catalogue = load_catalogue()
    for path in sorted((PACKAGED / "jobs").glob("*.toml")):
        job = build_job(read_sheet(path, catalogue), catalogue)
        assert isinstance(job, Job)
        yield from of_job(path.stem.replace("_", " "), job, rounds)


if __name__ == "__main__":
    print(table(figures(7)))
