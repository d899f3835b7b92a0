"""The packaged bench leads to the values that the trade uses for narrow thin belts."""

from itertools import product

import pytest

from assistant.bench import chosen, fit
from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.recipe.outcome import Recipe
from assistant.recipe.recipe import compute_recipe

CATALOGUE = load_catalogue()
SHEET = read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml", CATALOGUE)


@pytest.mark.parametrize(
    ("material", "plies", "thickness_mm"), product(("pvc", "tpu"), (1.0, 2.0), (1.5, 2.0, 2.5))
)
def test_a_narrow_thin_belt_gets_the_values_of_the_trade(
    material: str, plies: float, thickness_mm: float
) -> None:
    values = SHEET | {
        "belt": "other",
        "belt_material": material,
        "belt_plies": plies,
        "belt_guide": "none",
        "belt_thickness": thickness_mm / 1e3,
    }
    belt = chosen.belt(values, CATALOGUE)
    assert belt is not None
    hinged, long = CATALOGUE.presses["hinged"], CATALOGUE.punches["long"]
    values["template"] = fit.fitting_templates(belt, long, hinged, CATALOGUE)[0].key
    job = build_job(values, CATALOGUE)
    assert isinstance(job, Job)
    recipe = compute_recipe(job, {})
    assert isinstance(recipe, Recipe)
    found = {value.slot: value.value_si for value in recipe.values}
    # class: common practice, no published source -- 185 °C on both sides: 180 to 190
    assert 180 <= found["upper_temperature"] - 273.15 <= 190
    assert found["upper_temperature"] == found["lower_temperature"]
    # class: common practice, no published source -- a hold of 4 min: 150 to 300 s
    assert 150 <= found["dwell"] <= 300
    # class: common practice, no published source -- about 2 bar: 1.8 to 2.2
    assert 1.8e5 <= found["pressure"] <= 2.2e5
    # class: common practice, no published source -- let go at 70 °C: 60 to 70
    assert 60 <= found["release_temperature"] - 273.15 <= 70.001
    assert "preheat_temperature" not in found  # class: common practice, no published source -- no preheat
