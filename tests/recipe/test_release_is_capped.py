"""The release temperature: never above what the data sheet, or else the material, allows, whoever says it."""

from __future__ import annotations

import pytest

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.recipe.outcome import Given, Infeasible, Recipe
from assistant.recipe.recipe import compute_recipe

ZERO = 273.15


def job(name: str) -> Job:
    made = build_job(read_sheet(PACKAGED / "jobs" / f"{name}.toml"), load_catalogue())
    assert isinstance(made, Job)
    return made


@pytest.mark.parametrize(
    ("name", "allowed_degC"),
    [
        ("flat_in_the_shop", 70.0),  # class: common practice, no published source -- PVC lets go at 70 °C
        ("solid_with_water", 60.0),  # class: common practice, no published source -- TPU lets go at 60 °C
    ],
)
def test_a_person_may_let_go_colder_but_not_hotter(name: str, allowed_degC: float) -> None:
    colder = compute_recipe(job(name), Given(release_temperature=allowed_degC - 5 + ZERO))
    hotter = compute_recipe(job(name), Given(release_temperature=allowed_degC + 1 + ZERO))
    assert isinstance(colder, Recipe)
    assert isinstance(hotter, Infeasible)
    assert f"{allowed_degC:.0f} °C" in hotter.reason


def test_no_file_may_let_go_of_a_soft_belt() -> None:
    made = job("flat_in_the_shop")
    sheet = made.belt.sheet.model_copy(update={"release_degC": 95.0})
    told = compute_recipe(made.model_copy(update={"belt": made.belt.model_copy(update={"sheet": sheet})}))
    assert isinstance(told, Infeasible)
    assert "80 °C" in told.reason
