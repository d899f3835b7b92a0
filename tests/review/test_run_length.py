"""Mean run lengths to a false alarm: printed ones, and simulated charts for sets of rules that are in no table."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from assistant.review.run_length import mean_run_length
from assistant.review.statistics import RULES

ONE, TWO, FOUR, EIGHT, NINE = (
    "beyond_3",
    "two_of_three_beyond_2",
    "four_of_five_beyond_1",
    "eight_on_one_side",
    "nine_on_one_side",
)


@pytest.mark.parametrize(
    ("rules", "points"),
    [
        ((ONE,), 370.40),  # class: analytic -- one over two tails of the normal
        ((ONE, TWO), 225.44),  # class: printed -- Champ & Woodall, Technometrics 29 (1987), table 1
        ((ONE, FOUR), 166.05),  # class: printed -- Champ & Woodall, Technometrics 29 (1987), table 1
        ((ONE, EIGHT), 152.73),  # class: printed -- Champ & Woodall, Technometrics 29 (1987), table 1
        (
            (ONE, TWO, FOUR, EIGHT),
            91.75,
        ),  # class: printed -- Champ & Woodall, Technometrics 29 (1987), table 1
        ((ONE, NINE), 216.70),  # class: analytic -- Markov chain, computed apart
        ((EIGHT,), 255.0),  # class: analytic -- 2^8 - 1 throws to eight heads or tails in a row
    ],
)
def test_run_lengths_are_those_of_the_tables(rules: tuple[str, ...], points: float) -> None:
    assert mean_run_length(rules) == pytest.approx(points, abs=0.006)


@pytest.mark.parametrize("rules", [(TWO, FOUR), (ONE, FOUR, NINE)])
def test_a_simulated_chart_runs_as_long(rules: tuple[str, ...]) -> None:
    z = np.random.default_rng(5).standard_normal(60_000).tolist()
    wanted = [RULES[rule] for rule in rules]
    lengths, began = [], 0
    for at in range(len(z)):
        run = z[began : at + 1]
        if any(len(run) >= rule.window and rule.signals(run[-rule.window :]) for rule in wanted):
            lengths.append(len(run))
            began = at + 1
    spread = float(np.std(lengths)) / len(lengths) ** 0.5
    # class: analytic -- simulation of the rules themselves, four standard errors
    assert mean_run_length(rules) == pytest.approx(float(np.mean(lengths)), abs=4 * spread)


def test_more_rules_cry_out_sooner_and_rules_of_order_have_no_such_number() -> None:
    lengths = [mean_run_length(rules) for rules in itertools.accumulate([(ONE,), (TWO,), (FOUR,), (NINE,)])]
    assert lengths == sorted(lengths, key=lambda x: -(x or 0.0))
    assert mean_run_length(("six_steady",)) is None
    with pytest.raises(KeyError):
        mean_run_length(("no_such_rule",))
