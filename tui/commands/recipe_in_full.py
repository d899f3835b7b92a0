"""A recipe asked for in full, for `loopwright recipe FILE`: the shortest cycle, and all that is to be known of it."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import print_json
from tui.plain import clock, plain

if TYPE_CHECKING:
    from assistant.recipe.best import Best
    from assistant.recipe.outcome import Infeasible

_ZERO_C_K = 273.15
_WIDTH = 100
# Key of an answer -> what it is called, and whether it is a temperature.
_COMPARED = {
    "upper_K": ("upper platen", True),
    "lower_K": ("lower platen", True),
    "dwell_s": ("dwell", False),
    "ramp_s": ("ramp", False),
    "cooling_s": ("cooling", False),
    "cycle_s": ("cycle", False),
}


def is_in_full(path: Path) -> bool:
    """Whether the file gives layers, and so is no job of catalogue items. Raises: BadData when it is no TOML."""
    from assistant.bench.bad_data import parse_toml, read_bytes
    from assistant.recipe.best_file import is_best

    return is_best(parse_toml(read_bytes(path), path))


def answer_in_full(path: Path, changes: Sequence[str], as_json: bool) -> int:
    """Prints the answer; the exit code."""
    from assistant.recipe.best import Best, best
    from assistant.recipe.best_file import load_best, taken

    file, problem = load_best(path, changes)
    found = best(problem)
    before = best(load_best(path)[1]) if changes else None
    if as_json:
        told = {"inputs": file.model_dump(), "taken": taken(file), **_for_machine(found)}
        if before is not None:
            told |= {"changed": list(changes), "before": _for_machine(before)}
            told["difference"] = _differences(before, found)
        print_json(told)
    else:
        if file.title:
            click.echo(f"{plain(file.title)}\n")
        _print(found)
        for sentence in taken(file):
            _row("Taken: ", sentence)
        if before is not None:
            _print_difference(before, found, changes)
    return 0 if isinstance(found, Best) else 1


def _for_machine(found: Best | Infeasible) -> dict[str, Any]:
    from assistant.recipe.outcome import Infeasible

    if isinstance(found, Infeasible):
        return {"feasible": False, **asdict(found)}
    result = asdict(found)
    result["account"] = [
        {"label": item.label, "seconds_s": item.seconds, "reason": item.reason} for item in found.account
    ]
    return {"feasible": True, **result}


def _differences(before: Best | Infeasible, found: Best | Infeasible) -> dict[str, float] | None:
    """Changed less unchanged; None where one of them has no recipe."""
    from assistant.recipe.best import Best

    if not isinstance(before, Best) or not isinstance(found, Best):
        return None
    return {key: getattr(found, key) - getattr(before, key) for key in _COMPARED}


def _print(found: Best | Infeasible) -> None:
    from assistant.recipe.outcome import Infeasible

    if isinstance(found, Infeasible):
        click.echo(f"No recipe: {found.reason}\nNearest change: {found.nearest_change}")
        return
    click.echo(f"{'upper platen':<20}{found.upper_K - _ZERO_C_K:>9.1f} °C")
    click.echo(f"{'lower platen':<20}{found.lower_K - _ZERO_C_K:>9.1f} °C")
    fusion_s = max(0.0, *(column.fused_s - found.ramp_s for column in found.columns))
    click.echo(
        f"{'dwell':<20}{found.dwell_s:>9.1f} s   physics alone {fusion_s:.1f} s, with the holding time {found.needed_dwell_s:.1f} s"
    )
    click.echo(f"{'release inside':<20}{found.release_K - _ZERO_C_K:>9.1f} °C")
    click.echo(
        f"\nTimes: ramp {clock(found.ramp_s)}, dwell {clock(found.dwell_s)}, cooling {clock(found.cooling_s)} "
        f"(surely cold after {clock(found.surely_cold_s)}), cycle {clock(found.cycle_s)}."
    )
    _row("What binds: ", found.binding)
    click.echo("\nPhysics against practice: the dwell, item by item")
    total_s = 0.0
    for item in found.account:
        total_s += item.seconds
        _row(f"{item.seconds:>8.1f} s {total_s:>8.1f} s  {item.label:<33} ", item.reason)
    for column in found.columns:
        healed = column.healing
        _row(
            f"\n{plain(column.name)}: ",
            f"fuses {column.fused_s:.1f} s after heat on; at worst settles {column.above_fusion_K:.1f} K above fusion and stays "
            f"{column.below_damage_K:.1f} K below damage; hottest {column.hottest_K - _ZERO_C_K:.1f} °C; near damage for "
            f"{clock(column.near_damage_s)}; healed {healed.degree:.2f} at the worst point, {healed.depth_m * 1e3:.1f} mm deep "
            f"({healed.label}; it never shortens the hold).",
        )
    click.echo(f"\n{'If something is otherwise':<42}{'dwell':>10}{'ramp':>10}{'cooling':>10}")
    for row in found.sensitivity:
        cells = (row.dwell_needed_s, row.ramp_s, row.cooling_s)
        times = "".join(f"{'never':>10}" if cell is None else f"{cell:>+8.1f} s" for cell in cells)
        click.echo(f"  {row.label:<40}{times}")
    click.echo(
        f"\nAsked to cover {found.sure:.3g} of all joints; of those drawn with everything off at once the dwell covers {found.covered:.3g}."
        f"\nNumerical error, by halving the grid: {100 * found.numerical_error:.3f} % of the times; "
        f"{found.settings_tried} settings looked at closely."
    )


def _print_difference(before: Best | Infeasible, found: Best | Infeasible, changes: Sequence[str]) -> None:
    from assistant.recipe.best import Best

    click.echo(f"\nAgainst the file as it is ({plain(', '.join(changes))})")
    if not isinstance(before, Best):
        click.echo(f"  No recipe: {before.reason}")
        return
    if not isinstance(found, Best):
        click.echo(f"  It has a recipe: cycle {clock(before.cycle_s)}.")
        return
    for key, (label, is_temperature) in _COMPARED.items():
        was, now = getattr(before, key), getattr(found, key)
        zero, unit, by = (_ZERO_C_K, "°C", "K") if is_temperature else (0.0, "s", "s")
        click.echo(
            f"  {label:<18}{was - zero:>9.1f} {unit:<2} -> {now - zero:>9.1f} {unit:<2}{now - was:>+10.1f} {by}"
        )


def _row(head: str, text: str) -> None:
    click.echo(textwrap.fill(head + text, _WIDTH, subsequent_indent=" " * min(len(head), 4)))
