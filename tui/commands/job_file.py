"""A job file as the computing commands take it: whole for a recipe, or only for what it happens to say."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import BENCH

if TYPE_CHECKING:
    from assistant.bench.belt import Belt
    from assistant.bench.catalogue import Catalogue
    from assistant.bench.job import Job
    from assistant.bench.press import Press
    from assistant.bench.template import Punch


@dataclass(frozen=True)
class Partial:
    """What a job file says, or nothing at all."""

    values: dict[str, Any] = field(default_factory=dict)
    belt: Belt | None = None
    punch: Punch | None = None
    press: Press | None = None

    def number(self, slot: str) -> float | None:
        """A quantity of the sheet, SI."""
        value = self.values.get(slot)
        return None if value is None else float(value)


def read_partial(path: Path | None) -> Partial:
    """Raises: BadData for a file that cannot be used."""
    if path is None:
        return Partial()
    from assistant.bench import chosen
    from assistant.bench.sheet import read_sheet, with_defaults

    catalogue = catalogue_of()
    values, _told = with_defaults(read_sheet(path, catalogue), catalogue)
    return Partial(
        values,
        chosen.belt(values, catalogue),
        catalogue.punches.get(str(values.get("punch"))),
        catalogue.presses.get(str(values.get("press"))),
    )


def read_whole(path: Path) -> tuple[Job, dict[str, Any], tuple[str, ...]]:
    """The job, its values by slot (SI), and what was taken as proposed.

    Raises: BadData for a file that cannot be used; click.ClickException for a job that is not whole.
    """
    from assistant.bench.sheet import build_job, read_sheet, with_defaults

    catalogue = catalogue_of()
    values, told = with_defaults(read_sheet(path, catalogue), catalogue)
    job = build_job(values, catalogue)
    if isinstance(job, tuple):
        raise click.ClickException(f"'{path}': {' '.join(job)}")
    return job, values, (*told, job.press.learned) if job.press.learned else told


def catalogue_of() -> Catalogue:
    """The packaged bench, with the works' own data of --bench, or where a session finds them too.

    Raises: BadData.
    """
    from assistant.bench.catalogue import load_catalogue
    from assistant.record.store import default_folder

    context = click.get_current_context(silent=True)
    folder: Path | None = context.meta.get(BENCH) if context else None
    if folder is not None:
        return load_catalogue(folder)
    own = default_folder() / "bench"
    return load_catalogue(own if own.is_dir() else None)


def leads() -> dict[float, float]:
    """Resistance of one core at 20 °C, ohm per km, by section in mm²."""
    from assistant.bench.catalogue import ohm_per_km

    return ohm_per_km(catalogue_of())


UNIT = {
    "temperature": "_K",
    "length": "_m",
    "voltage": "_V",
    "section": "_m2",
    "duration": "_s",
    "pressure": "_Pa",
}


def as_understood(values: dict[str, Any]) -> dict[str, Any]:
    """The sheet's values with units in the key names, for --json."""
    from assistant.bench.sheet import SLOTS

    unit = {info.slot: UNIT.get(info.quantity or "", "") for info in SLOTS}
    return {f"{slot}{unit.get(slot, '')}": value for slot, value in values.items()}
