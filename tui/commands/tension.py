"""`loopwright tension`: marks, pull, shaft load, drive and bending, from options or a job file."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click

from tui.commands.job_file import Partial, read_partial
from tui.commands.options import as_json, between, job_argument, needed, print_json, works_bench
from tui.commands.with_unit import measured

_force = between(0, 10_000_000)


@click.command(
    "tension",
    short_help="Marks and pull for fitting the belt.",
    epilog="Exit codes: 0 computed; 2 bad input.",
)
@job_argument
@click.option("--elongation", type=between(0, 20), help="Elongation, %.")
@click.option(
    "--k1",
    type=measured(0.01, 1000, "tension", "n mm"),
    help="Relaxed pull at 1 %, N per mm width (ISO 21181).",
)
@click.option("--width", type=measured(1, 5000, "length", "mm"), help="Belt width, mm.")
@click.option(
    "--wrap", type=between(0, 3600), default=180.0, show_default=True, help="Wrap on the shaft, degrees."
)
@click.option(
    "--apart",
    type=measured(10, 10_000, "length", "mm"),
    default=1000.0,
    show_default=True,
    help="Marks on the slack belt, mm apart.",
)
@click.option("--effective", type=_force, help="Pull that the drive has to carry, N; with --friction.")
@click.option("--friction", type=between(0, 5), help="Friction between belt and drive pulley.")
@click.option("--tight", type=_force, help="Pull in the tight strand while running, N; with --slack.")
@click.option("--slack", type=_force, help="Pull in the slack strand while running, N.")
@click.option(
    "--pulley",
    type=measured(1, 5000, "length", "mm"),
    help="Diameter of the smallest pulley, mm: bending strain.",
)
@click.option("--thickness", type=measured(0.1, 50, "length", "mm"), help="Belt thickness, mm; for --pulley.")
@click.option(
    "--smallest", type=measured(1, 5000, "length", "mm"), help="Smallest pulley of the data sheet, mm."
)
@works_bench
@as_json
def command(job: Path | None, as_json: bool, **given: Any) -> None:
    """How far the marks must stand apart, and what pulls then.

    Without --k1 only the marks; with --effective and --friction the least pulls that carry it without slip
    (Euler-Eytelwein, constant belt length) and the elongation that gives them; with --pulley the strain of bending.
    For a notched belt of a JOB the elongation is that of its whole notches.
    Without an elongation only what was asked for besides. Options overrule the JOB file.
    """
    known, at = read_partial(job), given
    allowed = None
    if known.belt is not None:
        sheet = known.belt.sheet
        allowed = (sheet.elongation_min_percent / 100, sheet.elongation_max_percent / 100)
        of_job = {
            "k1": sheet.k1_N_per_mm, "width": known.belt.width_mm, "thickness": known.belt.thickness_mm,
            "smallest": sheet.smallest_pulley_mm,
        }  # fmt: skip
        at = at | {name: value for name, value in of_job.items() if at[name] is None}
    stretch = known.number("elongation") if at["elongation"] is None else at["elongation"] / 100
    notched = _notched(known, stretch, allowed) if at["elongation"] is None else {}
    stretch = notched.get("elongation", stretch)
    besides = any(at[name] is not None for name in ("effective", "friction", "tight", "slack", "pulley"))
    if not besides:
        needed(elongation=stretch)
    result: dict[str, Any] = {} if stretch is None else _at_rest(stretch, at, allowed)
    result |= notched | _running(at) | _bent(at)
    result["notes"] = _notes(result)
    if as_json:
        print_json(result)
    else:
        _print(result, at["wrap"])


def _notched(known: Partial, wanted: float | None, allowed: tuple[float, float] | None) -> dict[str, float]:
    """What whole notches make of the elongation wanted, for a job that tells belt and path; empty for others."""
    from assistant.recipe.length import endless

    path_m, belt = known.number("endless_length"), known.belt
    if (
        belt is None
        or belt.guide is None
        or belt.guide.notch_pitch_mm is None
        or not path_m
        or wanted is None
    ):
        return {}
    made = endless(path_m, wanted, belt.guide.notch_pitch_mm / 1e3, allowed)
    return {"wanted_elongation": wanted, "elongation": made.elongation, "notches": made.notches or 0}


def _at_rest(stretch: float, at: dict[str, Any], allowed: tuple[float, float] | None) -> dict[str, float]:
    from assistant.recipe.tension import marks, pull, shaft_load

    tight_m = marks(stretch, at["apart"] / 1e3, allowed)
    result = {"elongation": stretch, "marks_slack_m": at["apart"] / 1e3, "marks_tight_m": tight_m}
    if at["k1"] is not None:
        strand_N = pull(at["k1"] * 1e3, stretch, needed(width=at["width"])[0] / 1e3, allowed)
        wrap = math.radians(at["wrap"])
        result |= {"k1_N_per_m": at["k1"] * 1e3, "width_m": at["width"] / 1e3, "wrap_rad": wrap}
        result |= {"pull_N": strand_N, "shaft_load_N": shaft_load(strand_N, strand_N, wrap)}
    return result


def _running(at: dict[str, Any]) -> dict[str, float]:
    from assistant.recipe.tension import drive, elongation_for, grip, shaft_load

    result: dict[str, float] = {}
    wrap = math.radians(at["wrap"])
    if at["tight"] is not None or at["slack"] is not None:
        tight_N, slack_N = needed(tight=at["tight"], slack=at["slack"])
        result |= {"wrap_rad": wrap, "running_tight_N": tight_N, "running_slack_N": slack_N}
        result["running_shaft_load_N"] = shaft_load(tight_N, slack_N, wrap)
    if at["friction"] is not None:
        result |= {"wrap_rad": wrap, "friction": at["friction"], "grip_ratio": grip(at["friction"], wrap)}
    if at["effective"] is not None:
        friction = needed(friction=at["friction"])[0]
        least = drive(at["effective"], friction, wrap)
        result |= {"effective_N": at["effective"], "tight_N": least.tight_N, "slack_N": least.slack_N}
        result["rest_N"] = least.rest_N
        if at["k1"] is not None and at["width"] is not None:
            result["needed_elongation"] = elongation_for(least.rest_N, at["k1"] * 1e3, at["width"] / 1e3)
    return result


def _bent(at: dict[str, Any]) -> dict[str, float]:
    from assistant.recipe.tension import bending_strain

    if at["pulley"] is None:
        return {}
    thickness = needed(thickness=at["thickness"])[0]
    smallest_m = None if at["smallest"] is None else at["smallest"] / 1e3
    strain = bending_strain(thickness / 1e3, at["pulley"] / 1e3, smallest_m)
    return {"pulley_m": at["pulley"] / 1e3, "thickness_m": thickness / 1e3, "bending_strain": strain}


def _notes(result: dict[str, Any]) -> tuple[str, ...]:
    """Where pulls are told for more elongation than they are in proportion for."""
    from assistant.recipe.tension import linear_notes

    with_pull = [result["elongation"]] if "pull_N" in result else []
    return linear_notes(*with_pull, *(result[key] for key in ("needed_elongation",) if key in result))


def _print(result: dict[str, Any], wrap: float) -> None:
    if "elongation" in result:
        made = f" from {result['notches']} whole notches" if "notches" in result else ""
        click.echo(
            f"Marks          {result['marks_slack_m'] * 1e3:g} mm apart slack, {result['marks_tight_m'] * 1e3:.1f} mm tight "
            f"({result['elongation'] * 100:.3g} %{made})"
        )
    if "pull_N" in result:
        click.echo(f"Pull           {result['pull_N']:.0f} N in each strand")
        click.echo(f"Shaft load     {result['shaft_load_N']:.0f} N at {wrap:g}° wrap, at rest")
    if "running_shaft_load_N" in result:
        click.echo(f"Shaft load     {result['running_shaft_load_N']:.0f} N at {wrap:g}° wrap, running")
    if "grip_ratio" in result:
        click.echo(f"Grip           tight up to {result['grip_ratio']:.3f} times slack without slip")
    if "tight_N" in result:
        stretch = (
            f", {result['needed_elongation'] * 100:.2f} % elongation" if "needed_elongation" in result else ""
        )
        click.echo(
            f"Drive          at least {result['tight_N']:.0f} N tight, {result['slack_N']:.0f} N slack; "
            f"{result['rest_N']:.0f} N at rest{stretch}"
        )
    if "bending_strain" in result:
        click.echo(f"Bending        {result['bending_strain'] * 100:.2f} % at the outer face")
    for note in result["notes"]:
        click.echo(f"Note: {note}")
