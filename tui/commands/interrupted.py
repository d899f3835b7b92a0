"""`loopwright interrupted FILE.toml`: where a cycle that was cut short stands, and what to do now."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from tui.commands.heat_file import is_heat_file
from tui.commands.job_file import as_understood, read_whole
from tui.commands.options import a_path, as_json, between, print_json, works_bench

if TYPE_CHECKING:
    from assistant.recipe.what_now import Kind

_seconds = between(0, 1_000_000)


@click.command(
    "interrupted",
    short_help="What to do when a cycle was cut short.",
    epilog="Exit codes: 0 go on as said; 1 no recipe can work, or cut out and redo; 2 bad input.",
)
@click.argument("job", type=a_path)
@click.option(
    "--kind",
    type=click.Choice(["power", "pressure", "opened"]),
    required=True,
    help="What happened: power lost, pressure lost, opened early.",
)
@click.option("--heat-on", type=_seconds, default=0.0, show_default=True, help="When the heat went on, s.")
@click.option("--at", type=_seconds, required=True, help="When it happened, s, on the same clock.")
@click.option("--at-set", type=_seconds, help="When both platens were at set temperature, s, if they were.")
@click.option("--cool-on", type=_seconds, help="When cooling began, s, if it had.")
@click.option("--resumed", type=_seconds, help="When it came back, or the time now, s.")
@works_bench
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    job: Path,
    kind: str,
    heat_on: float,
    at: float,
    at_set: float | None,
    cool_on: float | None,
    resumed: float | None,
    as_json: bool,
) -> None:
    """Where the weld stands after an interruption: heat again, hold, cool, or cut out and redo.

    JOB: a job file, or a file that gives the heating layer by layer ('loopwright schema heat'). With the latter only
    the lay-up is varied, and --at-set has no meaning since the platens are given.

    JSON: decision, as_planned (by the planning values alone), agreement and enough (share of 32 ways in which
    belt, contact, sensors and press may be off), fused_s with its 5 and 95 % values, needed_s, coldest_K,
    dwell_s, served_s, model_rest_s (by the holding time alone), hottest_K, below_damage_K, stays_fused_s, rest_s, sentences.
    """
    from assistant.recipe.during import Timeline
    from assistant.recipe.outcome import Infeasible
    from assistant.recipe.recipe import compute_recipe
    from assistant.recipe.what_now import what_now

    if is_heat_file(job):
        _of_heat_file(ctx, job, cast("Kind", kind), (heat_on, at, at_set, cool_on, resumed), in_json=as_json)
        return
    whole, values, told = read_whole(job)
    recipe = compute_recipe(whole)
    if isinstance(recipe, Infeasible):
        click.echo(f"No recipe: {recipe.reason}\nNearest change: {recipe.nearest_change}", err=as_json)
        ctx.exit(1)
    timeline = Timeline(heat_on, at_set, cool_on)
    found = what_now(whole, recipe, timeline, cast("Kind", kind), at, resumed)
    if as_json:
        times = {**asdict(timeline), "at_s": at, "resumed_s": resumed}
        print_json({"inputs": {**as_understood(values), **times}, "taken_as_proposed": told, **asdict(found)})
    else:
        click.echo(f"{found.decision.capitalize()}.")
        for sentence in found.sentences:
            click.echo(sentence)
    ctx.exit(1 if found.decision == "cut out and redo" else 0)


def _of_heat_file(
    ctx: click.Context,
    path: Path,
    kind: Kind,
    times: tuple[float, float, float | None, float | None, float | None],
    *,
    in_json: bool,
) -> None:
    from assistant.recipe.explicit import load_heat
    from assistant.recipe.not_computable import NotComputable
    from assistant.recipe.what_now_explicit import what_now_explicit

    heat_on, at, at_set, cool_on, resumed = times
    if at_set is not None:
        raise click.UsageError("--at-set is for job files: this file gives its platens itself.")
    if at < heat_on:
        raise NotComputable("That was before the heat went on: correct --at or --heat-on.")
    whole, plan = load_heat(path)
    back_s, cool_s = (None if t is None else t - heat_on for t in (resumed, cool_on))
    found = what_now_explicit(plan, kind, at - heat_on, back_s, cool_s)
    if in_json:
        given = {"heat_on_s": heat_on, "at_s": at, "cool_on_s": cool_on, "resumed_s": resumed}
        print_json({"inputs": {**whole.model_dump(), **given}, **asdict(found)})
    else:
        click.echo(f"{found.decision.capitalize()}.")
        for sentence in found.sentences:
            click.echo(sentence)
    ctx.exit(1 if found.decision == "cut out and redo" else 0)
