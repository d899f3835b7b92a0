"""The recipe asked for in full: no allowed setting is shorter, what binds does bind, the seconds add up, refusals."""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import assistant.recipe
from assistant.bench.bad_data import BadData
from assistant.bench.job import Job
from assistant.recipe.answer import answer
from assistant.recipe.best import Best, best
from assistant.recipe.best_file import BestFile, load_best, problem_of, taken
from assistant.recipe.conduction import Driven
from assistant.recipe.explicit import HeatFile, plan_of
from assistant.recipe.limits import LIMITS
from assistant.recipe.outcome import Infeasible
from assistant.recipe.plan import Cooling, PlatenPlan
from assistant.recipe.platen import press_model
from assistant.recipe.problem import Column, Problem, Side
from assistant.recipe.recipe import compute_recipe
from assistant.recipe.shortest import shortest, steps_K
from assistant.recipe.stack import ZERO_C_K, stack_of
from assistant.recipe.tried import SEARCH_FINENESS, Rig

EXAMPLE = Path(assistant.recipe.__file__).parent / "data" / "recipe.toml"
ALUMINIUM, CLOTH = (170.0, 2700.0, 900.0), (0.25, 2150.0, 1000.0)
EXACT = {"sensor_error_K": 0.0, "sensor_lag_s": 0.0, "edge_deficit_K": 0.0}
PVC, TPU = (0.16, 1250.0, 1500.0), (0.19, 1180.0, 1850.0)


def layer(mm: float, sheet: tuple[float, float, float], belt: bool = False) -> dict[str, Any]:
    keys = ("conductivity_W_mK", "density_kg_m3", "heat_capacity_J_kgK")
    return {"thickness_mm": mm, **dict(zip(keys, sheet, strict=True)), "belt": belt}


def given(belt: tuple[dict[str, Any], ...], platen: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {
        "contact_m2K_W": 1e-4, "fusion_degC": 160.0, "damage_degC": 200.0, "release_degC": 70.0, "hold_s": 60.0,
        "cooling": {"coolant_degC": 20.0, "tau_s": 120.0}, "upper": EXACT | platen, "lower": EXACT | platen,
        "layers": (layer(2.0, ALUMINIUM), layer(0.15, CLOTH), *belt, layer(0.15, CLOTH), layer(2.0, ALUMINIUM)),
    } | more  # fmt: skip


def posed(table: dict[str, Any]) -> Problem:
    return problem_of(BestFile.model_validate(table))


def drawn(seed: int) -> Problem:
    """One of many quite different lay-ups between quite different platens."""
    random = np.random.default_rng(seed)
    belt = tuple(layer(float(random.uniform(0.3, 2.5)), (PVC, TPU)[i % 2], True) for i in range(1 + seed % 3))
    kind = ("ramp", "hot", "power")[seed % 3]
    own: dict[str, Any] = {
        "ramp": {"rate_K_min": float(random.uniform(8, 30))},
        "hot": {},
        "power": {"capacity_J_m2K": 30e3, "power_W_m2": float(random.uniform(7e3, 2e4)), "loss_W_m2K": 8.0},
    }[kind]
    platen = {
        "kind": kind, "lowest_degC": 164.0, "highest_degC": 198.0, "sensor_error_K": float(random.uniform(0, 2)),
        "sensor_lag_s": 2.0, "edge_deficit_K": float(random.uniform(0, 4)), **own,
    }  # fmt: skip
    return posed(
        given(
            belt, platen, step_K=2.0, ramp_counts=bool(seed % 2), hold_s=float(random.uniform(20, 120)),
            longest_dwell_s=float(random.uniform(120, 600)), longest_near_damage_s=float(random.uniform(60, 600)),
            cooling={"coolant_degC": 20.0, "tau_s": float(random.uniform(60, 600))},
        )
    )  # fmt: skip


def by_force(problem: Problem) -> tuple[float | None, int]:
    """Every pair of settings, one by one: the shortest cycle by the plan itself, and how many are allowed."""
    rig, allowed, least_s = Rig(problem, SEARCH_FINENESS), 0, None
    a, b = problem.upper, problem.lower
    for upper_K in steps_K(a.lowest_K, a.highest_K, problem.step_K):
        for lower_K in steps_K(b.lowest_K, b.highest_K, problem.step_K):
            if rig.broken(upper_K, lower_K):
                continue
            allowed += 1
            run = rig.lines[0].heated(upper_K, lower_K, max(0.0, rig.needed_s(upper_K, lower_K)))
            assert run.cool_on_s is not None
            assert run.cold_s is not None
            cycle_s = run.cool_on_s + run.cold_s
            least_s = cycle_s if least_s is None else min(least_s, cycle_s)
    return least_s, allowed


@pytest.mark.parametrize("seed", [0, *(pytest.param(n, marks=pytest.mark.slow) for n in range(1, 20))])
def test_no_allowed_setting_of_the_whole_grid_has_a_shorter_cycle(seed: int) -> None:
    problem = drawn(seed)
    found = shortest(Rig(problem, SEARCH_FINENESS))
    least_s, allowed = by_force(problem)
    assert bool(found) == bool(allowed)
    if found:
        # class: analytic -- the least over all settings of the grid, looked at one by one
        assert found[0].cycle_s == pytest.approx(least_s, abs=0.11)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 5])
