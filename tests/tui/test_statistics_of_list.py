"""A list of readings through the command line: handbook, peers, and what cannot be."""

from __future__ import annotations

import itertools
import json
import random
import statistics
from collections.abc import Callable
from pathlib import Path

import pytest
from scipy.stats import binomtest

from tui.main import run

Told = Callable[..., tuple[int, str]]
HANDBOOK = "49.6, 47.6 49.9;51.3 47.8 51.2 52.6 52.4 53.6 52.1"


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Told:
    def play(*arguments: object) -> tuple[int, str]:
        with pytest.raises(SystemExit) as left:
            run(["statistics", *map(str, arguments)])
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out + shown.err

    return play


def test_the_handbook_s_readings(told: Told) -> None:
    code, out = told("--values", HANDBOOK, "--low", 45, "--high", 56, "--json")
    found = json.loads(out)
    assert code == 0
    # class: printed -- NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
    assert (found["chart"]["low"], found["chart"]["high"]) == pytest.approx((45.8159, 55.8041), abs=1e-4)
    # class: printed -- NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
    assert found["chart"]["range_high"] == pytest.approx(6.1347, abs=1e-4)
    sigma = (found["chart"]["high"] - 50.81) / 3
    # class: analytic -- nearer limit over three sigma
    assert found["cpk"] == pytest.approx(min(56 - 50.81, 50.81 - 45) / 3 / sigma)
    assert "provisional" in told("--values", HANDBOOK)[1]


@pytest.mark.parametrize("seed", range(4))
def test_a_file_of_readings_and_where_it_signals(told: Told, tmp_path: Path, seed: int) -> None:
    draw = random.Random(seed)
    points = [round(draw.gauss(-5, 2), 6) for _ in range(30)]
    points[draw.randrange(5, 30)] += 60
    file = tmp_path / "readings.txt"
    file.write_text("# cycle times\n" + "\n".join(map(str, points)))
    code, out = told("--file", file, "--json", "--exact-constants")
    found = json.loads(out)
    mean = statistics.fmean(points)
    reach = 3 * statistics.fmean(abs(b - a) for a, b in itertools.pairwise(points)) / 1.1283791671
    # class: peer library -- statistics.fmean, statistics.stdev
    assert found["chart"]["high"] == pytest.approx(mean + reach)
    # class: peer library -- statistics.stdev
    assert found["overall_sigma"] == pytest.approx(statistics.stdev(points))
    beyond = [at for at, x in enumerate(points) if abs(x - mean) > reach]
    assert [s["at"] for s in found["signals"] if s["rule"] == "beyond_3"] == beyond
    assert beyond
    assert code == 1


@pytest.mark.parametrize(("passed", "tried", "percent"), [(17, 23, 95), (3, 3, 90), (0, 41, 99)])
def test_joints_passed_and_tried(told: Told, passed: int, tried: int, percent: float) -> None:
    out = told("--passed", passed, "--tried", tried, "--confidence", percent, "--json")[1]
    found = json.loads(out)["pass_rate"]
    for method in ("wilson", "exact"):
        peer = binomtest(passed, tried).proportion_ci(percent / 100, method)
        # class: peer library -- scipy.stats.binomtest
        assert found[method] == pytest.approx((peer.low, peer.high), abs=1e-9)


def test_capability_from_mean_and_spread(told: Told) -> None:
    out = told("--mean", 10.1, "--sigma", 0.2, "--high", 10.6, "--json")[1]
    assert json.loads(out)["cpk"] == pytest.approx(0.5 / 0.6)  # class: analytic -- one term


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--values", "49.6 47.6 x"), "line 1: 'x' is not a number"),
        (("--values", "49,6 47,6"), "one number or two"),
        (("--values", " "), "no number"),
        (("--values", "nan 1"), "not a number"),
        (("--values", "5 5 5", "--low", "4"), "Without spread"),
        (("--values", "1 2 3", "--low", "4", "--high", "3"), "must lie below"),
        (("--mean", "10", "--sigma", "0", "--low", "4"), "Without spread"),
        (("--mean", "10", "--sigma", "1"), "lower or an upper limit"),
        (("--low", "4"), "--values"),
        (("--passed", "5", "--tried", "4"), "number tried"),
        (("--passed", "0", "--tried", "0"), "no pass rate"),
        (("--passed", "2.5", "--tried", "4"), "whole number"),
        (("--passed", "2"), "--tried"),
        (("--values", "1 2", "--belt", "any"), "not both"),
        (("--file", "/no/such/file"), "there is no file"),
    ],
)
def test_what_has_no_statistic_is_refused_in_one_sentence(
    told: Told, arguments: tuple[str, ...], words: str
) -> None:
    code, out = told(*arguments)
    assert code == 2
    assert words.lower() in out.lower()
    assert out.count("\n") == 1


def test_equal_readings_signal_nothing(told: Told) -> None:
    code, out = told("--values", "5 " * 12, "--all-rules")
    assert code == 0
    assert "no spread recorded" in out
