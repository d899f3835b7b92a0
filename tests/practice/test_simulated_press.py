"""The simulated press: same physics, other constants, a display like a real one, no clock of its own."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.practice.press import SimulatedPress, hidden
from assistant.recipe.during import Timeline, inside_now, judge_reading
from assistant.recipe.outcome import Recipe
from assistant.recipe.recipe import compute_recipe
from assistant.recipe.stack import ZERO_C_K

CATALOGUE = load_catalogue()
JOBS = ("flat_in_the_shop", "guided_on_the_conveyor", "solid_with_water")
PLATENS = ("upper_reading", "lower_reading")


@dataclass(frozen=True)
class Told:
    slot: str
    value: float
    t_s: float
    plausible: bool


def job_named(name: str) -> Job:
    job = build_job(read_sheet(PACKAGED / "jobs" / f"{name}.toml", CATALOGUE), CATALOGUE)
    assert isinstance(job, Job)
    return job


@pytest.fixture(scope="module", params=JOBS)
def made(request: pytest.FixtureRequest) -> tuple[Job, Recipe]:
    job = job_named(request.param)
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    return job, recipe


def heated(job: Job, recipe: Recipe, seed: int, at_s: float = 0.0) -> SimulatedPress:
    press = SimulatedPress(job, seed)
    for value in recipe.values:
        press.enter(value.slot, value.value_si)
    press.heat_on(at_s)
    return press


def test_every_hidden_constant_is_at_least_15_per_cent_off() -> None:
    for seed in range(50):
        secret = hidden(seed)
        for factor in (
            secret.upper_power, secret.lower_power, secret.upper_loss, secret.lower_loss, secret.contact, secret.conductivity,
        ):  # fmt: skip
            assert 0.15 <= abs(factor - 1) <= 0.23
        assert secret.upper_power != secret.lower_power
    assert hidden(3) == hidden(3)
    assert hidden(3) != hidden(4)


@pytest.mark.parametrize("seed", [1, 2, 5])
def test_its_readings_differ_from_the_prediction_and_are_yet_plausible(
    made: tuple[Job, Recipe], seed: int
) -> None:
    job, recipe = made
    press = heated(job, recipe, seed)
    set_s = next(t for t in range(0, 7200, 5) if press.at_set(t))
    cool_s = set_s + recipe.dwell_s
    press.cool_on(cool_s)
    differences = []
    for t in range(30, int(cool_s + 2 * recipe.cooling_s), 75):
        line = Timeline(0.0, float(set_s) if t >= set_s else None, cool_s if t >= cool_s else None)
        for slot in (*PLATENS, "edge_reading"):
            judged = judge_reading(job, recipe, line, slot, press.read(slot, t), t)
            assert judged.plausible, (slot, t, judged.sentence)
        if t < set_s:
            point = min(recipe.curve, key=lambda p, t=t: abs(p.t_s - t))
            differences.append(abs(press.read("upper_reading", t) - point.upper_K))
    assert max(differences) > 3.0


@pytest.mark.parametrize("seed", [2, 5])
def test_the_computed_upper_end_is_never_colder_than_the_true_inside(
    made: tuple[Job, Recipe], seed: int
) -> None:
    job, recipe = made
    press = heated(job, recipe, seed)
    set_s = next(float(t) for t in range(0, 7200, 5) if press.at_set(t))
    cool_s = set_s + recipe.dwell_s
    press.cool_on(cool_s)
    line = Timeline(0.0, set_s, cool_s)
    told: list[Told] = []
    opened = None
    for t in range(int(cool_s) + 20, int(cool_s + 3 * recipe.cooling_s), 30):
        told += [Told(slot, press.read(slot, t), float(t), True) for slot in PLATENS]
        upper_K = inside_now(job, recipe, line, told, t + 10.0).hottest_upper_K
        assert upper_K >= press.inside_hottest(t + 10.0)
        if upper_K <= recipe.value_si("release_temperature"):
            opened = t
            break
    assert opened is not None, "the gate would never open"


def test_readings_are_a_function_of_time_and_commands_only(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    one, two = heated(job, recipe, 7, 100.0), heated(job, recipe, 7, 100.0)
    forward = [one.read("upper_reading", t) for t in range(0, 1500, 100)]
    backward = [two.read("upper_reading", t) for t in range(1400, -1, -100)][::-1]
    assert forward == backward
    assert forward[0] == pytest.approx(job.shop_degC + ZERO_C_K, abs=2)


def test_the_display_shows_whole_degrees_and_the_gauge_what_was_set(made: tuple[Job, Recipe]) -> None:
    job, recipe = made
    press = heated(job, recipe, 2)
    shown = press.read("lower_reading", 333.3) - ZERO_C_K
    assert shown == pytest.approx(round(shown), abs=1e-9)
    assert press.read("gauge_reading", 10.0) == 0
    press.pressure_on(20.0, 2e5)
    press.vent(50.0)
    assert [press.read("pressure_reading", t) for t in (19.0, 21.0, 49.0, 50.0)] == [0, 2e5, 2e5, 0]
    with pytest.raises(KeyError):
        press.read("cycle_time", 1.0)


def test_commands_that_cannot_be_are_refused() -> None:
    press = SimulatedPress(job_named(JOBS[0]))
    with pytest.raises(ValueError, match="no set temperatures"):
        press.heat_on(0.0)
    press.enter("upper_temperature", 453.15)
    press.enter("lower_temperature", 453.15)
    press.heat_on(100.0)
    with pytest.raises(ValueError, match="past"):
        press.heat_on(50.0)