def test_what_is_said_to_bind_does_bind(seed: int) -> None:
    problem = replace(drawn(seed), step_K=1.0)  # so that a limit moved by 5 K leaves the steps where they are
    told = best(problem)
    assert isinstance(told, Best)
    here_s = shortest(Rig(problem, SEARCH_FINENESS))[0].cycle_s
    for key, (_, how, relaxed) in LIMITS.items():
        if not how:
            continue
        there = shortest(Rig(relaxed(problem), SEARCH_FINENESS))
        saved_s = here_s - there[0].cycle_s
        said = next((limit.saves_s for limit in told.limits if limit.key == key), 0.0)
        # class: analytic -- relaxed, and the whole search made again
        assert said == pytest.approx(max(saved_s, 0.0), abs=0.15), key


@pytest.mark.slow
def test_the_seconds_of_the_account_add_up_and_the_share_is_covered() -> None:
    _, problem = load_best(EXAMPLE)
    found = best(problem)
    assert isinstance(found, Best)
    assert sum(item.seconds for item in found.account) == pytest.approx(
        found.dwell_s
    )  # class: analytic -- a sum
    assert found.cycle_s == pytest.approx(found.ramp_s + found.dwell_s + found.cooling_s)
    assert found.covered >= found.sure
    assert found.surely_cold_s > found.cooling_s
    assert found.numerical_error <= problem.error
    assert [column.name for column in found.columns] == ["through the guide", "beside the guide"]
    assert found.columns[1].fused_s < found.columns[0].fused_s
    assert (
        len(found.sensitivity) == 8
    )  # class: analytic -- four quantities, contact both ways, sensors, start, power


def test_its_times_are_those_of_the_heating_given_in_full() -> None:
    table = given(
        (layer(2.4, PVC, True),),
        {"kind": "ramp", "lowest_degC": 165.0, "highest_degC": 195.0, "rate_K_min": 15.0},
    )
    found = best(posed(table))
    assert isinstance(found, Best)
    ends = {
        name: {"kind": "ramp", "set_degC": kelvin - ZERO_C_K, "rate_K_min": 15.0}
        for name, kelvin in (("upper", found.upper_K), ("lower", found.lower_K))
    }
    heat = answer(plan_of(HeatFile.model_validate({**table, **ends, "dwell_s": found.dwell_s})))
    assert not heat.refused
    # class: peer library -- the heating given in full, checked against scikit-fem 12
    assert heat.later_set_s == pytest.approx(found.ramp_s, rel=1e-3)
    assert heat.belt_cold_s == pytest.approx(found.cooling_s, rel=5e-3)
    assert heat.needed_dwell_s == pytest.approx(found.needed_dwell_s, rel=5e-3, abs=0.1)


