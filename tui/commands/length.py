"""`loopwright length`: endless length, whole notches and cut length, from options or a job file."""

from __future__ import annotations

import math
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.job_file import read_partial
from tui.commands.options import a_path, as_json, between, job_argument, needed, print_json, works_bench
from tui.commands.with_unit import measured

if TYPE_CHECKING:
    from assistant.recipe.path import Pulley
    from tui.commands.job_file import Partial


def pulley(text: str) -> Pulley:
    """'x,y,diameter' in mm, with ',out' for one that the belt's upper side touches."""
    from assistant.recipe.path import Pulley

    parts = text.split(",")
    outside = parts[-1].strip() == "out"
    parts = [part.strip() for part in (parts[:-1] if outside else parts)]
    if len(parts) != 3:
        raise click.BadParameter(
            f"'{text[:40]}' is not x,y,diameter in mm, with ',out' for an outside pulley."
        )
    place, across = between(-1_000_000, 1_000_000), between(1, 5000)
    return Pulley(place(parts[0]) / 1e3, place(parts[1]) / 1e3, across(parts[2]) / 1e3, -1 if outside else 1)


@click.command(
    "length",
    short_help="Cut length and notches of an endless belt.",
    epilog="Exit codes: 0 computed; 2 bad input.",
)
@job_argument
@click.option(
    "--path",
    "path_mm",
    type=measured(10, 1_000_000, "length", "mm"),
    help="Length of the path at the neutral plane, mm.",
)
@click.option(
    "--pulley",
    "pulleys",
    type=pulley,
    metavar="X,Y,D[,out]",
    multiple=True,
    help="In place of --path: each pulley in running order, mm.",
)
@click.option(
    "--pulleys",
    "file",
    type=a_path,
    metavar="FILE",
    help="In place of --path: a TOML file.",
)
@click.option("--crossed", is_flag=True, help="The belt is meant to cross itself.")
@click.option("--thickness", type=measured(0, 50, "length", "mm"), help="Belt thickness, mm; for pulleys.")
@click.option(
    "--neutral",
    type=measured(0, 50, "length", "mm"),
    help="Neutral plane above the running side, mm.  [default: half the thickness]",
)
@click.option("--elongation", type=between(0, 20), help="Wanted elongation, %.")
@click.option("--range", "allowed", type=between(0, 20), nargs=2, help="Elongations that the belt allows, %.")
@click.option("--notch-pitch", type=measured(1, 1000, "length", "mm"), help="Notch pitch, mm.")
@click.option("--finger", type=measured(0, 1000, "length", "mm"), help="Finger length, mm.")
@click.option(
    "--trim",
    type=measured(0, 1000, "length", "mm"),
    help="Trimmed off each end afterwards, mm.  [default: 0]",
)
@click.option(
    "--tolerance", type=measured(0, 1000, "length", "mm"), help="Of the endless length, mm either way."
)
@click.option("--width", type=measured(1, 5000, "length", "mm"), help="Belt width, mm; for --out-of-square.")
@click.option("--out-of-square", type=between(0, 45), help="Error of a cut, degrees: how far a corner leads.")
@works_bench
@as_json
def command(
    job: Path | None,
    path_mm: float | None,
    pulleys: tuple[Pulley, ...],
    file: Path | None,
    crossed: bool,
    as_json: bool,
    **given: Any,
) -> None:
    """From the path round the pulleys to the length to cut, as far as what is given goes.

    Options overrule the FILE of pulleys, which overrules the JOB file. 'loopwright schema path' prints what the
    FILE may hold: [[pulleys]] with x_mm, y_mm, diameter_mm and side ('inside' or 'outside').
    """
    from assistant.recipe.length import corner_offset, cut, elongation_span, endless
    from assistant.recipe.path import path_round

    if sum((path_mm is not None, bool(pulleys), file is not None)) > 1:
        raise click.UsageError("Give one of --path, --pulley and --pulleys.")
    known, at = _merged(job, file, given)
    result: dict[str, Any] = {}
    if file is not None or pulleys:
        listed, crossing = (pulleys, crossed) if file is None else (at["pulleys"], crossed or at["crossed"])
        thickness_m = needed(thickness=at["thickness"])[0] / 1e3
        neutral_m = thickness_m / 2 if at["neutral"] is None else at["neutral"] / 1e3
        found = path_round(listed, thickness_m, neutral_m, crossing)
        path_m: float | None = found.length_m
        result |= {"thickness_m": thickness_m, "neutral_m": neutral_m, "crossed": crossing}
        result |= {"path_m": found.length_m, "spans_m": found.spans_m, "wraps_rad": found.wraps_rad}
    else:
        path_m = known.number("endless_length") if path_mm is None else path_mm / 1e3
    path_m = needed(path=path_m)[0]
    if at["elongation"] is None and not result:
        needed(elongation=None)
    allowed = None if at["allowed"] is None else (at["allowed"][0] / 100, at["allowed"][1] / 100)
    if at["elongation"] is not None:
        pitch_m = None if at["notch_pitch"] is None else at["notch_pitch"] / 1e3
        loop = endless(path_m, at["elongation"] / 100, pitch_m, allowed)
        result |= {"wanted_elongation": at["elongation"] / 100, **asdict(loop)}
        if at["tolerance"] is not None:
            low, high = elongation_span(path_m, loop.endless_m, at["tolerance"] / 1e3)
            result |= {"tolerance_m": at["tolerance"] / 1e3, "elongation_low": low, "elongation_high": high}
        if at["finger"] is None and not (file or pulleys):
            needed(finger=None)
        if at["finger"] is not None:
            trim_m = (at["trim"] or 0.0) / 1e3
            piece = cut(loop.endless_m, at["finger"] / 1e3, trim_m)
            result |= {**asdict(piece), "finger_m": at["finger"] / 1e3, "trim_m": trim_m}
    if at["out_of_square"] is not None:
        width_m = needed(width=at["width"])[0] / 1e3
        result["corner_offset_m"] = corner_offset(width_m, math.radians(at["out_of_square"]))
    if as_json:
        print_json(result)
    else:
        _print(result, allowed)


