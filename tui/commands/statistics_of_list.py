"""`loopwright statistics` of numbers that are given, in place of the sessions on disk."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import needed, print_json

if TYPE_CHECKING:
    from assistant.review.list_of_readings import Told
    from assistant.review.statistics import PassRate

ASKED = ("values", "file", "mean", "sigma", "passed", "tried", "low", "high")


def tell(given: dict[str, Any], *, rules: tuple[str, ...], exact: bool, as_json: bool) -> bool:
    """Prints what the given numbers allow; whether a chart signals. Raises: BadData, NoStatistic, click.UsageError."""
    from assistant.review.list_of_readings import numbers_in, read_numbers, told_of
    from assistant.review.run_length import mean_run_length
    from assistant.review.statistics import D2, D4, PRINTED_D2, PRINTED_D4, RULES, cpk, pass_rate

    listed = given["values"] is not None or given["file"] is not None
    direct = given["mean"] is not None or given["sigma"] is not None
    if (given["values"] is not None) + (given["file"] is not None) + direct > 1:
        raise click.UsageError("Give one of --values, --file and --mean with --sigma.")
    low, high = given["low"], given["high"]
    if not listed and not direct and (low is not None or high is not None):
        raise click.UsageError("Give --values, --file, or --mean with --sigma, for limits to be judged by.")
    result: dict[str, Any] = {}
    made: Told | None = None
    if listed:
        points = (
            numbers_in(given["values"], "--values") if given["file"] is None else read_numbers(given["file"])
        )
        d2, d4 = (D2, D4) if exact else (PRINTED_D2, PRINTED_D4)
        made = told_of(points, rules, low, high, d2, d4)
        result |= {"d2": d2, "D4": d4, **asdict(made)}
        result |= {"rules": rules, "mean_points_to_a_false_alarm": mean_run_length(rules)}
        for signal in result["signals"]:
            signal["window"] = RULES[signal["rule"]].window
    if direct:
        mean, sigma = needed(mean=given["mean"], sigma=given["sigma"])
        result |= {"mean": mean, "sigma": sigma, "cpk": cpk(mean, sigma, low, high)}
    if low is not None or high is not None:
        result |= {"low_limit": low, "high_limit": high}
    rate: PassRate | None = None
    if given["passed"] is not None or given["tried"] is not None:
        passed, tried = needed(passed=given["passed"], tried=given["tried"])
        confidence = given["confidence"] / 100
        rate = pass_rate(int(passed), int(tried), confidence)
        result |= {"confidence": confidence, "pass_rate": asdict(rate)}
    if as_json:
        print_json(result)
    else:
        _print(made, result, rate)
    return made is not None and bool(made.signals)


def _print(made: Told | None, result: dict[str, Any], rate: PassRate | None) -> None:
    if made is not None:
        chart = made.chart
        click.echo(f"Mean           {chart.centre:g} of {len(chart.points)}")
        if chart.low is None or chart.high is None:
            click.echo("Limits         one point, no limits")
        elif chart.flat:
            click.echo("Limits         no spread recorded")
        else:
            provisional = ", provisional" if chart.provisional else ""
            click.echo(f"Limits         {chart.low:.6g} to {chart.high:.6g}{provisional}")
            click.echo(f"Moving range   {chart.mean_range:.6g}, up to {chart.range_high:.6g}")
        for signal in made.signals:
            click.echo(f"SIGNAL at point {signal.at + 1}: {chart.points[signal.at]:g}, {signal.words}")
        if length := result["mean_points_to_a_false_alarm"]:
            click.echo(f"False alarms   one in {length:.0f} points by these rules, where nothing has changed")
    if result.get("cpk") is not None:
        click.echo(f"Cpk            {result['cpk']:.4f}")
    if rate is not None:
        click.echo(f"Passed         {rate.passed} of {rate.tried}, {100 * rate.rate:.1f} %")
        for name, (low, high) in (("Wilson", rate.wilson), ("exact", rate.exact)):
            click.echo(f"  {name:<13}{low:.4f} to {high:.4f} at {result['confidence']:.4g}")
