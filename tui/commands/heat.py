"""`loopwright heat FILE.toml`: a heating given in full, layer by layer."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import a_path, as_json, print_json
from tui.plain import plain

if TYPE_CHECKING:
    from assistant.recipe.answer import Answer, At

_ZERO_C_K = 273.15


@click.command(
    "heat",
    short_help="Heat a lay-up that a file gives layer by layer.",
    epilog="Exit codes: 0 it can be done; 1 it cannot, and why; 2 bad input.",
)
@click.argument("file", type=a_path)
@as_json
@click.pass_context
def command(ctx: click.Context, /, file: Path, as_json: bool) -> None:
    """Times, temperatures, heat and healing of a lay-up between two platens, all given in FILE.

    'loopwright schema heat' prints what FILE may hold.
    """
    from assistant.recipe.answer import answer
    from assistant.recipe.explicit import load_heat

    whole, plan = load_heat(file)
    found = answer(plan, whole.error)
    if as_json:
        print_json({"inputs": whole.model_dump(), **for_machine(found)})
    else:
        _print(plain(whole.title), found)
    ctx.exit(1 if found.refused else 0)


def for_machine(found: Answer) -> dict[str, Any]:
    """Plain JSON, SI, units in the keys."""
    result = asdict(found)
    del result["settled"]["t_s"]  # after ever so long
    return {"feasible": not found.refused, **result}


def _print(title: str, found: Answer) -> None:
    if title:
        click.echo(f"{title}\n")
    for no in found.refused:
        click.echo(f"No: {no.reason}\nNearest change: {no.nearest_change}\n")
    for label, value in (
        ("upper platen at set temperature", found.upper_set_s),
        ("lower platen at set temperature", found.lower_set_s),
        ("coldest belt point at fusion", found.fused_s),
        ("dwell needed", found.needed_dwell_s),
        ("dwell", found.dwell_s),
        ("a point passes damage", found.passes_damage_s),
        ("longest within 10 K of damage", found.time_near_damage_s),
        ("coldest point above fusion for", found.above_fusion_s),
        ("cooling until the belt is at release", found.belt_cold_s),
        ("cooling until everything is", found.all_cold_s),
    ):
        click.echo(f"{label:<40}{'-' if value is None else f'{value:.2f} s':>14}")
    for label, heat in (
        ("heat stored in the lay-up", found.heat_stored_J_m2),
        ("heat from the heaters", found.heat_delivered_J_m2),
    ):
        click.echo(f"{label:<40}{'-' if heat is None else f'{heat / 1e6:.3f} MJ/m²':>14}")
    click.echo(f"{'peak of the belt surface':<40}{found.peak_surface_K - _ZERO_C_K:>11.2f} °C")
    click.echo(
        f"{'slowest decay rates':<40}{' '.join(f'{rate:.5g}' for rate in found.decay_rates_1_s[:3])} 1/s"
    )
    for label, healed in (
        ("healed at the end of the dwell", found.healing_end_of_dwell),
        ("healed after the dwell needed", found.healing_needed_dwell),
    ):
        if healed is not None:
            click.echo(f"{label:<40}{healed.degree:>14.3f} at {healed.depth_m * 1e3:.2f} mm ({healed.label})")
    click.echo(
        f"\n{'°C':<16}{'upper':>9}{'top face':>10}{'coldest':>9}{'hottest':>9}{'bottom':>9}{'lower':>9}"
    )
    if found.at_end_of_dwell is not None:
        _row("end of dwell", found.at_end_of_dwell)
    for point in found.curve:
        _row(f"{point.t_s:g} s", point)
    _row("in the end", found.settled)
    if found.sensitivity:
        click.echo("\nFusion, if something is otherwise")
        for shift in found.sensitivity:
            click.echo(
                f"  {shift.label:<38}{'never' if shift.fused_s is None else f'{shift.fused_s:+.2f} s':>14}"
            )
    click.echo(
        f"\nNumerical error, by halving grid and steps: {100 * found.numerical_error:.3f} % of the times, {found.numerical_error_K:.3f} K; {found.cells} cells."
    )
    for note in found.notes:
        click.echo(f"Note: {note}")


def _row(label: str, at: At) -> None:
    values = (at.upper_K, at.top_face_K, at.coldest_K, at.hottest_K, at.bottom_face_K, at.lower_K)
    widths = (9, 10, 9, 9, 9, 9)
    cells = "".join(f"{value - _ZERO_C_K:>{width}.2f}" for value, width in zip(values, widths, strict=True))
    click.echo(f"{label:<16}{cells}")
