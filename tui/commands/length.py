"""`loopwright length`: endless length, whole notches and cut length, from options or a job file."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.job_file import read_partial
from tui.commands.options import as_json, between, job_argument, needed, print_json

if TYPE_CHECKING:
    from assistant.recipe.length import Pulley


def pulley(text: str) -> Pulley:
    """'x,y,diameter' in mm, with ',out' for one that the belt's upper side touches."""
    from assistant.recipe.length import Pulley

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
    "--path", "path_mm", type=between(10, 1_000_000), help="Length of the path at the neutral plane, mm."
)
@click.option(
    "--pulley",
    "pulleys",
    type=pulley,
    metavar="X,Y,D[,out]",
    multiple=True,
    help="In place of --path: each pulley, counter-clockwise, mm.",
)
@click.option("--thickness", type=between(0.1, 50), help="Belt thickness, mm; for --pulley.")
@click.option("--elongation", type=between(0, 20), help="Wanted elongation, %.")
@click.option("--notch-pitch", type=between(1, 1000), help="Notch pitch, mm.")
@click.option("--finger", type=between(0, 1000), help="Finger length, mm.")
@click.option(
    "--trim",
    type=between(0, 1000),
    default=0.0,
    show_default=True,
    help="Trimmed off each end afterwards, mm.",
)
@as_json
def command(
    job: Path | None,
    path_mm: float | None,
    pulleys: tuple[Pulley, ...],
    thickness: float | None,
    elongation: float | None,
    notch_pitch: float | None,
    finger: float | None,
    trim: float,
    as_json: bool,
) -> None:
    """From the path round the pulleys to the length to cut.

    Options overrule the JOB file.
    """
    from assistant.recipe.length import cut, endless
    from assistant.recipe.length import path as path_round

    known = read_partial(job)
    allowed = None
    if known.belt is not None:
        sheet, guide = known.belt.sheet, known.belt.guide
        allowed = (sheet.elongation_min_percent / 100, sheet.elongation_max_percent / 100)
        thickness = known.belt.thickness_mm if thickness is None else thickness
        notch_pitch = guide.notch_pitch_mm if guide is not None and notch_pitch is None else notch_pitch
    if known.punch is not None and finger is None:
        finger = known.punch.length_mm
    if pulleys and path_mm is not None:
        raise click.UsageError("Give --path or --pulley, not both.")
    if pulleys:
        path_m: float | None = path_round(pulleys, needed(thickness=thickness)[0] / 1e3).length_m
    else:
        path_m = known.number("endless_length") if path_mm is None else path_mm / 1e3
    stretch = known.number("elongation") if elongation is None else elongation / 100
    path_m, stretch, finger = needed(path=path_m, elongation=stretch, finger=finger)
    loop = endless(path_m, stretch, None if notch_pitch is None else notch_pitch / 1e3, allowed)
    piece = cut(loop.endless_m, finger / 1e3, trim / 1e3)
    if as_json:
        print_json({**asdict(loop), **asdict(piece), "finger_m": finger / 1e3, "trim_m": trim / 1e3})
        return
    click.echo(f"Path           {loop.path_m * 1e3:.1f} mm")
    click.echo(
        f"Endless        {loop.endless_m * 1e3:.1f} mm, runs at {loop.elongation * 100:.2f} % elongation"
    )
    if loop.notches is not None:
        others = " or ".join(f"{n.notches} ({n.elongation * 100:.2f} %)" for n in loop.nearest)
        click.echo(f"Notches        {loop.notches}; whole numbers near it: {others}")
    click.echo(
        f"Cut            {piece.cut_m * 1e3:.1f} mm, {piece.beyond_centre_m * 1e3:.1f} mm beyond the joint's middle at each end"
    )
