"""The recipe as the shortest cycle with reasons: what binds, how sure it is, what it would take where none fits."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from math import ceil
from statistics import NormalDist

import numpy as np
import pytest

from assistant.bench.belt import DataSheet, Guide
from assistant.bench.job import Job
from assistant.recipe.case import CONTACT_FACTOR, THICKER_M
from assistant.recipe.cycles import Cycles
from assistant.recipe.feasible import lay_up_mm
from assistant.recipe.healing import LABEL
from assistant.recipe.outcome import Given, Infeasible, Recipe
from assistant.recipe.recipe import case_of, compute_recipe, settings_of, what_if
from assistant.recipe.setting import REDO_S, SURE_95, Margins, deviations
from assistant.recipe.stack import ZERO_C_K

Make = Callable[..., Job]


def recipe_for(job: Job, given: Given | None = None, sure: float = 0.95) -> Recipe:
    found = compute_recipe(job, given, sure=sure)
    assert isinstance(found, Recipe), found
    return found


def refusal_of(job: Job, given: Given | None = None) -> Infeasible:
    found = compute_recipe(job, given)
    assert isinstance(found, Infeasible)
    return found


def test_no_other_temperature_is_shorter_once_redone_joints_are_counted(make_job: Make) -> None:
    for layers in ((("pvc", 2.0),), (("tpu", 6.0),)):
        job = make_job(layers)
        recipe = recipe_for(job)
        case = case_of(job, settings_of(recipe))
        margins = Margins(job, case.body, case.press)
        cycles = Cycles(case, 120.0, case.settings.release_K)
        chosen_K = recipe.value_si("upper_temperature")

        def cost(at_K: float, cycles: Cycles = cycles, margins: Margins = margins) -> float:
            return cycles.at(at_K) + margins.at(at_K, at_K).redo_s

        # set in steps of 5 K: none of the neighbours is better by more than half a minute
        assert all(cost(chosen_K) < cost(chosen_K + step) + 30 for step in (-10, -5, 5, 10))


def test_what_binds_is_said_with_what_it_would_save(make_job: Make) -> None:
    recipe = recipe_for(make_job())
    assert "Expected time binds" in recipe.binding
    assert "judgement" in recipe.binding
    assert "save" in recipe.binding
    assert any(f"{REDO_S / 3600:g} h for each joint made twice" in one for one in recipe.assumptions)
    given = recipe_for(make_job(), Given(upper_temperature=453.15)).binding
    assert "not the computed ones" in given


def test_the_shortest_cycle_that_is_allowed_stands_beside_the_one_chosen(make_job: Make) -> None:
    job = make_job()
    recipe = recipe_for(job)
    assert recipe.shortest_K is not None
    assert recipe.shorter_by_s > 0
    assert f"{recipe.shortest_K - 273.15:.0f} °C, {recipe.shorter_by_s:.0f} s shorter" in recipe.binding
    case = case_of(job, settings_of(recipe))
    margins, cycles = Margins(job, case.body, case.press), Cycles(case, 120.0, case.settings.release_K)
    assert margins.at(recipe.shortest_K, recipe.shortest_K).wide_enough
    assert not margins.at(recipe.shortest_K - 1, recipe.shortest_K - 1).wide_enough
    here_s, there_s = cycles.at(recipe.value_si("upper_temperature")), cycles.at(recipe.shortest_K)
    # class: analytic -- the same cycles, looked up one by one
    assert recipe.shorter_by_s == pytest.approx(here_s - there_s, rel=0.02)


def test_a_value_set_by_hand_has_its_own_margins_for_its_reason(make_job: Make) -> None:
    job = make_job()
    computed = recipe_for(job)
    hot_K = computed.value_si("upper_temperature") + 5.0
    recipe = recipe_for(job, Given(upper_temperature=hot_K, lower_temperature=hot_K))
    for slot in ("upper_temperature", "lower_temperature"):
        value = recipe.value(slot)  # type: ignore[arg-type]
        assert value is not None
        assert f"At {hot_K - 273.15:.0f} °C above and {hot_K - 273.15:.0f} °C below" in value.reason
        assert f"At {hot_K - 278.15:.0f} °C above" not in value.reason
    assert recipe.shortest_K is None


@pytest.mark.slow
def test_the_dwell_covers_the_share_of_joints_that_was_asked_for(make_job: Make) -> None:
    """Drawn joints: thickness, conductivity, heat capacity, contact and sensors at once, laid between hot platens."""
    job = make_job((("tpu", 5.0),))
    random = np.random.default_rng(7)
    for sure in (0.8, 0.95, 0.99):
        recipe = recipe_for(job, sure=sure)
        items = {item.label: item.seconds for item in recipe.items}
        allowed_s = items["until the coldest point fuses"] + items["spread of belt, contact and sensor"]
        case = case_of(job, settings_of(recipe), 0.5)
        held = 0
        for thick, k, c, r, sensor in random.standard_normal((400, 5)) / SURE_95:
            stack = case.body.stack.changed(
                belt_thicker_m=thick * THICKER_M,
                contact_factor=CONTACT_FACTOR**r,
            ).off(conductivity=k, capacity=c)
            off_K = sensor * SURE_95 * job.press.upper.sensor_error_K
            fused_s = case.with_stack(stack).with_platens(-off_K, -off_K).hot_fusion_s
            held += fused_s is not None and fused_s <= allowed_s
        assert held / 400 >= sure - 0.03


def test_what_is_expected_of_the_cooling_stands_beside_what_is_sure(make_job: Make) -> None:
    recipe = recipe_for(make_job())
    case = case_of(make_job(), settings_of(recipe))
    # class: analytic -- the planning values themselves
    assert recipe.cooling_expected_s == pytest.approx(case.cooling_s, rel=2e-3)
    assert recipe.cooling_expected_s < recipe.cooling_s
    assert recipe.cycle_s - recipe.cycle_expected_s == pytest.approx(
        recipe.cooling_s - recipe.cooling_expected_s
    )


def test_surer_is_longer_and_is_an_input(make_job: Make) -> None:
    job = make_job((("pvc", 4.0),))
    dwells = [recipe_for(job, sure=sure).dwell_s for sure in (0.5, 0.9, 0.95, 0.999)]
    assert dwells == sorted(dwells)
    assert dwells[0] < dwells[-1]
    other = what_if(job, Given(), sure=0.999)
    assert isinstance(other, Recipe)
    assert other.sure == 0.999
    assert deviations(0.95) == pytest.approx(NormalDist().inv_cdf(0.95))
    unsure = compute_recipe(job, sure=1.0)
    assert isinstance(unsure, Infeasible)
    assert "0.5 to 0.999" in unsure.reason


def test_the_account_leads_from_physics_to_the_dwell(make_job: Make) -> None:
    guide = Guide(material="tpu", width_mm=10, height_mm=6)
    for job in (make_job(), make_job((("pvc", 4.0),)), make_job(guide=guide)):
        recipe = recipe_for(job)
        assert sum(item.seconds for item in recipe.account) == pytest.approx(recipe.dwell_s)
        labels = [item.label for item in recipe.account]
        assert labels[:4] == [
            "physical minimum",
            "healing by the model",
            "holding time beyond the model",
            "the ramp is not counted",
        ]
        hold_s = sum(item.seconds for item in recipe.account[1:3])
        assert hold_s == pytest.approx(120.0)  # the material's own; a model never shortens it
        assert all(item.seconds >= 0 and item.reason for item in recipe.account)
    assert recipe_for(make_job()).account[0].seconds == 0.0


def test_healing_is_shown_as_a_model_and_changes_nothing(make_job: Make) -> None:
    recipe = recipe_for(make_job())
    assert 0.9 < recipe.healing.degree <= 1.0
    assert recipe.healing.label == LABEL
    assert recipe.healing_laid_hot.integral < recipe.healing.integral
    assert not any("heal" in item.label for item in recipe.items)


@pytest.mark.slow
def test_time_near_damage_is_counted_and_too_much_of_it_refused(make_job: Make) -> None:
    assert recipe_for(make_job()).near_damage_s == 0.0
    hot = Given(upper_temperature=471.15, lower_temperature=471.15)
    near = recipe_for(make_job(), hot)
    assert near.near_damage_s > near.dwell_s
    long = refusal_of(make_job(), replace(hot, dwell=2400.0))
    assert "within 10 K of its damage temperature" in long.reason


def test_the_thin_belt_beside_a_guide_sits_longest_near_damage(make_job: Make) -> None:
    guide = Guide(material="tpu", width_mm=10, height_mm=6)
    hot = Given(upper_temperature=470.15, lower_temperature=470.15)
    recipe = recipe_for(make_job(guide=guide), hot)
    assert recipe.beside is not None
    assert 0 < recipe.beside.near_damage_s <= recipe.near_damage_s


def value_in(sentence: str, after: str) -> float:
    return float(sentence.split(after)[1].split(" ", maxsplit=1)[0])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("layers", "given", "slot", "after", "offset", "step"),
    [
        ((("pvc", 6.0),), Given(upper_temperature=483.15, lower_temperature=483.15), "both", "platens to ", ZERO_C_K, 2.0),
        ((("tpu", 2.0),), Given(lower_temperature=293.15), "lower_temperature", "platen to ", ZERO_C_K, -2.0),
        ((("tpu", 6.0),), Given(dwell=10.0), "dwell", "dwell to ", 0.0, -2.0),
        ((("tpu", 2.0),), Given(pressure=4.37e5), "pressure", "pressure to ", 0.0, 0.01),
        ((("tpu", 2.0),), Given(release_temperature=443.15), "release_temperature", "temperature to ", ZERO_C_K, 2.0),
    ],
)  # fmt: skip
def test_the_nearest_change_works_and_a_little_less_does_not(
    make_job: Make,
    layers: tuple[tuple[str, float], ...],
    given: Given,
    slot: str,
    after: str,
    offset: float,
    step: float,
) -> None:
    job = make_job(layers)
    unit = 1e5 if slot == "pressure" else 1.0
    found = value_in(refusal_of(job, given).nearest_change, after) + offset
    for value, feasible in ((found * unit, True), ((found + step) * unit, False)):
        changed = (
            {"upper_temperature": value, "lower_temperature": value} if slot == "both" else {slot: value}
        )
        assert isinstance(compute_recipe(job, replace(given, **changed)), Recipe) is feasible


@pytest.mark.slow
def test_too_much_pressure_is_changed_to_the_press_s_own_limit(make_job: Make) -> None:
    for given_bar, limit_bar in ((4.37, 3.0), (3.01, 2.95)):
        found = refusal_of(
            make_job(max_pressure_bar=limit_bar), Given(pressure=given_bar * 1e5)
        ).nearest_change
        # class: analytic -- the limit itself is allowed, and nothing above it
        assert value_in(found, "pressure to ") == limit_bar


def test_a_lay_up_thicker_than_the_press_opens_is_refused_with_the_opening_that_would_do(
    make_job: Make,
) -> None:
    def closing_on(most_mm: float | None) -> Job:
        job = make_job((("pvc", 6.0),))
        return job.model_copy(update={"press": job.press.model_copy(update={"opening_mm": most_mm})})

    thick_mm = lay_up_mm(closing_on(None))
    job = closing_on(None)
    # class: analytic -- plate, two cloths, belt, floor of the template
    assert thick_mm == pytest.approx(
        job.template.plate_mm
        + job.cloth_above.thickness_mm
        + 6.0
        + job.cloth_below.thickness_mm
        + job.template.floor_mm
    )
    refused = compute_recipe(closing_on(thick_mm - 0.5))
    assert isinstance(refused, Infeasible)
    assert f"{thick_mm:.1f} mm thick" in refused.reason
    assert refused.nearest_change.startswith(f"Take a press that closes on {ceil(thick_mm)} mm")
    assert isinstance(compute_recipe(closing_on(thick_mm)), Recipe)
    unknown = compute_recipe(closing_on(None))
    assert isinstance(unknown, Recipe)
    assert any("opening_mm" in sentence for sentence in unknown.assumptions)


@pytest.mark.slow
def test_where_the_press_is_to_blame_the_press_that_would_do_is_told(make_job: Make) -> None:
    low = refusal_of(make_job(voltage_V=60.0))
    volts = value_in(low.nearest_change, "to have ")
    assert isinstance(compute_recipe(make_job(voltage_V=volts)), Recipe)
    assert isinstance(compute_recipe(make_job(voltage_V=volts - 3)), Infeasible)
    uneven = refusal_of(make_job(upper={"edge_deficit_K": 40}, lower={"edge_deficit_K": 40}))
    edges = value_in(uneven.nearest_change, "no more than ")
    evened = make_job(upper={"edge_deficit_K": edges}, lower={"edge_deficit_K": edges})
    assert isinstance(compute_recipe(evened), Recipe)
    sheet = refusal_of(make_job(sheet=DataSheet(max_degC=160)))
    allowed = value_in(sheet.nearest_change, "allow ")
    assert isinstance(compute_recipe(make_job(sheet=DataSheet(max_degC=allowed))), Recipe)


@pytest.mark.slow
def test_a_belt_that_takes_melting_heat_is_held_longer_and_cools_longer(make_job: Make) -> None:
    job = make_job((("tpu", 4.0),))
    latent = {"latent_heat_J_kg": 60e3, "melting_degC": (130.0, 155.0)}
    melting = job.model_copy(
        update={"materials": {**job.materials, "tpu": job.materials["tpu"].model_copy(update=latent)}}
    )
    dry, wet = recipe_for(job), recipe_for(melting)
    assert wet.hot_fusion_s > dry.hot_fusion_s
    assert wet.cooling_s > dry.cooling_s
    assert wet.numerical_error <= 0.002
    assert any("Melting heat is counted" in sentence for sentence in wet.assumptions)


@pytest.mark.slow
def test_higher_set_temperatures_never_fuse_later(make_job: Make) -> None:
    job = make_job((("pvc", 3.0),))
    times = []
    for degC in (175.0, 180.0, 185.0, 190.0):
        recipe = recipe_for(job, Given(upper_temperature=degC + ZERO_C_K, lower_temperature=degC + ZERO_C_K))
        times.append(recipe.hot_fusion_s)
    assert times == sorted(times, reverse=True)


def test_the_whole_explanation_takes_less_than_a_second(make_job: Make) -> None:
    """Of processor time, so that a busy machine does not count; measured in tests/bench as well."""
    guide = Guide(material="tpu", width_mm=10, height_mm=6)
    job = make_job(guide=guide)
    recipe_for(job)
    begin = time.process_time()
    recipe_for(job)
    assert time.process_time() - begin < 1.0
