"""`loopwright supply`: current, voltage drop and fuse, from options or a job file."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Literal

import click

from tui.commands.job_file import read_partial
from tui.commands.options import as_json, between, job_argument, needed, print_json


@click.command(
    "supply",
    short_help="Whether lead and fuse can feed the press.",
    epilog="Exit codes: 0 it can; 2 it cannot, or bad input.",
)
@job_argument
@click.option("--power", type=between(1, 200_000), help="Power of the press, W.")
@click.option("--voltage", type=between(1, 1000), help="Voltage on the press's plate, V.")
@click.option("--fuse", type=between(0.1, 1000), help="Fuse, A.")
@click.option("--length", type=between(0, 1000), help="Length of the lead, m.")
@click.option("--section", type=between(0.1, 1000), help="Section of each core, mm².")
@click.option("--phases", type=click.Choice(["1", "3"]), help="Phases of the press.  [default: 1]")
@click.option(
    "--measured", type=between(1, 1000), help="Voltage at the socket, V; as on the plate if not given."
)
@click.option("--coiled", is_flag=True, help="The lead lies coiled.")
@as_json
def command(
    job: Path | None,
    power: float | None,
    voltage: float | None,
    fuse: float | None,
    length: float | None,
    section: float | None,
    phases: str | None,
    measured: float | None,
    coiled: bool,
    as_json: bool,
) -> None:
    """Current and voltage drop in a copper lead, judged against the fuse.

    Options overrule the JOB file. Advice to a qualified person; press plate and local code rule.
    """
    from assistant.recipe.supply import supply

    known = read_partial(job)
    three: Literal[1, 3] = 3 if phases == "3" else 1
    if known.press is not None:
        press = known.press
        power = press.power_W if power is None else power
        voltage = press.voltage_V if voltage is None else voltage
        fuse = press.fuse_A if fuse is None else fuse
        three = press.phases if phases is None else three
    length = known.number("lead_length") if length is None else length
    section_m2 = known.number("lead_section") if section is None else section / 1e6
    if length == 0:
        section_m2 = section_m2 or 2.5e-6  # no lead at all: nothing is lost in it, whatever its section
    measured = known.number("supply_voltage") if measured is None else measured
    coiled = coiled or known.values.get("lead_coiled") == "yes"
    given = needed(power=power, voltage=voltage, fuse=fuse, length=length, section=section_m2)
    fed = supply(*given, phases=three, measured_V=measured, coiled=coiled)
    if as_json:
        result = asdict(fed)
        drop = result.pop("drop")
        print_json(
            {**result, "drop_V": drop["volts_V"], "drop_ratio": drop["ratio"], "power_ratio": fed.power_ratio}
        )
        return
    click.echo(f"Current        {fed.nominal_A:.1f} A nominal, {fed.current_A:.1f} A through this lead")
    click.echo(f"Voltage drop   {fed.drop.volts_V:.1f} V, {fed.drop.ratio * 100:.1f} %")
    click.echo(f"Heating        {fed.power_W:.0f} W, {fed.power_ratio * 100:.0f} % of nominal")
    for note in fed.notes:
        click.echo(f"Note: {note}")