def _merged(job: Path | None, file: Path | None, given: dict[str, Any]) -> tuple[Partial, dict[str, Any]]:
    """What the job says, and every value, mm and %, from the first that has it: option, file, job."""
    known = read_partial(job)
    at: dict[str, Any] = dict(given)
    if file is not None:
        from assistant.bench.path_file import read_path

        held = read_path(file)
        at |= {"pulleys": held.in_metres(), "crossed": held.crossed}
        of_file = {
            "thickness": held.thickness_mm, "neutral": held.neutral_mm, "elongation": held.elongation_percent,
            "allowed": held.elongation_range_percent, "notch_pitch": held.notch_pitch_mm, "finger": held.finger_mm,
            "trim": held.trim_mm, "tolerance": held.tolerance_mm,
        }  # fmt: skip
        at |= {name: value for name, value in of_file.items() if at[name] is None}
    of_job: dict[str, Any] = {}
    if known.belt is not None:
        sheet, guide = known.belt.sheet, known.belt.guide
        of_job = {
            "thickness": known.belt.thickness_mm, "width": known.belt.width_mm,
            "allowed": (sheet.elongation_min_percent, sheet.elongation_max_percent),
            "notch_pitch": None if guide is None else guide.notch_pitch_mm,
        }  # fmt: skip
    if known.punch is not None:
        of_job["finger"] = known.punch.length_mm
    stretch = known.number("elongation")
    of_job["elongation"] = None if stretch is None else stretch * 100
    return known, at | {name: value for name, value in of_job.items() if at[name] is None}


def _elongation(ratio: float, allowed: tuple[float, float] | None) -> str:
    """allowed: ratios."""
    said = f"{ratio * 100:.2f} %"
    if allowed is None or allowed[0] - 1e-12 <= ratio <= allowed[1] + 1e-12:
        return said
    return f"{said}, not allowed: {allowed[0] * 100:g} to {allowed[1] * 100:g} %"


def _print(result: dict[str, Any], allowed: tuple[float, float] | None) -> None:
    if "path_m" in result:
        click.echo(f"Path           {result['path_m'] * 1e3:.1f} mm")
    for index, (span_m, wrap) in enumerate(
        zip(result.get("spans_m", ()), result.get("wraps_rad", ()), strict=True), 1
    ):
        click.echo(
            f"  pulley {index:<5} wrap {math.degrees(wrap):.2f}°, then {span_m * 1e3:.1f} mm to the next"
        )
    if "endless_m" in result:
        click.echo(
            f"Endless        {result['endless_m'] * 1e3:.1f} mm, runs at {result['elongation'] * 100:.2f} % elongation"
        )
    if result.get("notches") is not None:
        others = " or ".join(
            f"{n['notches']} ({_elongation(n['elongation'], allowed)})" for n in result["nearest"]
        )
        click.echo(f"Notches        {result['notches']}; whole numbers near it: {others}")
    for note in result.get("notes", ()):
        click.echo(f"Note: {note}")
    if "tolerance_m" in result:
        low, high = (result[key] * 100 for key in ("elongation_low", "elongation_high"))
        click.echo(
            f"Tolerance      {result['tolerance_m'] * 1e3:g} mm either way: {low:.2f} to {high:.2f} % elongation"
        )
    if "cut_m" in result:
        click.echo(
            f"Cut            {result['cut_m'] * 1e3:.1f} mm, {result['beyond_centre_m'] * 1e3:.1f} mm beyond the joint's middle at each end"
        )
    if "corner_offset_m" in result:
        click.echo(f"Out of square  a corner leads by {result['corner_offset_m'] * 1e3:.2f} mm")
