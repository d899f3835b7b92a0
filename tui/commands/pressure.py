"""`loopwright pressure`: from the gauge to the belt, or back."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click

from tui.commands.job_file import read_whole
from tui.commands.options import as_json, between, job_argument, needed, print_json, works_bench
from tui.commands.with_unit import measured

_area = between(0, 100)
_bar = measured(0, 1000, "pressure", "bar")


@click.command(
    "pressure",
    short_help="Pressure on the belt from the gauge, or back.",
    epilog="Exit codes: 0 computed; 1 more than press or belt may have; 2 bad input.",
)
@job_argument
@click.option("--gauge", type=measured(-1000, 1000, "pressure", "bar"), help="Pressure at the gauge, bar.")
@click.option("--on-belt", type=_bar, help="In place of --gauge: wanted pressure on the belt, bar.")
@click.option("--bag", type=_area, help="Effective area of the bag as its maker states it, m².")
@click.option("--belt", type=_area, help="Area of belt under the plate, m².")
@click.option("--plate", type=_area, help="Area of the plate, m².  [default: that of the belt]")
@click.option(
    "--weight", type=between(0, 100_000), default=0.0, show_default=True, help="Resting on the belt, N."
)
@click.option("--press-limit", type=_bar, help="Most that the press may have at the gauge, bar.")
@click.option("--belt-limit", type=_bar, help="Most that the belt may have, bar.")
@works_bench
@as_json
@click.pass_context
def command(ctx: click.Context, /, job: Path | None, as_json: bool, **given: Any) -> None:
    """Bag force over the area of belt under the plate. Options overrule the JOB file.

    A JOB file gives bag, plate, belt and limits; without --gauge and --on-belt its recipe gives the gauge.
    """
    from assistant.recipe.not_computable import NotComputable
    from assistant.recipe.pressure import belt_pressure, line_pressure

    at = given if job is None else _with_job(job, given)
    bag_m2, belt_m2 = needed(bag=at["bag"], belt=at["belt"])
    plate_m2 = belt_m2 if at["plate"] is None else at["plate"]
    if (at["gauge"] is None) == (at["on_belt"] is None):
        raise click.UsageError("Give --gauge or --on-belt, one of them.")
    limits = {
        f"{name}_limit_Pa": math.inf if at[f"{name}_limit"] is None else at[f"{name}_limit"] * 1e5
        for name in ("press", "belt")
    }
    forward = at["gauge"] is not None
    compute = belt_pressure if forward else line_pressure
    wanted_Pa = (at["gauge"] if forward else at["on_belt"]) * 1e5
    found = compute(wanted_Pa, bag_m2, belt_m2, plate_m2, weight_N=at["weight"])
    reason = ""
    try:
        compute(wanted_Pa, bag_m2, belt_m2, plate_m2, weight_N=at["weight"], **limits)
    except NotComputable as refusal:
        reason = str(refusal)
    if as_json:
        print_json(
            {
                "bag_m2": bag_m2, "belt_m2": belt_m2, "plate_m2": plate_m2, "weight_N": at["weight"],
                **{name: None if math.isinf(value) else value for name, value in limits.items()},
                "force_N": found.force_N, "on_belt_Pa": found.belt_Pa, "gauge_Pa": found.line_Pa,
                "feasible": not reason, "reason": reason,
            }
        )  # fmt: skip
    else:
        click.echo(f"At the gauge   {found.line_Pa / 1e5:.2f} bar")
        click.echo(f"On the belt    {found.belt_Pa / 1e5:.2f} bar, {found.force_N / 1e3:.2f} kN")
        if reason:
            click.echo(f"No: {reason}")
    ctx.exit(1 if reason else 0)


def _with_job(path: Path, given: dict[str, Any]) -> dict[str, Any]:
    whole, _, _ = read_whole(path)
    template, sheet = whole.template, whole.belt.sheet
    length_m, width_m = template.plate_length_mm / 1e3, whole.belt.width_mm / 1e3
    of_job = {
        "bag": whole.press.bag_area_mm2 / 1e6, "belt": length_m * width_m,
        "plate": length_m * max(template.channel_width_mm / 1e3, width_m),
        "press_limit": whole.press.max_pressure_bar, "belt_limit": sheet.max_pressure_bar,
    }  # fmt: skip
    at = given | {name: value for name, value in of_job.items() if given[name] is None}
    if at["gauge"] is None and at["on_belt"] is None:
        from assistant.recipe.outcome import Recipe
        from assistant.recipe.recipe import compute_recipe

        recipe = compute_recipe(whole)
        if isinstance(recipe, Recipe):
            at["gauge"] = recipe.value_si("pressure") / 1e5
    return at
