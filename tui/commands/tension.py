"""`loopwright tension`: marks, pull and shaft load, from options or a job file."""

from __future__ import annotations

import math
from pathlib import Path

import click

from tui.commands.job_file import read_partial
from tui.commands.options import as_json, between, job_argument, needed, print_json


@click.command(
    "tension",
    short_help="Marks and pull for fitting the belt.",
    epilog="Exit codes: 0 computed; 2 bad input.",
)
@job_argument
@click.option("--elongation", type=between(0, 20), help="Elongation, %.")
@click.option("--k1", type=between(0.01, 1000), help="Relaxed pull at 1 %, N per mm width (ISO 21181).")
@click.option("--width", type=between(1, 5000), help="Belt width, mm.")
@click.option(
    "--wrap", type=between(1, 360), default=180.0, show_default=True, help="Wrap on the shaft, degrees."
)
@click.option(
    "--apart",
    type=between(10, 10_000),
    default=1000.0,
    show_default=True,
    help="Marks on the slack belt, mm apart.",
)
@as_json
def command(
    job: Path | None,
    elongation: float | None,
    k1: float | None,
    width: float | None,
    wrap: float,
    apart: float,
    as_json: bool,
) -> None:
    """How far the marks must stand apart, and what pulls then.

    Without --k1 only the marks. Options overrule the JOB file.
    """
    from assistant.recipe.tension import marks, pull, shaft_load

    known = read_partial(job)
    allowed = None
    if known.belt is not None:
        sheet = known.belt.sheet
        allowed = (sheet.elongation_min_percent / 100, sheet.elongation_max_percent / 100)
        k1 = sheet.k1_N_per_mm if k1 is None else k1
        width = known.belt.width_mm if width is None else width
    stretch = needed(elongation=known.number("elongation") if elongation is None else elongation / 100)[0]
    tight_m = marks(stretch, apart / 1e3, allowed)
    result = {"elongation": stretch, "marks_slack_m": apart / 1e3, "marks_tight_m": tight_m}
    if k1 is not None:
        strand_N = pull(k1 * 1e3, stretch, needed(width=width)[0] / 1e3, allowed)
        result |= {
            "k1_N_per_m": k1 * 1e3,
            "pull_N": strand_N,
            "shaft_load_N": shaft_load(strand_N, strand_N, math.radians(wrap)),
        }
    if as_json:
        print_json(result)
        return
    click.echo(f"Marks          {apart:g} mm apart slack, {tight_m * 1e3:.1f} mm tight ({stretch * 100:g} %)")
    if "pull_N" in result:
        click.echo(f"Pull           {result['pull_N']:.0f} N in each strand")
        click.echo(f"Shaft load     {result['shaft_load_N']:.0f} N at {wrap:g}° wrap, at rest")
