"""A cycle cut short: what is still to be done, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from assistant.bench.belt import DataSheet
from assistant.bench.job import Job
from assistant.bench.press import Cooling
from assistant.recipe.broken import Cut
from assistant.recipe.conduction import Conduction
from assistant.recipe.during import Timeline
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Recipe
from assistant.recipe.platen import press_model, warm_up
from assistant.recipe.recipe import compute_recipe, settings_of
from assistant.recipe.stack import stack_of
from assistant.recipe.variants import variants_of
from assistant.recipe.what_now import CAUTION, what_now

Make = Callable[..., Job]
ON = Timeline(0.0)


@pytest.fixture(scope="module")
def made(make_job: Make) -> tuple[Job, Recipe]:
    job = make_job()
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    return job, recipe


def test_power_lost_before_anything_fused_means_heating_from_the_start(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    found = what_now(job, recipe, ON, "power", 200.0)
    assert (found.decision, found.fused_s, found.agreement) == ("resume heat", 0.0, 1.0)
    assert found.rest_s == recipe.dwell_s


def test_power_lost_in_the_hold_and_back_soon_leaves_the_rest_to_hold(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    timeline = Timeline(0.0, recipe.ramp_s)
    found = what_now(job, recipe, timeline, "power", recipe.ramp_s + 30.0, recipe.ramp_s + 31.0)
    assert found.decision == "hold"
    assert 0 < found.fused_low_s <= found.fused_s <= found.fused_high_s < found.needed_s
    # class: analytic -- a second without heat: what is left is the agreed dwell less the time at set temperature
    assert found.rest_s == pytest.approx(recipe.dwell_s - 31.0)
    assert f"{recipe.dwell_s - 31.0:.0f} s more" in found.sentences[0]
    # class: analytic -- by the model what is left is the holding time less what has surely been held
    assert found.model_rest_s == pytest.approx(found.needed_s - found.fused_low_s)
    assert found.model_rest_s < found.rest_s


def test_what_is_left_of_the_dwell_is_never_less_than_was_not_served(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    for served_s in (0.0, 20.0, 80.0, recipe.dwell_s - 1.0):
        at_s = recipe.ramp_s + served_s
        found = what_now(job, recipe, Timeline(0.0, recipe.ramp_s), "power", at_s, at_s + 0.5)
        assert found.decision == "hold"
        # class: analytic -- it was at set temperature for so long, and for the half second of the blip
        assert found.rest_s >= recipe.dwell_s - served_s - 0.5 - 1e-6


def test_platens_that_fell_begin_the_whole_dwell_anew(make_job: Make) -> None:
    job = make_job(sheet=DataSheet(dwell_s=2400))
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    at_s = recipe.ramp_s + 60.0
    found = what_now(job, recipe, Timeline(0.0, recipe.ramp_s), "power", at_s, at_s + 300.0)
    assert (found.decision, found.rest_s, found.served_s) == ("hold", 2400.0, 0.0)
    assert "whole dwell" in found.sentences[0]


def test_the_ramp_alone_never_makes_it_long_enough(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    slow = Timeline(0.0, 3 * recipe.ramp_s)
    found = what_now(job, recipe, slow, "power", 3 * recipe.ramp_s + 1.0, 3 * recipe.ramp_s + 2.0)
    assert found.fused_low_s > found.needed_s  # by the model it would be enough
    assert (found.decision, found.model_rest_s) == ("hold", 0.0)
    assert found.rest_s == pytest.approx(recipe.dwell_s - 2.0)  # class: analytic -- as above


def test_power_lost_at_the_end_of_the_dwell_means_cooling(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    found = what_now(job, recipe, Timeline(0.0, recipe.ramp_s), "power", recipe.ramp_s + recipe.dwell_s)
    assert found.decision == "cool"
    assert found.fused_low_s >= found.needed_s
    assert found.below_damage_K > 0
    assert any("inside" in sentence for sentence in found.sentences)


def test_heat_left_in_the_platens_counts_while_the_pressure_is_on(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    timeline, at_s = Timeline(0.0, recipe.ramp_s), recipe.ramp_s + 10.0
    at_once = what_now(job, recipe, timeline, "power", at_s)
    later = what_now(job, recipe, timeline, "power", at_s, at_s + 300.0)
    assert at_once.stays_fused_s > 300.0
    # class: analytic -- time above fusion goes on counting, second by second
    assert later.fused_s == pytest.approx(at_once.fused_s + 300.0, abs=1.0)
    assert later.decision == "cool"


def test_an_edge_lags_behind_the_middle_from_the_beginning_in_proportion(
    made: tuple[Job, Recipe],
) -> None:
    job, recipe = made
    settings, press = settings_of(recipe), press_model(job)
    shop_K = job.shop_degC + 273.15
    body = Conduction(stack_of(job), 0.5)
    edge_press, edge_settings = press.at_edges(settings, 6.0, 6.0)
    middle, edge = (
        warm_up(body, one, to, shop_K) for one, to in ((press, settings), (edge_press, edge_settings))
    )
    share = 1 - 6.0 / (settings.upper_K - shop_K)
    # class: analytic -- all is linear and begins at shop temperature, so the whole course is in one proportion
    assert edge.both_s == pytest.approx(middle.both_s)
    assert middle.both_s is not None
    for t_s in (100.0, 300.0, middle.both_s, middle.both_s + 100.0):
        assert edge.run.now(t_s) - shop_K == pytest.approx(share * (middle.run.now(t_s) - shop_K), abs=1e-3)


def test_power_that_stays_away_for_hours_lets_the_weld_set(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    found = what_now(job, recipe, ON, "power", recipe.fused_s + 1.0, recipe.fused_s + 4 * 3600.0)
    assert found.stays_fused_s == 0.0
    assert found.coldest_K < 273.15 + 60


def test_lost_pressure_is_harmless_while_cold_and_not_while_soft(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    held = Timeline(0.0, recipe.ramp_s)
    assert what_now(job, recipe, ON, "pressure", 100.0).decision == "resume heat"
    soft = what_now(job, recipe, held, "pressure", recipe.ramp_s + 30.0, recipe.ramp_s + 60.0)
    assert (soft.decision, soft.rest_s) == ("hold", recipe.dwell_s)
    cool_s = recipe.ramp_s + recipe.dwell_s
    cooling = Timeline(0.0, recipe.ramp_s, cool_s)
    set_without = what_now(job, recipe, cooling, "pressure", cool_s + 5.0, cool_s + recipe.cooling_s)
    assert set_without.decision == "cut out and redo"
    firm = what_now(job, recipe, cooling, "pressure", cool_s + recipe.cooling_s)
    assert firm.decision == "cool"


def test_a_press_opened_early_costs_the_joint_only_while_it_was_soft(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    cool_s = recipe.ramp_s + recipe.dwell_s
    cooling = Timeline(0.0, recipe.ramp_s, cool_s)
    decided = [
        what_now(job, recipe, line, "opened", at_s).decision
        for line, at_s in (
            (ON, 100.0),
            (Timeline(0.0, recipe.ramp_s), recipe.ramp_s + 30.0),
            (cooling, cool_s + 60.0),
            (cooling, cool_s + recipe.cooling_s),
        )
    ]
    assert decided == ["resume heat", "cut out and redo", "cut out and redo", "cool"]


def test_where_the_variants_part_the_more_careful_decision_is_taken_and_said(
    made: tuple[Job, Recipe],
) -> None:
    job, recipe = made
    found = what_now(job, recipe, ON, "power", recipe.fused_s + 20.0)
    assert CAUTION.index(found.decision) >= CAUTION.index(found.as_planned)
    assert found.enough >= 0.9
    assert 0 < found.agreement < 1
    if found.decision != found.as_planned:
        assert "planning values" in found.sentences[-1]


def test_a_cooling_that_needs_the_supply_stops_with_it(make_job: Make) -> None:
    stays, stops = (
        make_job(cooling=Cooling(kind="water", coefficient_W_m2K=500, coolant_degC=20, needs_supply=needs))
        for needs in (False, True)
    )
    hottest = []
    for job in (stays, stops):
        recipe = compute_recipe(job)
        assert isinstance(recipe, Recipe)
        cool_s = recipe.ramp_s + recipe.dwell_s
        line = Timeline(0.0, recipe.ramp_s, cool_s)
        hottest.append(what_now(job, recipe, line, "power", cool_s + 10.0, cool_s + 120.0).hottest_K)
    assert hottest[1] > hottest[0] + 20


def test_the_variants_spread_as_the_recipe_says_they_do(made: tuple[Job, Recipe]) -> None:
    job, _ = made
    found = variants_of(job, 400)
    offs = [variant.sensor_K[0] for variant in found]
    mean = sum(offs) / len(offs)
    sigma = math.sqrt(sum((off - mean) ** 2 for off in offs) / len(offs))
    # class: analytic -- draws of a normal spread with the sensor's standard deviation and no mean
    assert mean == pytest.approx(0.0, abs=0.1)
    assert sigma == pytest.approx(job.press.upper.sensor_error_K, rel=0.05)
    assert variants_of(job, 5)[3].sensor_K == variants_of(job, 5)[3].sensor_K


@pytest.mark.parametrize(
    ("timeline", "at_s", "resumed_s", "says"),
    [
        (Timeline(100.0), 50.0, None, "before the heat"),
        (Timeline(0.0), 100.0, 90.0, "came back"),
        (Timeline(0.0, -5.0), 100.0, None, "set temperature"),
        (Timeline(0.0, 0.0), 100.0, None, "when the heat goes on"),
        (Timeline(0.0, 20.0), 100.0, None, "not possible"),
    ],
)
def test_times_that_cannot_be_are_refused(
    made: tuple[Job, Recipe], timeline: Timeline, at_s: float, resumed_s: float | None, says: str
) -> None:
    with pytest.raises(NotComputable, match=says):
        what_now(*made, timeline, "power", at_s, resumed_s)


def test_platens_left_without_power_in_the_ramp_get_no_hotter(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    coldest = [
        what_now(job, recipe, ON, "power", 300.0, back_s).coldest_K
        for back_s in (310.0, 600.0, 1200.0, 2400.0)
    ]
    assert coldest == sorted(coldest, reverse=True)
    assert what_now(job, recipe, ON, "power", 300.0, 2400.0).fused_s == 0.0


def test_nothing_counts_before_the_moment_from_which_it_counts(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    at_s = recipe.ramp_s + 60.0
    whole = what_now(job, recipe, Timeline(0.0), "power", at_s)
    anew = what_now(job, recipe, Timeline(0.0, counts_from_s=at_s - 20.0), "power", at_s)
    # class: analytic -- it was fused before and since, so the twenty seconds are all that counts
    assert anew.fused_s == pytest.approx(20.0, abs=0.1)
    assert whole.fused_s > 20.0


@pytest.mark.parametrize("cuts", [(Cut(100.0),), (Cut(100.0, 50.0),), (Cut(100.0, 200.0), Cut(150.0, 250.0))])
def test_cuts_out_of_order_are_refused(made: tuple[Job, Recipe], cuts: tuple[Cut, ...]) -> None:
    with pytest.raises(NotComputable, match="follow each other"):
        what_now(*made, Timeline(0.0, cuts=cuts), "power", 400.0)
