"""`loopwright recipe JOB.toml`: every value with its reason, the dwell second by second."""

from __future__ import annotations

import textwrap
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.job_file import as_understood, read_whole
from tui.commands.options import a_path, as_json, print_json, works_bench
from tui.commands.recipe_in_full import answer_in_full, is_in_full
from tui.commands.recipe_what_if import changed, differences, for_machine, print_differences, print_noted
from tui.commands.with_unit import measured
from tui.plain import clock

if TYPE_CHECKING:
    from assistant.bench.job import Job
    from assistant.recipe.outcome import Infeasible, Recipe, Value

_ZERO_C_K = 273.15
_WIDTH = 100


@click.command(
    "recipe",
    short_help="Compute the recipe of a job file, with reasons.",
    epilog="Exit codes: 0 a recipe; 1 no recipe can work, and why; 2 bad input.",
)
@click.argument("job", type=a_path)
@click.option("--upper", type=measured(20, 400, "temperature", "c"), help="Fix the upper platen, °C.")
@click.option("--lower", type=measured(20, 400, "temperature", "c"), help="Fix the lower platen, °C.")
@click.option("--dwell", type=measured(0, 36_000, "duration", "s"), help="Fix the dwell, s.")
@click.option(
    "--pressure", type=measured(0.1, 20, "pressure", "bar"), help="Fix the pressure at the gauge, bar."
)
@click.option("--release", type=measured(0, 300, "temperature", "c"), help="Fix the release temperature, °C.")
@click.option(
    "--shop", type=measured(-50, 60, "temperature", "c"), help="What if the shop is at this temperature, °C."
)
@click.option(
    "--voltage", type=measured(1, 1000, "voltage", "v"), help="What if the supply has this voltage, V."
)
@click.option(
    "--set",
    "changes",
    multiple=True,
    metavar="SLOT=VALUE",
    help="What if this were so, as often as you like: any value of a job sheet or recipe, with a unit if you like "
    "(shop_temperature=5, 'belt_thickness=2.2 mm', press=two_part, contact=2e-4, "
    "conductivity=85%), or a key of a file given in full (hold_s=90).",
)
@works_bench
@as_json
@click.pass_context
def command(
    ctx: click.Context, /, job: Path, as_json: bool, changes: tuple[str, ...], **fixed: float | None
) -> None:
    """Temperatures, dwell, pressure and release for the belt and press of a JOB file.

    A data sheet's values overrule the computed ones, yours overrule both, and the difference is said.

    JOB may instead be a recipe asked for in full, layer by layer ('loopwright schema recipe'): then the shortest
    cycle is found at which the coldest point is held above fusion, none comes near damage and no limit is broken.
    """
    from assistant.recipe.outcome import Infeasible

    if is_in_full(job):
        ctx.exit(answer_in_full(job, (*_as_keys(fixed), *changes), as_json))
    whole, values, told = read_whole(job)
    options = _changes(fixed)
    other = changed(whole, values, changes, options)
    found, otherwise = other.found, differences(whole, other) if changes or options else ()
    if as_json:
        machine = {"inputs": as_understood(values), "taken_as_proposed": told, **_for_machine(found)}
        print_json(machine | for_machine(other, otherwise) if changes or options else machine)
    elif isinstance(found, Infeasible):
        print_noted(other)
        click.echo(f"No recipe: {found.reason}\nNearest change: {found.nearest_change}")
    else:
        now = other.job or whole
        print_noted(other)
        if otherwise:
            print_differences(otherwise)
        _print(now, now.shop_degC, found, told)
    ctx.exit(1 if isinstance(found, Infeasible) else 0)


def _as_keys(fixed: dict[str, float | None]) -> list[str]:
    """The options as keys of a file given in full. Raises: click.UsageError for what there is nothing of."""
    keys = {
        "upper": "upper.set_degC",
        "lower": "lower.set_degC",
        "dwell": "dwell_s",
        "release": "release_degC",
    }
    given = {option: value for option, value in fixed.items() if value is not None}
    for option in given:
        if option not in keys:
            raise click.UsageError(f"--{option} is for a job; in a file given in full write --set KEY=VALUE.")
    return [f"{keys[option]}={value!r}" for option, value in given.items()]


def _changes(fixed: dict[str, float | None]) -> dict[str, float]:
    """The options as slots, SI."""
    slot = {
        "upper": ("upper_temperature", 1.0, _ZERO_C_K),
        "lower": ("lower_temperature", 1.0, _ZERO_C_K),
        "dwell": ("dwell", 1.0, 0.0),
        "pressure": ("pressure", 1e5, 0.0),
        "release": ("release_temperature", 1.0, _ZERO_C_K),
        "shop": ("shop_temperature", 1.0, _ZERO_C_K),
        "voltage": ("supply_voltage", 1.0, 0.0),
        "sure": ("sure", 1.0, 0.0),
    }
    return {
        name: value * factor + offset
        for option, value in fixed.items()
        if value is not None
        for name, factor, offset in (slot[option],)
    }


def _unit(slot: str) -> str:
    return "K" if slot.endswith("temperature") else "Pa" if slot == "pressure" else "s"


