"""Why a recipe asked for in full is refused, and what is given up first: never a margin before a limit of time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.recipe.best import Best, best
from assistant.recipe.best_file import BestFile, problem_of
from assistant.recipe.outcome import Infeasible
from assistant.recipe.problem import Problem

_PLATE = {
    "thickness_mm": 2.0, "conductivity_W_mK": 170.0, "density_kg_m3": 2700.0, "heat_capacity_J_kgK": 900.0,
}  # fmt: skip
_BELT = {
    "thickness_mm": 9.0, "conductivity_W_mK": 0.16, "density_kg_m3": 1250.0, "heat_capacity_J_kgK": 1500.0, "belt": True,
}  # fmt: skip
_SIDE = {
    "kind": "ramp", "rate_K_min": 20.0, "lowest_degC": 150.0, "highest_degC": 210.0,
    "sensor_error_K": 0.0, "sensor_lag_s": 0.0, "edge_deficit_K": 0.0,
}  # fmt: skip


@pytest.fixture(scope="module")
def thick() -> Problem:
    """A belt of 9 mm PVC that no dwell of five minutes welds."""
    table = {
        "schema_version": 1, "fusion_degC": 160.0, "damage_degC": 200.0, "release_degC": 70.0, "hold_s": 60.0,
        "ramp_counts": False, "longest_dwell_s": 300.0, "cooling": {"coolant_degC": 20.0, "tau_s": 300.0},
        "layers": [_PLATE, _BELT, _PLATE], "upper": _SIDE, "lower": _SIDE, "step_K": 10.0, "error": 0.01,
    }  # fmt: skip
    return problem_of(BestFile.model_validate(table))


def test_the_longest_dwell_is_named_and_lengthened_before_a_margin_is_given_up(thick: Problem) -> None:
    found = best(thick)
    assert isinstance(found, Infeasible)
    assert "no dwell over 300 s is allowed" in found.reason
    words = found.nearest_change.split()
    assert (words[0], words[2:]) == ("Allow", ["s", "of", "dwell."])
    longer_s = float(words[1])
    for by_s, works in ((0.0, True), (-1.0, False)):
        again = best(replace(thick, longest_dwell_s=longer_s + by_s))
        assert isinstance(again, Best) == works  # class: analytic -- the least that works, tried


def test_a_dwell_too_short_is_refused_with_a_setting_that_keeps_the_other_limits(thick: Problem) -> None:
    short = replace(thick, longest_dwell_s=1000.0, dwell_s=150.0)
    found = best(short)
    free = best(replace(short, dwell_s=None))
    assert isinstance(found, Infeasible)
    assert isinstance(free, Best)
    assert "the dwell is given as 150 s" in found.reason
    assert f"at {free.upper_K - 273.15:.1f} °C above" in found.reason
    assert "at most" not in found.reason
    assert found.nearest_change.startswith("Hold at least ")
    longer_s = float(found.nearest_change.split()[3])
    assert isinstance(best(replace(short, dwell_s=longer_s)), Best)
    # class: analytic -- the least dwell that works is no longer than that of the shortest cycle
    assert 150.0 < longer_s <= free.dwell_s


def test_the_time_near_damage_is_named_where_it_alone_stands_against_it(thick: Problem) -> None:
    narrow = replace(
        thick, longest_dwell_s=3600.0, below_damage_K=25.0, near_damage_K=35.0, longest_near_damage_s=5.0
    )
    found = best(narrow)
    assert isinstance(found, Infeasible)
    assert "within 35 K of damage" in found.reason
    assert "no more than 5 s of that are allowed" in found.reason
    assert found.nearest_change.endswith("s near damage.")
