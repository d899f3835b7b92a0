"""`loopwright catalogue`: what stands on the bench, where its values come from, and whether a works' own data hold."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.job_file import catalogue_of
from tui.commands.options import a_path, as_json, print_json, works_bench
from tui.plain import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic import BaseModel

KINDS = ("materials", "belts", "presses", "templates", "punches", "cloths", "leads", "learned")
_WIDTH = 110


@click.command(
    "catalogue",
    short_help="Materials, belts, presses and the rest, with their sources.",
    epilog="Exit codes: 0 listed, or the folder can be used; 1 the folder cannot be used, and why; 2 bad input.",
)
@click.argument("kind", type=click.Choice(KINDS), required=False)
@click.argument("key", required=False)
@works_bench
@click.option(
    "--check",
    type=a_path,
    metavar="FOLDER",
    help="Only check a works' own folder: every fault.",
)
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    kind: str | None,
    key: str | None,
    check: Path | None,
    as_json: bool,
) -> None:
    """All kinds, one KIND, or everything about one KEY: values, ranges, sources.

    A works adds its own in a folder of the same shape: materials/, belts/, presses/ and so on, one item a TOML
    file; it lies in bench/ in the folder of the records. 'loopwright schema material' prints what a file may hold.
    """
    if check is not None:
        _check(ctx, check, as_json)
    catalogue = catalogue_of()
    listed: dict[str, Mapping[str, BaseModel]] = {
        name: getattr(catalogue, name) for name in ((kind,) if kind else KINDS)
    }
    if key is not None:
        assert kind is not None  # it comes first on the command line
        if key not in listed[kind]:
            raise click.BadParameter(
                f"there is no '{key[:40]}' in {kind}; there are {', '.join(listed[kind])}."
            )
        listed = {kind: {key: listed[kind][key]}}
    if as_json:
        shown = {
            name: {k: item.model_dump(exclude_none=True) for k, item in items.items()}
            for name, items in listed.items()
        }
        print_json({**shown, "notes": catalogue.notes, "digests": dict(catalogue.digests)})
    elif key is not None and kind is not None:
        _whole(listed[kind][key].model_dump(exclude_none=True))
    else:
        for name, items in listed.items():
            click.echo(name.capitalize())
            for item_key, item in items.items():
                click.echo(f"  {item_key:<16}{_line(item.model_dump(exclude_none=True))}")
        for note in catalogue.notes:
            click.echo(plain(f"Note: {note}"))


def _check(ctx: click.Context, folder: Path, as_json: bool) -> None:
    from assistant.bench.catalogue import faults, load_catalogue

    wrong = faults(folder)
    notes = () if wrong else load_catalogue(folder).notes
    if as_json:
        print_json({"usable": not wrong, "faults": wrong, "notes": notes})
    else:
        click.echo("It cannot be used." if wrong else "It can be used.")
        for sentence in (*wrong, *notes):
            click.echo(plain(f"- {sentence}"))
    ctx.exit(1 if wrong else 0)


def _line(held: dict[str, Any]) -> str:
    name = str(held.get("name", "constants learned"))
    match held:
        case {"conductivity_W_mK": k, "density_kg_m3": rho, "heat_capacity_J_kgK": cp}:
            fuses = f", fuses at {held['fusion_degC']:g} °C" if "fusion_degC" in held else ""
            return f"{name}: {k:g} W/mK, {rho:g} kg/m³, {cp:g} J/kgK{fuses}"
        case {"layers": layers, "width_mm": width}:
            return f"{name}: {width:g} mm wide, {sum(layer['thickness_mm'] for layer in layers):g} mm thick"
        case {"power_W": power, "voltage_V": volts, "cooling": cooling}:
            return f"{name}: {power:g} W at {volts:g} V, {cooling['kind']} cooling"
        case {"channel_width_mm": width, "channel_depth_mm": depth}:
            return f"{name}: channel {width:g} by {depth:g} mm"
        case {"pitch_mm": pitch, "length_mm": length}:
            return f"{name}: fingers {pitch:g} by {length:g} mm"
        case {"ohm_per_km": ohms, "section_mm2": section}:
            return f"{name}: {section:g} mm², {ohms:g} Ω/km"
        case {"sessions": sessions, "last": last}:
            return f"{name} from {sessions} sessions, the latest of {last}"
    return name


def _whole(held: dict[str, Any], within: str = "") -> None:
    """A value a line, those of its tables after it: value, range, source."""
    ranges, sources = held.pop("ranges", {}), held.pop("sources", {})
    for key, value in held.items():
        if isinstance(value, dict) or value in ("", ()):
            continue
        shown = str(value).lower() if isinstance(value, bool) else value
        spread = f"  ({ranges[key][0]:g} to {ranges[key][1]:g})" if key in ranges else ""
        source = f"  [{sources[key]}]" if key in sources else ""
        text = f"{within + key:<28} {shown}{spread}{source}"
        click.echo(textwrap.fill(text, _WIDTH, subsequent_indent=" " * 29, break_on_hyphens=False))
    for key, value in held.items():
        if isinstance(value, dict):
            _whole(value, f"{within}{key}.")
