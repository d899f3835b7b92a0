"""How long heat and recipe take, and against a general solver on the same grid: `python tests/bench/measure_recipe.py`.

Prints one line a belt. 'at given values': fusion, ramp and cooling for settings that are known. BDF is
scipy's solve_ivp with the same cells, platens held, to the time of fusion.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.recipe.conduction import Conduction
from assistant.recipe.during import Timeline, inside_now
from assistant.recipe.outcome import Recipe
from assistant.recipe.platen import hot_fusion_time
from assistant.recipe.recipe import case_of, compute_recipe, settings_of
from assistant.recipe.stack import ZERO_C_K, stack_of

REPEATS = 7


def median_ms(work: Callable[[], object]) -> float:
    work()
    taken = []
    for _ in range(REPEATS):
        begin = time.perf_counter()
        work()
        taken.append(1e3 * (time.perf_counter() - begin))
    return statistics.median(taken)


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


def measure(name: str, job: Job) -> None:
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

    given, whole, ours, bdf = (
        median_ms(work) for work in (at_given_values, lambda: compute_recipe(job), exact, general)
    )
    line = Timeline(0.0, recipe.ramp_s, recipe.ramp_s + recipe.dwell_s)
    inside = median_ms(lambda: inside_now(job, recipe, line, (), recipe.ramp_s + recipe.dwell_s + 60.0))
    apart = abs((exact() or 0.0) / general() - 1)
    print(
        f"{name:<24}{given:>10.1f}{whole:>10.1f}{inside:>10.1f}{ours:>10.2f}{bdf:>10.1f}{bdf / ours:>9.0f}x"
        f"{apart:>10.1e}{recipe.numerical_error:>10.2%}"
    )


def main() -> None:
    print(
        f"{'job':<24}{'given ms':>10}{'whole ms':>10}{'inside ms':>10}{'exact ms':>10}{'BDF ms':>10}{'ratio':>10}{'apart':>10}{'grid':>10}"
    )
    catalogue = load_catalogue()
    for path in sorted((PACKAGED / "jobs").glob("*.toml")):
        job = build_job(read_sheet(path, catalogue), catalogue)
        if isinstance(job, Job):
            measure(path.stem, job)


if __name__ == "__main__":
    main()