def _for_machine(found: Recipe | Infeasible) -> dict[str, Any]:
    from assistant.recipe.outcome import Infeasible

    if isinstance(found, Infeasible):
        return {"feasible": False, **asdict(found)}
    result = asdict(found)
    result["values"] = {
        value.slot: {
            f"value_{_unit(value.slot)}": value.value_si,
            f"computed_{_unit(value.slot)}": value.computed_si,
            "source": value.source,
            "reason": value.reason,
        }
        for value in found.values
    }
    for name, items in (("items", found.items), ("account", found.account)):
        result[name] = [{"label": i.label, "seconds_s": i.seconds, "reason": i.reason} for i in items]
    return {"feasible": True, "cycle_s": found.cycle_s, "cycle_expected_s": found.cycle_expected_s, **result}


def _shown(value: Value) -> str:
    match _unit(value.slot):
        case "K":
            return f"{value.value_si - _ZERO_C_K:.0f} °C"
        case "Pa":
            return f"{value.value_si / 1e5:.2f} bar"
        case _:
            return f"{value.value_si:.0f} s"


def _print(job: Job, shop_degC: float, recipe: Recipe, told: tuple[str, ...]) -> None:
    click.echo(f"{job.belt.name} on the {job.press.name}, shop at {shop_degC:g} °C\n")
    for value in recipe.values:
        _row(f"{value.label:<20}{_shown(value):>9}   {value.source:<11}", value.reason)
    click.echo("\nThe dwell, second by second")
    for item in recipe.items:
        _row(f"{item.seconds:>7.1f} s  {item.label:<35} ", item.reason)
    click.echo("\nPhysics against practice: from the physical minimum to this dwell")
    total_s = 0.0
    for item in recipe.account:
        total_s += item.seconds
        _row(f"{item.seconds:>7.1f} s {total_s:>7.1f} s  {item.label:<33} ", item.reason)
    _row("\nWhat binds: ", recipe.binding)
    click.echo()
    _row(
        "",
        f"Times: ramp {clock(recipe.ramp_s)}, dwell {clock(recipe.dwell_s)}, cooling {clock(recipe.cooling_expected_s)} expected and "
        f"{clock(recipe.cooling_s)} until surely cold inside, cycle {clock(recipe.cycle_expected_s)} expected and "
        f"{clock(recipe.cycle_s)} with the sure cooling; current {recipe.current_A:.1f} A, heat {recipe.heat_J / 3.6e6:.2f} kWh.",
    )
    quick_s, slow_s = recipe.expected.ramp_between_s
    soon_s, late_s = recipe.expected.cooling_between_s
    _row(
        "",
        f"On this press as it may be on the day, the ramp takes {_between(quick_s, slow_s)} and the cooling of belt and "
        f"platens {_between(soon_s, late_s)}.",
    )
    click.echo(
        f"The coldest point of the weld is above fusion for {clock(recipe.above_fusion_s)}; the hottest reaches "
        f"{recipe.peak_K - _ZERO_C_K:.0f} °C. Numerical error of the times: {recipe.numerical_error * 100:.2f} %."
    )
    healed, hot = recipe.healing, recipe.healing_laid_hot
    _row(
        "Healed: ",
        f"{healed.degree:.2f} at the worst point, {healed.depth_m * 1e3:.1f} mm deep, at the end of the dwell; {hot.degree:.2f} if laid "
        f"between hot platens ({healed.label}; it never shortens the hold).",
    )
    click.echo(
        f"Within 10 K of damage for {clock(recipe.near_damage_s)}; the dwell covers {round(recipe.covered, 3):g} of all "
        "joints laid between hot platens."
    )
    if recipe.beside is not None:
        click.echo(
            f"Beside the guide the belt fuses {recipe.hot_fusion_s - recipe.beside.hot_fusion_s:.0f} s sooner, reaches "
            f"{recipe.beside.hottest_K - _ZERO_C_K:.0f} °C and is above fusion for {clock(recipe.beside.above_fusion_s)}."
        )
    click.echo(f"\n{'If something is otherwise':<38}{'dwell':>10}{'ramp':>10}{'cooling':>10}")
    for change in recipe.sensitivity:
        cells = (change.hot_fusion_s, change.ramp_s, change.cooling_s)
        times = "".join(f"{'never':>10}" if cell is None else f"{cell:>+8.0f} s" for cell in cells)
        click.echo(f"  {change.label:<36}{times}")
    for heading, sentences in (
        ("Warning", recipe.warnings),
        ("Assumed", recipe.assumptions),
        ("Taken", told),
    ):
        for sentence in sentences:
            _row(f"{heading}: ", sentence)


def _between(shortest_s: float | None, longest_s: float | None) -> str:
    if shortest_s is None:
        return "for ever"
    return f"{clock(shortest_s)} to {'for ever' if longest_s is None else clock(longest_s)}"


def _row(head: str, text: str) -> None:
    click.echo(textwrap.fill(head + text, _WIDTH, subsequent_indent=" " * min(len(head), 44)))
