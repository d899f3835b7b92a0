"""`loopwright supply`: current, voltage drop and fuse, from options or a job file."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any, Literal

import click

from tui.commands.job_file import leads, read_partial
from tui.commands.options import as_json, between, job_argument, needed, print_json

_ZERO_C_K = 273.15


@click.command(
    "supply",
    short_help="Whether lead and fuse can feed the press.",
    epilog="Exit codes: 0 it can; 1 it cannot; 2 bad input.",
)
@job_argument
@click.option("--power", type=between(1, 200_000), help="Power of the press, W.")
@click.option("--voltage", type=between(1, 1000), help="Voltage on the press's plate, V.")
@click.option("--fuse", type=between(0.1, 1000), help="Fuse, A.")
@click.option("--length", type=between(0, 1000), help="Length of the lead, m.")
@click.option("--section", type=between(0.1, 1000), help="Section of each core, mm².")
@click.option("--phases", type=click.Choice(["1", "3"]), help="Phases of the press.  [default: 1]")
@click.option("--cos-phi", type=between(0.1, 1), default=1.0, show_default=True, help="Power factor.")
@click.option(
    "--copper", type=between(-40, 160), default=70.0, show_default=True, help="Temperature of the copper, °C."
)
@click.option(
    "--measured", type=between(1, 1000), help="Voltage at the socket, V; as on the plate if not given."
)
@click.option("--coiled", is_flag=True, help="The lead lies coiled.")
@as_json
@click.pass_context
def command(ctx: click.Context, /, job: Path | None, coiled: bool, as_json: bool, **given: Any) -> None:
    """Current and voltage drop in a copper lead, judged against the fuse.

    The drop by the table of class 5 copper (IEC 60228) and, beside it, by IEC 60364-5-52 annex G. Options overrule
    the JOB file. Advice to a qualified person; press plate and local code rule.
    """
    from assistant.recipe.not_computable import NotComputable
    from assistant.recipe.supply import current, drop, drop_by_annex_g, supply

    known, at = read_partial(job), given
    phases: Literal[1, 3] = 3 if at["phases"] == "3" else 1
    if known.press is not None:
        press = known.press
        of_press = {"power": press.power_W, "voltage": press.voltage_V, "fuse": press.fuse_A}
        at = at | {name: value for name, value in of_press.items() if at[name] is None}
        phases = press.phases if at["phases"] is None else phases
    length = known.number("lead_length") if at["length"] is None else at["length"]
    section_m2 = known.number("lead_section") if at["section"] is None else at["section"] / 1e6
    if length == 0:
        section_m2 = section_m2 or 2.5e-6  # no lead at all: nothing is lost in it, whatever its section
    measured = known.number("supply_voltage") if at["measured"] is None else at["measured"]
    coiled = coiled or known.values.get("lead_coiled") == "yes"
    power, voltage, fuse, length_m, section = needed(
        power=at["power"], voltage=at["voltage"], fuse=at["fuse"], length=length, section=section_m2
    )
    nominal = current(power, voltage, phases, at["cos_phi"])
    by_table = drop(
        nominal, voltage, length_m, section, phases=phases, cos_phi=at["cos_phi"],
        temperature_K=at["copper"] + _ZERO_C_K, ohm_per_km=leads(),
    )  # fmt: skip
    by_annex = drop_by_annex_g(nominal, voltage, length_m, section, phases=phases, cos_phi=at["cos_phi"])
    result: dict[str, Any] = {
        "power_plate_W": power, "voltage_V": voltage, "fuse_A": fuse, "length_m": length_m, "section_m2": section,
        "phases": phases, "cos_phi": at["cos_phi"], "copper_K": at["copper"] + _ZERO_C_K, "measured_V": measured,
        "nominal_A": nominal, "drop_V": by_table.volts_V, "drop_ratio": by_table.ratio,
        "annex_g_drop_V": by_annex.volts_V, "annex_g_drop_ratio": by_annex.ratio,
    }  # fmt: skip
    try:
        fed = supply(
            power, voltage, fuse, length_m, section, phases=phases, cos_phi=at["cos_phi"], measured_V=measured,
            coiled=coiled, temperature_K=at["copper"] + _ZERO_C_K, ohm_per_km=leads(),
        )  # fmt: skip
    except NotComputable as refusal:
        result |= {"feasible": False, "reason": str(refusal)}
    else:
        behind = {key: value for key, value in asdict(fed).items() if key not in ("drop", "nominal_A")}
        result |= {"feasible": True, **behind, "power_ratio": fed.power_ratio}
    if as_json:
        print_json(result)
    else:
        _print(result)
    ctx.exit(0 if result["feasible"] else 1)


def _print(result: dict[str, Any]) -> None:
    through = f", {result['current_A']:.1f} A through this lead" if result["feasible"] else ""
    click.echo(f"Current        {result['nominal_A']:.1f} A nominal{through}")
    click.echo(
        f"Voltage drop   {result['drop_V']:.1f} V, {result['drop_ratio'] * 100:.1f} %; by annex G "
        f"{result['annex_g_drop_ratio'] * 100:.1f} %"
    )
    if not result["feasible"]:
        click.echo(f"No: {result['reason']}")
        return
    click.echo(f"Heating        {result['power_W']:.0f} W, {result['power_ratio'] * 100:.0f} % of nominal")
    for note in result["notes"]:
        click.echo(f"Note: {note}")
