"""What `loopwright recipe JOB` changes for a 'what if', and the answers before and after beside each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from tui.commands.job_file import UNIT, catalogue_of

if TYPE_CHECKING:
    from assistant.bench.job import Job
    from assistant.bench.slots import Value
    from assistant.procedure.otherwise import Difference
    from assistant.recipe.outcome import Infeasible, Recipe

_SHEET = ("shop_temperature", "supply_voltage")  # what the older options change of the job as it is


@dataclass(frozen=True)
class Changed:
    """The job as it would be, and its recipe. noted: what had to follow the changes so that they fit."""

    job: Job | None
    found: Recipe | Infeasible
    changes: Mapping[str, Value]
    noted: tuple[str, ...] = ()


def changed(
    job: Job, values: Mapping[str, Value], pairs: Sequence[str], options: Mapping[str, float]
) -> Changed:
    """pairs: SLOT=VALUE of --set; options: slots of the other options, SI.

    Raises: BadData for a pair that cannot be understood; click.UsageError for a slot that is given twice.
    """
    from assistant.procedure.as_planned import unlike, with_factors
    from assistant.procedure.as_written import read_changes
    from assistant.procedure.otherwise import beyond, fitted, nearest, parted
    from assistant.recipe.outcome import Given, Infeasible
    from assistant.recipe.recipe import what_if

    catalogue = catalogue_of()
    written = read_changes(pairs, values, catalogue)
    sheet, fixed = parted(written)
    if twice := sorted({*sheet, *fixed} & set(options)):
        raise click.UsageError(f"'{twice[0]}' is given by an option and by --set; give it once.")
    changes = {**options, **written}
    noted: tuple[str, ...] = ()
    if cannot := beyond(fixed) or unlike(written):
        return Changed(None, Infeasible(cannot, "Take one in between."), changes)
    if sheet:
        fit = fitted(values, sheet, catalogue)
        if isinstance(fit, str):
            near = nearest(values, sheet, catalogue)
            return Changed(None, Infeasible(fit, near or "Leave it as the job file has it."), changes)
        job, also, noted = fit
        noted = (*(f"{slot} = {value}, so that it fits." for slot, value in also.items()), *noted)
    job = with_factors(job, written)
    found = what_if(job, Given(**fixed), **options)
    shop_K, voltage_V = (options.get(slot) for slot in _SHEET)
    if shop_K is not None:
        job = job.model_copy(update={"shop_degC": shop_K - 273.15})
    if voltage_V is not None:
        job = job.model_copy(update={"supply": job.supply.model_copy(update={"voltage_V": voltage_V})})
    return Changed(job, found, changes, noted)


def differences(job: Job, other: Changed) -> tuple[Difference, ...]:
    """Answer by answer: as the file has it, and as it would be. Empty where it cannot be."""
    from assistant.procedure.otherwise import answers_of, compared
    from assistant.recipe.outcome import Recipe
    from assistant.recipe.recipe import compute_recipe

    if other.job is None or not isinstance(other.found, Recipe):
        return ()
    return compared(answers_of(job, compute_recipe(job)), answers_of(other.job, other.found))


def for_machine(other: Changed, found: Sequence[Difference]) -> dict[str, Any]:
    """'changed' slots (SI), and by answer, unit in its key: before, after, difference."""
    before = {d.before.key: d.before.value for d in found if d.before}
    after = {d.after.key: d.after.value for d in found if d.after}
    apart = {key: after[key] - value for key, value in before.items() if key in after}
    return {
        "changed": {f"{slot}{_unit(slot)}": value for slot, value in other.changes.items()}, "noted": list(other.noted), "before": before, "after": after,
        "difference": apart,
    }  # fmt: skip


def _unit(slot: str) -> str:
    from assistant.bench.slots import SLOTS
    from assistant.procedure.as_planned import AS_PLANNED
    from assistant.procedure.otherwise import PLATENS
    from assistant.procedure.slots import RECIPE_SLOTS

    quantity = {info.slot: info.quantity for info in SLOTS}
    quantity |= {known.slot: known.quantity for known in RECIPE_SLOTS.values()} | {PLATENS: "temperature"}
    quantity |= dict.fromkeys(AS_PLANNED, "ratio")
    return UNIT.get(quantity[slot] or "", "")


def print_noted(other: Changed) -> None:
    for sentence in other.noted:
        click.echo(f"Taken otherwise: {sentence}")


def print_differences(found: Sequence[Difference]) -> None:
    """A row for each answer that reads otherwise."""
    rows = [d for d in found if d.apart or not (d.before and d.after)]
    if not rows:
        click.echo("Against the job file: every answer stays as it is.\n")
        return
    click.echo(f"{'Against the job file':<24}{'base':>15}{'changed':>15}  difference")
    for d in rows:
        base, now = (side.text if side else "none" for side in (d.before, d.after))
        click.echo(f"  {d.label:<22}{base:>15}{now:>15}  {d.apart or '-'}")
    click.echo()
