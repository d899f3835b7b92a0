"""`loopwright fingers`: geometry of a finger joint, from options or a job file."""

from __future__ import annotations

import math
from dataclasses import asdict
from pathlib import Path

import click

from tui.commands.job_file import read_partial
from tui.commands.options import as_json, job_argument, needed, print_json, works_bench
from tui.commands.with_unit import measured


@click.command(
    "fingers", short_help="Geometry of a finger joint.", epilog="Exit codes: 0 computed; 2 bad input."
)
@job_argument
@click.option("--pitch", type=measured(0, 200, "length", "mm"), help="Finger pitch, mm.")
@click.option("--length", type=measured(0, 1000, "length", "mm"), help="Finger length from tip to root, mm.")
@click.option("--width", type=measured(1, 5000, "length", "mm"), help="Belt width, mm.")
@click.option("--thickness", type=measured(0.1, 50, "length", "mm"), help="Belt thickness, mm.")
@click.option(
    "--tip",
    type=measured(0, 100, "length", "mm"),
    default=0.0,
    show_default=True,
    help="Width of the flat tip, mm.",
)
@click.option(
    "--pull",
    type=measured(0, 1000, "tension", "n mm"),
    help="Pull on the belt, N per mm width: adds the stress on the flanks.",
)
@click.option(
    "--plate-length",
    type=measured(1, 5000, "length", "mm"),
    help="Pressure plate along the belt, mm: checks the fit.",
)
@click.option(
    "--plate-width", type=measured(1, 5000, "length", "mm"), help="Pressure plate across the belt, mm."
)
@click.option(
    "--margin",
    type=measured(0, 500, "length", "mm"),
    default=30.0,
    show_default=True,
    help="Plate beyond the fingers each way, mm.",
)
@works_bench
@as_json
def command(
    job: Path | None,
    pitch: float | None,
    length: float | None,
    width: float | None,
    thickness: float | None,
    tip: float,
    pull: float | None,
    plate_length: float | None,
    plate_width: float | None,
    margin: float,
    as_json: bool,
) -> None:
    """Weld line, flank angle and edge fingers of a punched joint.

    Options overrule the JOB file.
    """
    from assistant.recipe.fingers import check_fit, fingers, flank_stress

    known = read_partial(job)
    if known.punch is not None:
        pitch = known.punch.pitch_mm if pitch is None else pitch
        length = known.punch.length_mm if length is None else length
    if known.belt is not None:
        width = known.belt.width_mm if width is None else width
        thickness = known.belt.thickness_mm if thickness is None else thickness
    pitch, length, width, thickness = needed(pitch=pitch, length=length, width=width, thickness=thickness)
    joint = fingers(pitch / 1e3, length / 1e3, width / 1e3, thickness / 1e3, tip / 1e3)
    if plate_length is not None or plate_width is not None:
        long, wide = needed(plate_length=plate_length, plate_width=plate_width)
        check_fit(joint, long / 1e3, wide / 1e3, margin / 1e3)
    stress = None if pull is None else flank_stress(joint, pull * 1e3)
    if as_json:
        result = {**asdict(joint), "gain": joint.gain}
        if stress is not None:
            result |= {
                "pull_N_per_m": (pull or 0.0) * 1e3,
                **{f"flank_{key}": v for key, v in asdict(stress).items()},
            }
        print_json(result)
        return
    click.echo(
        f"Fingers        {joint.whole} whole pitches; part-finger at each edge {joint.edge_part_m * 1e3:.1f} mm"
    )
    click.echo(
        f"Flank          {joint.flank_m * 1e3:.1f} mm, {math.degrees(joint.flank_angle_rad):.1f}° to the running direction"
    )
    click.echo(f"Weld line      {joint.weld_line_m * 1e3:.0f} mm, {joint.gain:.1f} times the belt's width")
    click.echo(f"Weld area      {joint.weld_area_m2 * 1e6:.0f} mm²")
    if stress is not None:
        click.echo(
            f"Flank stress   {stress.shear_Pa / 1e6:.2f} MPa along it, {stress.normal_Pa / 1e6:.2f} MPa across it "
            f"at {pull:g} N/mm (even stress, no ply bridging)"
        )
    for note in joint.notes:
        click.echo(f"Note: {note}")