HOT = {"kind": "hot", "lowest_degC": 20.0, "highest_degC": 300.0}
B = (
    layer(0.8, PVC, True),
    layer(0.7, (0.183, 1328, 1313), True),
    layer(0.2, PVC, True),
    layer(0.7, (0.183, 1328, 1313), True),
)


def refusal(table: dict[str, Any]) -> Infeasible:
    found = best(posed(table))
    assert isinstance(found, Infeasible)
    return found


def test_a_cold_lower_platen_is_refused_and_the_nearest_temperature_works() -> None:
    table = given(B, {**HOT, "set_degC": 185.0})
    table["lower"] = {**EXACT, **HOT, "set_degC": 20.0}
    found = refusal(table)
    assert "never fuses" in found.reason
    assert found.nearest_change.startswith("Set the lower platen to ")
    degC = float(found.nearest_change.split()[-2])
    for by, works in ((0.0, True), (-3.0, False)):
        again = best(posed(table | {"lower": {**EXACT, **HOT, "set_degC": degC + by}}))
        assert isinstance(again, Best) == works


def test_a_thick_solid_belt_is_refused_hot_and_allowed_colder() -> None:
    solid = given((layer(6.0, PVC, True),), {**HOT, "set_degC": 210.0}, ramp_counts=False)
    found = refusal(solid)
    # class: peer library -- PVC 6 mm solid between platens at 210 °C: passes 200 °C at 27.7 s, fuses at 74.7 s
    assert "27.7 s" in found.reason
    assert "74.7 s" in found.reason
    assert found.nearest_change.startswith("Set the platens to ")
    colder = best(
        posed(
            solid
            | {"upper": {**EXACT, **HOT, "set_degC": 185.0}, "lower": {**EXACT, **HOT, "set_degC": 185.0}}
        )
    )
    assert isinstance(colder, Best)
    assert colder.columns[0].fused_s == pytest.approx(100.6, rel=0.005)  # class: peer library -- two solvers
    assert colder.columns[0].hottest_K - ZERO_C_K == pytest.approx(
        185.0, abs=0.5
    )  # class: peer library -- two solvers


def test_the_other_cases_that_must_be_refused() -> None:
    colder = given(B, {**HOT, "set_degC": 155.0})
    assert "not above the fusion temperature" in refusal(colder).reason
    assert "Set the platens to " in refusal(colder).nearest_change
    fine = given(B, {**HOT, "set_degC": 180.0})
    free = best(posed(fine))
    assert isinstance(free, Best)
    # class: analytic -- a sum
    assert sum(item.seconds for item in free.account) == pytest.approx(free.dwell_s)
    assert free.covered >= free.sure
    short = refusal(fine | {"dwell_s": 20.0})
    assert "too short" in short.reason
    assert float(short.nearest_change.split()[3]) == pytest.approx(
        ceil(free.dwell_s), abs=1
    )  # class: analytic -- the dwell found when it is free
    assert "must not go" in refusal(fine | {"release_degC": 170.0}).reason
    assert "never surely be reached" in refusal(fine | {"release_degC": 19.0}).reason


