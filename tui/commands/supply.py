"""`loopwright supply`: current, voltage drop and fuse, from options or a job file."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any, Literal

import click

from tui.commands.job_file import leads, read_partial
from tui.commands.options import as_json, between, job_argument, needed, print_json, works_bench
from tui.commands.with_unit import measured

_ZERO_C_K = 273.15
_temperature = measured(-50, 400, "temperature", "c")


@click.command(
    "supply",
    short_help="Whether lead and fuse can feed the press.",
    epilog="Exit codes: 0 it can; 1 it cannot; 2 bad input.",
)
@job_argument
@click.option("--power", type=between(1, 200_000), help="Power of the press, W.")
@click.option("--voltage", type=measured(1, 1000, "voltage", "v"), help="Voltage on the press's plate, V.")
@click.option("--fuse", type=measured(0.1, 1000, "current", "a"), help="Fuse, A.")
@click.option("--length", type=measured(0, 1000, "length", "m"), help="Length of the lead, m.")
@click.option("--section", type=measured(0.1, 1000, "section", "mm2"), help="Section of each core, mm².")
@click.option("--phases", type=click.Choice(["1", "3"]), help="Phases of the press.  [default: 1]")
@click.option("--cos-phi", type=between(0.1, 1), default=1.0, show_default=True, help="Power factor.")
@click.option(
    "--copper",
    type=measured(-40, 160, "temperature", "c"),
    default=70.0,
    show_default=True,
    help="Temperature of the copper, °C.",
)
@click.option(
    "--measured",
    type=measured(1, 1000, "voltage", "v"),
    help="Voltage at the socket, V; as on the plate if not given.",
)
@click.option("--coiled", is_flag=True, help="The lead lies coiled.")
@click.option("--capacity", type=between(1, 1e8), help="Heat capacity of the platen, J/K: adds its warm-up.")
@click.option(
    "--loss", type=between(0, 10_000), default=0.0, show_default=True, help="Heat lost by the platen, W/K."
)
@click.option("--start", type=_temperature, default=20.0, show_default=True, help="Platen at first, °C.")
@click.option("--set", "set_", type=_temperature, help="Platen at the end, °C; for --capacity.")
@click.option("--around", type=_temperature, help="Air round the platen, °C.  [default: as --start]")
@works_bench
@as_json
@click.pass_context
def command(ctx: click.Context, /, job: Path | None, coiled: bool, as_json: bool, **given: Any) -> None:
    """Current and voltage drop in a copper lead, judged against the fuse; how long the press takes to warm up.

    The drop by the table of class 5 copper (IEC 60228) and, beside it, by IEC 60364-5-52 annex G. Options overrule
    the JOB file. Without a lead, only the current is told. With --capacity the warm-up of a platen taken as one
    lump. Advice to a qualified person; press plate and local code rule.
    """
    from assistant.recipe.not_computable import NotComputable
    from assistant.recipe.supply import (
        REFUSE_DROP,
        WARN_DROP,
        current,
        drop,
        drop_by_annex_g,
        smallest_section_mm2,
        supply,
    )

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
    power = needed(power=at["power"])[0]
    result: dict[str, Any] = {"power_plate_W": power}
    reasons: list[str] = []
    if at["capacity"] is None or any(value is not None for value in (at["voltage"], at["fuse"], length)):
        voltage = needed(voltage=at["voltage"])[0]
        nominal = current(power, voltage, phases, at["cos_phi"])
        result |= {"voltage_V": voltage, "phases": phases, "cos_phi": at["cos_phi"], "nominal_A": nominal}
    if any(value is not None for value in (at["fuse"], length, section_m2)):
        fuse, length_m, section = needed(fuse=at["fuse"], length=length, section=section_m2)
        by_table = drop(
            nominal, voltage, length_m, section, phases=phases, cos_phi=at["cos_phi"],
            temperature_K=at["copper"] + _ZERO_C_K, ohm_per_km=leads(),
        )  # fmt: skip
        by_annex = drop_by_annex_g(nominal, voltage, length_m, section, phases=phases, cos_phi=at["cos_phi"])
        result |= {
            "fuse_A": fuse, "length_m": length_m, "section_m2": section, "copper_K": at["copper"] + _ZERO_C_K,
            "measured_V": measured, "drop_V": by_table.volts_V, "drop_ratio": by_table.ratio,
            "annex_g_drop_V": by_annex.volts_V, "annex_g_drop_ratio": by_annex.ratio,
        }  # fmt: skip
        try:
            for key, most in (("smallest_section_mm2", WARN_DROP), ("least_section_mm2", REFUSE_DROP)):
                result[key] = smallest_section_mm2(
                    power, voltage, fuse, length_m, most_drop=most, phases=phases, cos_phi=at["cos_phi"],
                    temperature_K=at["copper"] + _ZERO_C_K, ohm_per_km=leads(),
                )  # fmt: skip
            fed = supply(
                power, voltage, fuse, length_m, section, phases=phases, cos_phi=at["cos_phi"], measured_V=measured,
                coiled=coiled, temperature_K=at["copper"] + _ZERO_C_K, ohm_per_km=leads(),
            )  # fmt: skip
        except NotComputable as refusal:
            reasons.append(str(refusal))
        else:
            result |= {key: value for key, value in asdict(fed).items() if key not in ("drop", "nominal_A")}
    if at["capacity"] is not None:
        try:
            result |= _warmed_up(result.get("power_W", power), at)
        except NotComputable as refusal:
            reasons.append(str(refusal))
    result["feasible"] = not reasons
    if reasons:
        result["reason"] = " ".join(reasons)
    if as_json:
        print_json(result)
    else:
        _print(result)
    ctx.exit(0 if result["feasible"] else 1)


def _warmed_up(power_W: float, at: dict[str, Any]) -> dict[str, float]:
    from assistant.recipe.warmup import warm_up

    start, end = at["start"] + _ZERO_C_K, needed(set=at["set_"])[0] + _ZERO_C_K
    around = start if at["around"] is None else at["around"] + _ZERO_C_K
    found = warm_up(at["capacity"], power_W, at["loss"], start_K=start, end_K=end, around_K=around)
    given = {"capacity_J_per_K": at["capacity"], "loss_W_per_K": at["loss"]}
    given |= {"start_K": start, "set_K": end, "around_K": around}
    told = {"time_s": found.time_s, "energy_J": found.energy_J, "holding_W": found.holding_W}
    return {f"warm_up_{key}": value for key, value in (given | told).items()}


def _print(result: dict[str, Any]) -> None:
    if "nominal_A" in result:
        through = f", {result['current_A']:.1f} A through this lead" if "current_A" in result else ""
        click.echo(f"Current        {result['nominal_A']:.1f} A nominal{through}")
    if "drop_V" in result:
        click.echo(
            f"Voltage drop   {result['drop_V']:.1f} V, {result['drop_ratio'] * 100:.1f} %; by annex G "
            f"{result['annex_g_drop_ratio'] * 100:.1f} %"
        )
    if "least_section_mm2" in result:
        least, better = (
            "no section of the table" if mm2 is None else f"{mm2:g} mm²"
            for mm2 in (result["least_section_mm2"], result["smallest_section_mm2"])
        )
        click.echo(f"Section        at least {least} for a drop of 5 %, {better} for 3 %")
    if "power_W" in result:
        click.echo(
            f"Heating        {result['power_W']:.0f} W, {result['power_ratio'] * 100:.0f} % of nominal"
        )
    if "warm_up_time_s" in result:
        click.echo(
            f"Warm-up        {result['warm_up_time_s']:.1f} s, {result['warm_up_energy_J'] / 3.6e6:.4f} kWh; "
            f"{result['warm_up_holding_W']:.0f} W to hold"
        )
    for note in result.get("notes", ()):
        click.echo(f"Note: {note}")
    if not result["feasible"]:
        click.echo(f"No: {result['reason']}")
