"""`loopwright readings JOB.toml READINGS.toml`: what the press should show, and what departing from it suggests."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from tui.commands.heat_file import is_heat_file
from tui.commands.job_file import as_understood, read_whole
from tui.commands.options import a_path, as_json, print_json, works_bench

_ZERO_C_K = 273.15


@click.command(
    "readings",
    short_help="Judge readings of a cycle, and say what they suggest.",
    epilog="Exit codes: 0 all within their bands, and together as of a press in order; 1 otherwise; 2 bad input.",
)
@click.argument("job", type=a_path)
@click.argument("readings", type=a_path)
@works_bench
@as_json
@click.pass_context
def command(ctx: click.Context, /, job: Path, readings: Path, as_json: bool) -> None:
    """Each reading of a READINGS file against its band, and the causes that explain all of them best.

    The file: heat_on_s, at_set_s and cool_on_s (the last two where known), then [[readings]] with sensor
    ('upper', 'lower', 'edge'), t_s and value_degC; without value_degC only the band is given. Each cause is
    simulated with the job's own press and belt; its misfit is the sum of squared deviations over what readings
    scatter by anyway, its share that of the evidence. Bands allow for a press that is not known well; all readings
    together say more: where a press in order has no more than 5 % of the evidence, they are not consistent. 'loopwright schema readings' prints the file's schema.

    JOB may also be a file that gives the heating layer by layer ('loopwright schema heat'): then there are bands of
    both platens, and no causes.
    """
    from assistant.bench.readings_file import read_readings, with_values
    from assistant.recipe.causes_of_readings import weigh
    from assistant.recipe.during import Timeline, expected_reading
    from assistant.recipe.outcome import Infeasible
    from assistant.recipe.recipe import compute_recipe

    if is_heat_file(job):
        _of_heat_file(ctx, job, readings, in_json=as_json)
        return
    whole, values, told = read_whole(job)
    given = read_readings(readings)
    recipe = compute_recipe(whole)
    if isinstance(recipe, Infeasible):
        click.echo(f"No recipe: {recipe.reason}\nNearest change: {recipe.nearest_change}", err=as_json)
        ctx.exit(1)
    rows: list[dict[str, Any]] = []
    for one in sorted(given.readings, key=lambda reading: reading.t_s):
        begun = [None if at is None or at > one.t_s else at for at in (given.at_set_s, given.cool_on_s)]
        band = expected_reading(
            whole, recipe, Timeline(given.heat_on_s, begun[0], begun[1]), f"{one.sensor}_reading", one.t_s
        )
        value_K = None if one.value_degC is None else one.value_degC + _ZERO_C_K
        inside = None if value_K is None else band.low_K <= value_K <= band.high_K
        rows.append(
            {"sensor": one.sensor, "t_s": one.t_s, "value_K": value_K, "within": inside, **asdict(band)}
        )
    timeline = Timeline(given.heat_on_s, given.at_set_s, given.cool_on_s)
    weighed = weigh(whole, recipe, timeline, with_values(given))
    outside = any(row["within"] is False for row in rows)
    if as_json:
        inputs = {**as_understood(values), **given.model_dump(exclude={"schema_version"})}
        print_json(
            {
                "inputs": inputs,
                "taken_as_proposed": told,
                "all_within": not outside,
                "consistent": weighed.consistent,
                "readings": rows,
                **{f"weighed_{key}": value for key, value in asdict(weighed).items()},
                "sentence": weighed.sentence,
            }
        )
    else:
        _print(rows)
        for cause in weighed.causes:
            click.echo(f"{cause.share:>5.0%}  {cause.sentence} (misfit {cause.misfit:.1f})")
        click.echo(
            f"{weighed.in_order_share:>5.0%}  everything is in order (misfit {weighed.misfit_in_order:.1f}, {weighed.readings} readings)"
        )
        if weighed.unnamed_share >= 0.005:
            click.echo(
                f"{weighed.unnamed_share:>5.0%}  other causes, none of which fits clearly better than that"
            )
        if not weighed.consistent:
            click.echo(f"\nTaken together, the readings do not suit a press in order. {weighed.sentence}")
    ctx.exit(1 if outside or not weighed.consistent else 0)


def _of_heat_file(ctx: click.Context, path: Path, readings: Path, *, in_json: bool) -> None:
    """Bands of a heating given in full; whether each reading lies in its own."""
    from assistant.bench.readings_file import read_readings
    from assistant.recipe.explicit import load_heat
    from assistant.recipe.readings_explicit import expected_explicit

    whole, plan = load_heat(path)
    given = read_readings(readings)
    cool_s = None if given.cool_on_s is None else given.cool_on_s - given.heat_on_s
    rows: list[dict[str, Any]] = []
    for one in sorted(given.readings, key=lambda reading: reading.t_s):
        if one.sensor == "edge":
            raise click.UsageError(
                "A file of layers says nothing of the belt's edge: leave out readings of 'edge', or give a job file."
            )
        band = expected_explicit(plan, one.sensor, one.t_s - given.heat_on_s, cool_s)
        value_K = None if one.value_degC is None else one.value_degC + _ZERO_C_K
        inside = None if value_K is None else band.low_K <= value_K <= band.high_K
        rows.append(
            {"sensor": one.sensor, "t_s": one.t_s, "value_K": value_K, "within": inside, **asdict(band)}
        )
    outside = any(row["within"] is False for row in rows)
    if in_json:
        inputs = {**whole.model_dump(), **given.model_dump(exclude={"schema_version"})}
        print_json({"inputs": inputs, "all_within": not outside, "readings": rows})
    else:
        _print(rows)
    ctx.exit(1 if outside else 0)


def _print(rows: list[dict[str, Any]]) -> None:
    for row in rows:
        mean, low, high = (row[key] - _ZERO_C_K for key in ("mean_K", "low_K", "high_K"))
        span = f"{mean:>4.0f} °C expected, {low:.0f} to {high:.0f}"
        if row["value_K"] is None:
            click.echo(f"{row['t_s']:>7.0f} s  {row['sensor']:<6}         {span}")
        else:
            verdict = "" if row["within"] else "   OUTSIDE"
            shown = row["value_K"] - _ZERO_C_K
            click.echo(f"{row['t_s']:>7.0f} s  {row['sensor']:<6}{shown:>5.0f} °C  {span}{verdict}")
    click.echo()