def test_the_recipe_of_a_job_is_the_one_of_the_same_values_in_full(make_job: Any) -> None:
    """Set temperatures and hold are the job's; every part of the dwell and the safe cooling must come out alike."""
    job: Job = make_job((("tpu", 3.0),))
    recipe = compute_recipe(job)
    assert not isinstance(recipe, Infeasible)
    items = {item.label: item.seconds for item in recipe.items}
    press, start_K = press_model(job), job.shop_degC + ZERO_C_K

    def side(model: Any, platen: Any, set_K: float) -> Side:
        driven = Driven(model.capacity_J_m2K, model.power_W_m2, model.loss_W_m2K, model.around_K)
        cooling = Cooling(model.coolant_K, coefficient_W_m2K=model.cooling_W_m2K)
        plan = PlatenPlan(set_K, start_K, driven=driven, cooling=cooling)
        return Side(plan, set_K, set_K, platen.sensor_error_K, platen.sensor_lag_s, platen.edge_deficit_K)

    upper_K, lower_K = recipe.value_si("upper_temperature"), recipe.value_si("lower_temperature")
    problem = Problem(
        (Column("", stack_of(job)),),
        side(press.upper, job.press.upper, upper_K),
        side(press.lower, job.press.lower, lower_K),
        start_K, recipe.value_si("release_temperature"), items["holding time"], ramp_counts=False,
    )  # fmt: skip
    rig = Rig(problem)
    found = rig.parts(upper_K, lower_K)
    assert found is not None
    parts = found[1]
    # class: regression -- the job's own recipe
    assert parts.fused_s == pytest.approx(items["until the coldest point fuses"], rel=0.005)
    assert parts.edges_s == pytest.approx(items["colder platen edges"], rel=0.02)
    assert parts.spread_s == pytest.approx(items["spread of belt, contact and sensor"], rel=0.02)
    assert rig.later_s(upper_K, lower_K) == pytest.approx(recipe.ramp_s, rel=0.005)
    told = best(replace(problem, dwell_s=recipe.dwell_s))
    assert isinstance(told, Best)
    assert told.surely_cold_s == pytest.approx(recipe.cooling_s, rel=0.01)


def test_a_set_temperature_that_somebody_gave_is_not_called_a_limit_of_the_press() -> None:
    problem = posed(given(B, {**HOT, "lowest_degC": 170.0, "highest_degC": 195.0}, step_K=5.0))
    fixed = replace(problem, upper=replace(problem.upper, lowest_K=175 + ZERO_C_K, highest_K=175 + ZERO_C_K))
    found = best(fixed)
    assert isinstance(found, Best)
    assert "the upper platen's set temperature, as given" in found.binding
    assert "upper platen's highest" not in found.binding


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("hold_s", "changes nothing"),
        ("hold_s=", "no value"),
        ("columns.1.layers.1.thickness_mm=-2", "thickness_mm"),
        ("columns.9.name=x", "counted from 1"),
        ("columns=3", "whole table"),
        ("upper.set_degC=300", "beyond what may be set"),
        ("upper.lowest_degC=300", "must not be the higher"),
        ("moon=3", "not known"),
        ("step_K=0.1", "pairs of settings"),
        ("sure=2", "sure"),
    ],
)
def test_a_change_that_cannot_be_is_one_sentence(change: str, words: str) -> None:
    with pytest.raises(BadData) as said:
        load_best(
            EXAMPLE,
            [change]
            + (
                [
                    "upper.lowest_degC=0",
                    "lower.lowest_degC=0",
                    "upper.highest_degC=300",
                    "lower.highest_degC=300",
                ]
                if "step" in change
                else []
            ),
        )
    assert words in str(said.value)
    assert "\n" not in str(said.value)


@pytest.mark.slow
def test_what_a_thin_file_leaves_out_of_its_platens_is_planned_for_and_said() -> None:
    platen = {"kind": "power", "lowest_degC": 150.0, "highest_degC": 190.0, "capacity_J_m2K": 30e3,
              "power_W_m2": 12e3, "loss_W_m2K": 8.0}  # fmt: skip
    table = given((layer(2.0, PVC, True),), platen)
    exact = BestFile.model_validate(table)
    thin = BestFile.model_validate(table | {"upper": platen, "lower": platen})
    assert taken(exact) == ()
    assert len(taken(thin)) == 2
    assert all(f"{key} " in sentence for sentence in taken(thin) for key in EXACT)
    sure, found = best(problem_of(exact)), best(problem_of(thin))
    assert isinstance(sure, Best)
    assert isinstance(found, Best)
    assert found.upper_K > sure.upper_K
    assert found.dwell_s > sure.dwell_s
    colder = next(row for row in found.sensitivity if "colder than they read" in row.label)
    assert colder.dwell_needed_s is not None  # so far off they still fuse it
