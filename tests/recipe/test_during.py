"""While the press runs: readings judged, the inside computed from them, always on the hot side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest

from assistant.bench.belt import Guide
from assistant.bench.job import Job
from assistant.bench.press import Cooling
from assistant.recipe.during import (
    Inside,
    Timeline,
    expected_reading,
    inside_now,
    judge_reading,
    until_cold,
)
from assistant.recipe.outcome import Given, Recipe
from assistant.recipe.recipe import compute_recipe
from assistant.recipe.stack import ZERO_C_K

Make = Callable[..., Job]
WATER = Cooling(kind="water", coefficient_W_m2K=500, coolant_degC=20)
SLOTS = ("upper_reading", "lower_reading")


@dataclass(frozen=True)
class Told:
    slot: str
    value: float
    t_s: float
    plausible: bool = True


def K(degC: float) -> float:
    return degC + ZERO_C_K


@pytest.fixture(scope="module")
def guided(make_job: Make) -> tuple[Job, Recipe]:
    """The worked guided belt: 2 mm of belt on 3 mm of guide, water at 20 degC, set to 185 on both sides."""
    job = make_job(
        (("tpu", 0.6), ("ply_tpu", 0.4), ("tpu", 0.2), ("ply_tpu", 0.4), ("tpu", 0.4)),
        guide=Guide(material="tpu", width_mm=8, height_mm=3),
        cloth_above=("silicone", 0.5), floor_mm=5.0, cooling=WATER,
    )  # fmt: skip
    return job, made(job, Given(upper_temperature=K(185), lower_temperature=K(185)))


@pytest.fixture(scope="module")
def thin(make_job: Make) -> tuple[Job, Recipe]:
    job = make_job()
    return job, made(job)


def made(job: Job, given: Given | None = None) -> Recipe:
    recipe = compute_recipe(job, given)
    assert isinstance(recipe, Recipe)
    return recipe


def falling(until_s: float, every_s: float, tau_s: float, coolant: float = 20.0) -> tuple[Told, ...]:
    """Both displays read every few seconds while the platens fall from 185 exponentially; cooling on at 1000."""
    return tuple(
        Told(slot, K(coolant + (185 - coolant) * np.exp(-t / tau_s)), 1000.0 + t)
        for t in np.arange(every_s, until_s + 1e-9, every_s)
        for slot in SLOTS
    )


def test_platens_at_60_do_not_show_that_a_thick_belt_is_cold(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    line = Timeline(0.0, 700.0, 1000.0)
    readings = falling(127.5, 2.5, 90.0)
    assert readings[-1].value == pytest.approx(K(60), abs=0.1)
    inside = inside_now(job, recipe, line, readings, 1127.5)
    assert inside.hottest_K - ZERO_C_K == pytest.approx(
        90.7, abs=0.9
    )  # class: peer library -- two solvers, water, 1 %
    assert inside.hottest_upper_K > inside.hottest_K + 5
    later = inside_now(job, recipe, line, readings, 1300.0)
    assert K(60) < later.hottest_K < K(63)  # the platens are held at the last word: never colder than 60
    assert later.hottest_upper_K > K(60)


def test_the_inside_is_bounded_by_the_readings_and_falls_only_with_them(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    line = Timeline(0.0, 700.0, 1000.0)
    no_word = inside_now(job, recipe, line, (), 3000.0)
    assert no_word.hottest_K == pytest.approx(K(185), abs=0.1)
    one_platen = inside_now(job, recipe, line, (Told("upper_reading", K(40), 1500.0),), 3000.0)
    assert one_platen.hottest_K > K(150)  # the other one may still be hot
    both = falling(600.0, 60.0, 90.0)
    temperatures = [inside_now(job, recipe, line, both, t).hottest_K for t in np.arange(1000.0, 1600.0, 30.0)]
    assert all(a >= b - 1e-6 for a, b in pairwise(temperatures))


def test_fewer_readings_never_give_a_colder_inside(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    line = Timeline(0.0, 700.0, 1000.0)
    many = falling(240.0, 5.0, 90.0)
    few = tuple(reading for reading in many if (reading.t_s - 1000.0) % 60 == 0)
    for t_s in (1065.0, 1090.0, 1130.0, 1200.0, 1240.0):
        rare, often = (inside_now(job, recipe, line, told, t_s) for told in (few, many))
        assert rare.hottest_K >= often.hottest_K - 1e-6
        assert rare.hottest_upper_K >= often.hottest_upper_K - 1e-6


def test_a_reading_from_later_is_not_looked_at(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    line = Timeline(0.0, 700.0, 1000.0)
    past = falling(60.0, 10.0, 90.0)
    assert inside_now(job, recipe, line, falling(300.0, 10.0, 90.0), 1060.0) == inside_now(
        job, recipe, line, past, 1060.0
    )


def test_before_cooling_the_inside_counts_as_hot(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    assert inside_now(job, recipe, Timeline(0.0), (), 100.0) == Inside(K(185), K(185) + 1.645 * 3.0)


def test_a_reading_that_was_not_plausible_never_makes_it_colder(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    line = Timeline(0.0, 700.0, 1000.0)
    good = falling(60.0, 10.0, 90.0)
    bad = (*good, *(Told(slot, K(25), 1062.0, plausible=False) for slot in SLOTS))
    assert inside_now(job, recipe, line, bad, 1200.0) == inside_now(job, recipe, line, good, 1200.0)
    hotter = (*good, Told("upper_reading", K(150), 1062.0, plausible=False))
    assert (
        inside_now(job, recipe, line, hotter, 1100.0).hottest_K
        > inside_now(job, recipe, line, good, 1100.0).hottest_K
    )


def test_how_long_until_it_is_cold_counts_down_and_follows_what_is_seen(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    line = Timeline(0.0, 700.0, 1000.0)
    left = [
        until_cold(job, recipe, line, falling(t, 10.0, 90.0), 1000.0 + t) for t in (30.0, 90.0, 150.0, 210.0)
    ]
    assert left == sorted(left, reverse=True)
    slow = until_cold(job, recipe, line, falling(90.0, 10.0, 180.0), 1090.0)
    assert slow > left[1]
    assert until_cold(job, recipe, line, falling(900.0, 30.0, 90.0), 1900.0) == 0.0
    assert until_cold(job, recipe, Timeline(0.0, 700.0), (), 900.0) > 100.0


def test_the_forecast_agrees_with_the_gate_it_forecasts(guided: tuple[Job, Recipe]) -> None:
    """When the time said is over and the platens did as expected, the computed inside is indeed cold."""
    job, recipe = guided
    line = Timeline(0.0, 700.0, 1000.0)
    times, cooling = recipe.expected.cooling_s, recipe.expected
    left_s = until_cold(job, recipe, line, (), 1000.0)
    readings = [
        Told(slot, float(np.interp(t, times, trace.mean_K)), 1000.0 + t)
        for t in np.arange(10.0, left_s + 60.0, 10.0)
        for slot, trace in zip(SLOTS, (cooling.upper_cooling, cooling.lower_cooling), strict=True)
    ]
    inside = inside_now(job, recipe, line, readings, 1000.0 + left_s + 60.0)
    assert inside.hottest_upper_K <= recipe.value_si("release_temperature")


def test_the_display_is_expected_to_follow_the_predicted_curve(thin: tuple[Job, Recipe]) -> None:
    job, recipe = thin
    line = Timeline(100.0)
    for point in recipe.curve[::10]:
        if point.t_s < recipe.ramp_s:
            band = expected_reading(job, recipe, line, "upper_reading", 100.0 + point.t_s)
            assert band.mean_K == pytest.approx(point.upper_K, abs=1.0)
            assert band.low_K < point.upper_K < band.high_K
    held = expected_reading(job, recipe, Timeline(100.0, 800.0), "lower_reading", 900.0)
    assert held.mean_K == recipe.value_si("lower_temperature")
    assert held.high_K - held.low_K < 25


@pytest.mark.parametrize(
    ("line", "t_s", "degC", "plausible", "words"),
    [
        (Timeline(0.0), 300.0, 110.0, True, "expected"),
        (Timeline(0.0), 300.0, 25.0, False, "colder than it can be"),
        (Timeline(0.0), 60.0, 150.0, False, "hotter than it can be"),
        (Timeline(0.0, 690.0), 750.0, 186.0, True, "expected"),
        (Timeline(0.0, 690.0), 750.0, 150.0, False, "colder than it can be"),
        (Timeline(0.0, 690.0), 750.0, 215.0, False, "hotter than it can be"),
        (Timeline(0.0, 690.0, 900.0), 930.0, 60.0, False, "colder than it can be"),
        (Timeline(0.0, 690.0, 900.0), 1900.0, 62.0, True, "expected"),
        (Timeline(0.0, 690.0, 900.0), 1900.0, 180.0, False, "hotter than it can be"),
        (Timeline(0.0, 690.0, 900.0), 1900.0, 5.0, False, "colder than it can be"),
    ],
)
def test_a_reading_is_judged_against_what_the_press_can_do(
    thin: tuple[Job, Recipe], line: Timeline, t_s: float, degC: float, plausible: bool, words: str
) -> None:
    job, recipe = thin
    judged = judge_reading(job, recipe, line, "upper_reading", K(degC), t_s)
    assert judged.plausible is plausible
    assert words in judged.sentence


def test_the_edge_may_be_colder_than_the_platens_but_not_hotter(thin: tuple[Job, Recipe]) -> None:
    job, recipe = thin
    line = Timeline(0.0, 690.0, 900.0)
    assert judge_reading(job, recipe, line, "edge_reading", K(50), 1900.0).plausible
    assert not judge_reading(job, recipe, line, "edge_reading", K(170), 1900.0).plausible
    assert not judge_reading(job, recipe, line, "edge_reading", K(-5), 1900.0).plausible
    with pytest.raises(KeyError):
        expected_reading(job, recipe, line, "gauge_reading", 100.0)


def test_a_ramp_cut_short_cools_from_where_it_was(thin: tuple[Job, Recipe]) -> None:
    job, recipe = thin
    full = expected_reading(job, recipe, Timeline(0.0, 690.0, 900.0), "upper_reading", 1200.0)
    short = expected_reading(job, recipe, Timeline(0.0, None, 300.0), "upper_reading", 600.0)
    assert short.mean_K < full.mean_K
    assert short.low_K < short.mean_K < short.high_K


def band(job: Job, recipe: Recipe, readings: tuple[Told, ...], t_s: float) -> float:
    """Upper end of the computed inside, degC; cooling on at 1000."""
    return inside_now(job, recipe, Timeline(0.0, 700.0, 1000.0), readings, t_s).hottest_upper_K - ZERO_C_K


def test_without_readings_the_band_stays_as_wide_as_it_was(guided: tuple[Job, Recipe]) -> None:
    assert band(*guided, (), 1600.0) == pytest.approx(185 + 1.645 * 3.0, abs=0.1)
    later = band(*guided, falling(120.0, 60.0, 90.0), 1300.0)
    assert later >= falling(120.0, 60.0, 90.0)[-1].value - ZERO_C_K  # held at the last word since


def test_each_further_reading_narrows_it_and_a_hotter_one_widens_it_again(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    every = falling(240.0, 40.0, 90.0)
    upper = [band(job, recipe, every[:n], 1250.0) for n in range(0, len(every) + 1, 2)]
    assert all(a > b for a, b in pairwise(upper))
    hotter = (*every, Told("lower_reading", K(95), 1245.0))
    assert band(job, recipe, hotter, 1250.0) > upper[-1]


def test_readings_too_early_for_the_belt_or_against_each_other_open_nothing(
    guided: tuple[Job, Recipe],
) -> None:
    job, recipe = guided
    line, release = Timeline(0.0, 700.0, 1000.0), recipe.value_si("release_temperature") - ZERO_C_K
    at_once = judge_reading(job, recipe, line, "upper_reading", K(50), 1010.0)
    assert not at_once.plausible
    told = tuple(Told(slot, K(50), 1010.0, at_once.plausible) for slot in SLOTS)
    assert band(job, recipe, told, 1012.0) > release + 100
    # Both platens cold by their displays, and the guide inside not yet.
    cold = falling(160.0, 8.0, 90.0)
    assert cold[-1].value < K(50)
    assert band(job, recipe, cold, 1160.0) > release
    one_hot = (*falling(600.0, 20.0, 90.0), Told("lower_reading", K(140), 1601.0, plausible=False))
    assert band(job, recipe, one_hot, 1602.0) > release


def test_the_upper_end_holds_belts_that_conduct_badly_and_hold_much_heat(guided: tuple[Job, Recipe]) -> None:
    job, recipe = guided
    told = falling(127.5, 2.5, 90.0)
    line = Timeline(0.0, 700.0, 1000.0)
    inside = inside_now(job, recipe, line, told, 1127.5)
    # class: peer library -- two solvers, water, platens at 60 and 90.7 inside; the band lies above it
    assert K(90.7) < inside.hottest_upper_K
    assert inside.hottest_upper_K - inside.hottest_K < 60
