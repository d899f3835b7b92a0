"""Readings weighed against simulated causes: the one that was put in must come out, and nothing must come out of nothing."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from assistant.bench.job import Job
from assistant.bench.readings_file import ReadOff
from assistant.recipe.broken import Cut
from assistant.recipe.causes_of_readings import CAUSES, Weighed, weigh
from assistant.recipe.displays import EDGE, LOWER, NOTHING, PLATENS, UPPER, Circumstances, Clock, Displays
from assistant.recipe.during import Timeline, judge_reading
from assistant.recipe.outcome import Recipe
from assistant.recipe.recipe import compute_recipe, settings_of
from assistant.recipe.stack import ZERO_C_K

Make = Callable[..., Job]
WARMING = (0.25, 0.5, 0.75)  # of the ramp


@pytest.fixture(scope="module")
def made(make_job: Make) -> tuple[Job, Recipe]:
    job = make_job()
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    return job, recipe


def read_off(
    job: Job,
    recipe: Recipe,
    given: Circumstances,
    times_s: list[float],
    cool_on_s: float | None,
    seed: int = 1,
) -> list[ReadOff]:
    """Whole degrees, a little restless, each sensor off by its own constant."""
    draw = random.Random(seed)
    slots = [slot for _ in times_s for slot in PLATENS]
    moments = [t for t in times_s for _ in PLATENS]
    shown = Displays(job, settings_of(recipe), Clock(0.0, cool_on_s)).show(slots, moments, given)
    off = {slot: draw.gauss(0.0, 1.5) for slot in PLATENS}
    return [
        ReadOff(slot, round(float(value) + off[slot] + draw.gauss(0.0, 0.5)), t)
        for slot, t, value in zip(slots, moments, shown, strict=True)
    ]


def weighed(
    made: tuple[Job, Recipe], given: Circumstances, *, cooling: bool = False, seed: int = 1
) -> Weighed:
    job, recipe = made
    cool_s = recipe.ramp_s + recipe.dwell_s if cooling else None
    times = [share * recipe.ramp_s for share in WARMING]
    if cool_s is not None:
        times += [cool_s - 20.0, cool_s + 0.2 * recipe.cooling_s, cool_s + 0.5 * recipe.cooling_s]
    return weigh(job, recipe, Timeline(0.0, None, cool_s), read_off(job, recipe, given, times, cool_s, seed))


@pytest.mark.parametrize("seed", range(6))
def test_a_press_in_order_suggests_nothing(made: tuple[Job, Recipe], seed: int) -> None:
    found = weighed(made, NOTHING, cooling=True, seed=seed)
    assert found.in_order_share > 0.5
    assert found.causes == () or found.causes[0].share < found.in_order_share


@pytest.mark.parametrize(
    "key",
    [
        "supply_low", "no_heat", "upper_heater_weak", "lower_heater_weak", "upper_sensor_loose", "lower_sensor_loose",
        "press_warm", "heat_late", "shop_cold", "cooling_weak", "upper_cooling_weak", "lower_cooling_weak",
    ],
)  # fmt: skip
def test_a_cause_that_was_put_in_comes_out_first_with_its_amount(made: tuple[Job, Recipe], key: str) -> None:
    cause = next(one for one in CAUSES if one.key == key)
    amount = cause.amounts[len(cause.amounts) // 2]
    found = weighed(made, cause.make(amount), cooling=True)
    # class: analytic -- the readings were made with this cause and this amount
    assert found.causes[0].key == key
    step = max((abs(a - b) for a, b in zip(cause.amounts, cause.amounts[1:], strict=False)), default=1.0)
    assert found.causes[0].amount == pytest.approx(amount, abs=step)
    assert found.causes[0].misfit < found.misfit_in_order


def test_upper_and_lower_are_told_apart(made: tuple[Job, Recipe]) -> None:
    for side, name in enumerate(("upper", "lower")):
        power = (0.4, 1.0) if side == 0 else (1.0, 0.4)
        assert weighed(made, Circumstances(power=power)).causes[0].key == f"{name}_heater_weak"


def test_more_readings_make_surer(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    weak = Circumstances(power=(0.6, 1.0))
    shares = []
    for times in ([0.3], [0.3, 0.6], [0.2, 0.4, 0.6, 0.8]):
        told = read_off(job, recipe, weak, [t * recipe.ramp_s for t in times], None)
        causes = weigh(job, recipe, Timeline(0.0), told).causes
        shares.append(next((c.share for c in causes if c.key == "upper_heater_weak"), 0.0))
    assert shares[0] < shares[1] < shares[2]


def test_the_amount_lies_between_those_tried(made: tuple[Job, Recipe]) -> None:
    found = weighed(made, Circumstances(power=(0.57, 1.0)))
    # class: analytic -- 57 % of the power was put in
    assert found.causes[0].amount == pytest.approx(0.57, abs=0.05)


def test_a_loose_sensor_makes_the_platen_hotter_than_it_shows(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    displays = Displays(job, settings_of(recipe), Clock(0.0))
    late = 4 * recipe.ramp_s
    shown = displays.show([UPPER], [late], Circumstances(sees=(0.8, 1.0)))[0]
    # class: analytic -- the controller holds what its display shows
    assert shown == pytest.approx(settings_of(recipe).upper_K, abs=0.01)


def test_when_both_platens_arrived_counts_too(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    low = Circumstances(power=(0.5, 0.5))
    displays = Displays(job, settings_of(recipe), Clock(0.0))
    arrival_s = displays.arrival_s(low)
    assert arrival_s is not None
    told = read_off(job, recipe, low, [0.2 * recipe.ramp_s], None)
    without = weigh(job, recipe, Timeline(0.0), told)
    with_it = weigh(job, recipe, Timeline(0.0, arrival_s), told)
    assert with_it.misfit_in_order > without.misfit_in_order + 1
    assert with_it.causes[0].key == "supply_low"


def test_what_is_implausible_is_answered_with_what_it_suggests(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    cold = judge_reading(job, recipe, Timeline(0.0), UPPER, 293.0, 0.6 * recipe.ramp_s)
    assert not cold.plausible
    assert "Read it again" in cold.sentence
    assert "heat" in cold.sentence.split("It looks as if")[1]
    other = ReadOff(LOWER, 25.0 + ZERO_C_K, 0.6 * recipe.ramp_s)
    both = judge_reading(job, recipe, Timeline(0.0), UPPER, 293.0, 0.6 * recipe.ramp_s, (other,))
    assert "the heat has gone off" in both.sentence


def good_press(draw: random.Random) -> Circumstances:
    """Anywhere in what the bands allow for: 30 % of power and losses either way, 19 times in 20."""
    both, loss = draw.gauss(0.0, 0.146), draw.gauss(0.0, 0.158)
    power = (math.exp(both + draw.gauss(0.0, 0.058)), math.exp(both + draw.gauss(0.0, 0.058)))
    return Circumstances(
        power=power, loss=(math.exp(loss), math.exp(loss)), conductivity=math.exp(draw.gauss(0.0, 0.1))
    )


@pytest.mark.slow
def test_few_presses_anywhere_in_the_planning_spread_are_cried_at(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    draw, cries = random.Random(4), 0
    for seed in range(40):
        told = read_off(job, recipe, good_press(draw), [s * recipe.ramp_s for s in WARMING], None, seed)
        cries += not weigh(job, recipe, Timeline(0.0), told, every=2).consistent
    # class: common practice, no published source -- one in twelve, and two standard deviations of 40 draws
    assert cries <= 40 / 12 + 3.5


@pytest.mark.parametrize(
    "bad",
    [Circumstances(power=(0.6, 1.0)), Circumstances(power=(0.7, 0.7)), Circumstances(sees=(1.0, 0.7))],
)
def test_readings_within_their_bands_may_together_not_suit_a_press_in_order(
    made: tuple[Job, Recipe], bad: Circumstances
) -> None:
    job, recipe = made
    told = read_off(job, recipe, bad, [s * recipe.ramp_s for s in WARMING], None)
    found = weigh(job, recipe, Timeline(0.0), told)
    assert not found.consistent
    assert found.sentence.startswith("It looks as if")
    shares = found.in_order_share + found.unnamed_share + sum(cause.share for cause in found.causes)
    # class: analytic -- shares of one whole
    assert shares == pytest.approx(1.0)


def test_a_press_that_was_never_learned_may_just_be_slower(made: tuple[Job, Recipe]) -> None:
    found = weighed(made, Circumstances(power=(0.7, 0.7)))
    assert "slower than its data: learn it" in found.sentence
    assert "learn it" not in replace(found, learned=True).sentence


def test_the_edge_tells_a_loose_sensor_from_a_weak_heater(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    displays = Displays(job, settings_of(recipe), Clock(0.0))
    times = [0.3 * recipe.ramp_s, 0.5 * recipe.ramp_s]
    loose = Circumstances(sees=(0.7, 1.0))
    without = read_off(job, recipe, loose, times, None)
    edges = displays.show([EDGE] * 2, times, loose)
    with_it = [*without, *(ReadOff(EDGE, float(v), t) for v, t in zip(edges, times, strict=True))]

    def share(told: list[ReadOff]) -> float:
        causes = weigh(job, recipe, Timeline(0.0), told).causes
        return next(cause.share for cause in causes if cause.key == "upper_sensor_loose")

    assert share(with_it) > share(without)


def test_a_cycle_broken_off_is_weighed_with_its_time_without_heat(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    cuts = (Cut(0.4 * recipe.ramp_s, 0.7 * recipe.ramp_s),)
    displays = Displays(job, settings_of(recipe), Clock(0.0, None, cuts))
    times = [t * recipe.ramp_s for t in (0.3, 0.75, 0.9, 1.05)]
    slots, moments = [s for _ in times for s in PLATENS], [t for t in times for _ in PLATENS]
    for given, key in ((NOTHING, ""), (Circumstances(power=(0.5, 1.0)), "upper_heater_weak")):
        told = [
            ReadOff(s, float(v), t)
            for s, v, t in zip(slots, displays.show(slots, moments, given), moments, strict=True)
        ]
        found = weigh(job, recipe, Timeline(0.0, cuts=cuts), told)
        assert found.consistent == (not key)
        assert [cause.key for cause in found.causes[:1]] == ([key] if key else [])
    whole = weigh(job, recipe, Timeline(0.0), told)
    assert whole.misfit_in_order > found.misfit_in_order


def test_no_reading_of_the_belt_says_nothing(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    found = weigh(job, recipe, Timeline(0.0), [ReadOff("room_reading", 300.0, 100.0)])
    assert (found.readings, found.causes, found.sentence) == (0, (), "")


@pytest.mark.parametrize("shows_degC", [120.0, 230.0, 340.0])
def test_what_no_single_cause_explains_is_not_given_one(made: tuple[Job, Recipe], shows_degC: float) -> None:
    job, recipe = made
    told = read_off(job, recipe, NOTHING, [0.3 * recipe.ramp_s, 0.6 * recipe.ramp_s], None)
    held_s = recipe.ramp_s + 60.0
    odd = ReadOff(UPPER, shows_degC + ZERO_C_K, held_s)
    found = weigh(job, recipe, Timeline(0.0, recipe.ramp_s), [*told, odd])
    assert not found.explained
    assert found.causes == ()
    assert "No single cause" in found.sentence
    assert (
        "No single cause"
        in judge_reading(job, recipe, Timeline(0.0, recipe.ramp_s), UPPER, odd.value, held_s, told).sentence
    )
