"""Healing along the run so far ends where the recipe's own healing ends, and says when it cannot be followed."""

from __future__ import annotations

from itertools import pairwise

import pytest

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.recipe.broken import Cut
from assistant.recipe.during import Timeline
from assistant.recipe.healing_now import healing_now
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Recipe
from assistant.recipe.recipe import compute_recipe


@pytest.fixture(scope="module")
def made() -> tuple[Job, Recipe]:
    catalogue = load_catalogue()
    job = build_job(read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml", catalogue), catalogue)
    assert isinstance(job, Job)
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    return job, recipe


def test_at_the_end_of_the_dwell_it_is_what_the_recipe_says(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    at_set_s = 100.0 + recipe.ramp_s
    found = healing_now(job, recipe, Timeline(100.0, at_set_s), at_set_s + recipe.dwell_s)
    # class: analytic -- the same run up to the same moment; the integral by two quadratures
    assert found.integral == pytest.approx(recipe.healing.integral, rel=0.01)


def test_it_never_falls_and_cooling_ends_it(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    at_set_s, cool_s = recipe.ramp_s, recipe.ramp_s + recipe.dwell_s
    timeline = Timeline(0.0, at_set_s, cool_s)
    integrals = [
        healing_now(job, recipe, timeline if t > cool_s else Timeline(0.0, at_set_s if t >= at_set_s else None), t).integral
        for t in (0.0, at_set_s / 2, at_set_s, at_set_s + 60.0, cool_s, cool_s + 120.0, cool_s + 1000.0, cool_s + 1200.0)
    ]  # fmt: skip
    assert all(b >= a * (1 - 1e-3) for a, b in pairwise(integrals))
    assert integrals[0] == 0
    # class: analytic -- below fusion nothing is counted
    assert integrals[-1] == pytest.approx(integrals[-2], rel=0.01)


def test_a_cycle_cut_short_is_not_followed(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    cut = Timeline(0.0, None, None, (Cut(100.0, 200.0),))
    with pytest.raises(NotComputable, match="cut short"):
        healing_now(job, recipe, cut, 300.0)
    with pytest.raises(NotComputable, match="not on yet"):
        healing_now(job, recipe, Timeline(10.0), 5.0)
