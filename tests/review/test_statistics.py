"""Charts, run rules, pass rates against the handbook, exact probabilities and simulation."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.stats import binom, norm

from assistant.review.statistics import (
    D2,
    D4,
    RULES,
    NoStatistic,
    chart,
    cpk,
    pass_rate,
    signals,
)

HANDBOOK = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_the_handbook_s_example() -> None:
    made = chart(HANDBOOK)
    # class: printed -- NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
    assert (made.centre, made.mean_range) == pytest.approx((50.81, 1.8778), abs=1e-4)
    # class: printed -- NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
    assert (made.high, made.low) == pytest.approx((55.8041, 45.8159), abs=1e-4)
    assert made.range_high == pytest.approx(
        6.1347, abs=1e-4
    )  # class: printed -- NIST/SEMATECH e-Handbook, 6.3.2.2
    assert made.provisional
    assert signals(made) == ()


def test_the_constants_are_exact() -> None:
    # class: analytic -- mean and spread of the distance of two normal values
    assert pytest.approx((1.128379, 2.658681, 3.266532), abs=1e-6) == (D2, 3 / D2, D4)
    made = chart(HANDBOOK, D2, D4)
    # class: analytic -- mean and three mean ranges over d2
    assert (made.high, made.range_high) == pytest.approx((50.81 + 2.658681 * 16.9 / 9, 3.266532 * 16.9 / 9))


def test_too_few_or_equal_points_signal_nothing() -> None:
    assert (chart([5.0]).low, chart([5.0]).range_high) == (None, None)
    same = chart([5.0] * 12)
    assert same.flat
    assert (same.low, same.high) == (5.0, 5.0)
    assert signals(same, tuple(RULES)) == ()
    assert not chart([float(i % 3) for i in range(20)]).provisional
    for nothing in ([], [1.0, math.nan]):
        with pytest.raises(NoStatistic):
            chart(nothing)


@pytest.mark.parametrize(
    ("rule", "probability"),
    [
        ("beyond_3", 0.002700),  # class: analytic -- two tails of the normal
        ("nine_on_one_side", 0.003906),  # class: analytic -- 2 / 2^9
        ("eight_on_one_side", 0.007813),  # class: analytic -- 2 / 2^8
        ("six_steady", 0.002778),  # class: analytic -- 2 / 6!
        ("fourteen_alternating", 0.004574),  # class: analytic -- zigzag number of 14, twice, over 14!
        ("two_of_three_beyond_2", 0.003058),  # class: analytic -- binomial tails, both sides
        ("four_of_five_beyond_1", 0.005532),  # class: analytic -- binomial tails, both sides
        ("fifteen_within_1", 0.003261),  # class: analytic -- 0.6827^15
        ("eight_beyond_1", 0.000102),  # class: analytic -- 0.3173^8, sides not told apart
    ],
)
def test_a_rule_signals_as_often_as_chance_makes_it(rule: str, probability: float) -> None:
    window, draws = RULES[rule].window, 120_000
    z = np.random.default_rng(7).standard_normal((draws, window))
    found = sum(RULES[rule].signals(row) for row in z.tolist()) / draws
    sigma = math.sqrt(probability / draws)
    assert found == pytest.approx(probability, abs=4 * sigma)


def test_two_of_the_probabilities_in_closed_form() -> None:
    beyond = norm.sf(2)
    # class: peer library -- scipy.stats.binom
    assert 2 * binom.sf(1, 3, beyond) == pytest.approx(0.003058, abs=5e-6)
    assert 2 * binom.sf(3, 5, norm.sf(1)) == pytest.approx(
        0.005532, abs=5e-6
    )  # class: peer library -- scipy.stats


def test_rules_signal_where_they_should() -> None:
    draw = random.Random(3)
    steady = [100 + draw.gauss(0, 1) for _ in range(25)]
    assert signals(chart([*steady, 120.0])) != ()
    assert signals(chart([*steady, 120.0]))[-1].at == 25
    drifting = [100.0, 101.0] * 5 + [103.0, 104.0] * 5
    assert any(s.rule == "nine_on_one_side" for s in signals(chart(drifting)))
    with pytest.raises(KeyError):
        signals(chart(steady), ("no_such_rule",))


@pytest.mark.parametrize(
    ("passed", "tried", "wilson", "exact"),
    [
        (0, 10, (0, 0.277533), (0, 0.308497)),  # class: peer library -- statsmodels proportion_confint
        (9, 10, (0.595850, 0.982124), (0.554984, 0.997471)),  # class: peer library -- statsmodels
        (10, 10, (0.722467, 1), (0.691503, 1)),  # class: peer library -- statsmodels
        (29, 30, (0.833296, 0.994091), (0.827831, 0.999156)),  # class: peer library -- statsmodels
        (48, 50, (0.865399, 0.988961), (0.862862, 0.995119)),  # class: peer library -- statsmodels
        (1, 1, (0.206549, 1), (0.025, 1)),  # class: peer library -- statsmodels
    ],
)
def test_pass_rates(passed: int, tried: int, wilson: tuple[float, float], exact: tuple[float, float]) -> None:
    found = pass_rate(passed, tried)
    assert found.wilson == pytest.approx(wilson, abs=1e-4)
    assert found.exact == pytest.approx(exact, abs=1e-4)


@pytest.mark.parametrize(("passed", "tried"), [(3, 17), (120, 133), (1, 400)])
def test_other_pass_rates_agree_with_a_peer(passed: int, tried: int) -> None:
    from scipy.stats import binomtest

    test = binomtest(passed, tried)
    for method, interval in (
        ("wilson", pass_rate(passed, tried).wilson),
        ("exact", pass_rate(passed, tried).exact),
    ):
        peer = test.proportion_ci(0.95, method)
        # class: peer library -- scipy.stats.binomtest
        assert interval == pytest.approx((peer.low, peer.high), abs=1e-9)


def test_what_has_no_statistic_is_refused() -> None:
    for passed, tried in ((0, 0), (5, 4), (-1, 4)):
        with pytest.raises(NoStatistic):
            pass_rate(passed, tried)


def test_capability() -> None:
    assert cpk(10.1, 0.2, 9.4, 10.6) == pytest.approx(0.83333, abs=1e-5)  # class: analytic -- 0.5 / 0.6
    assert cpk(10.1, 0.2, low=9.4) == pytest.approx(0.7 / 0.6)  # class: analytic -- one term
    for wrong in ((10.1, 0.0, 9.4, 10.6), (10.1, 0.2, None, None), (10.1, 0.2, 10.6, 9.4)):
        with pytest.raises(NoStatistic):
            cpk(*wrong)
