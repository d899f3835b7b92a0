"""`loopwright learn PRESS`: its constants from readings of past sessions or of files, kept for the next time."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import a_path, as_json, print_json
from tui.plain import plain

if TYPE_CHECKING:
    from assistant.bench.catalogue import Catalogue
    from assistant.bench.learned import LearnedPress
    from assistant.bench.press import Press
    from assistant.recipe.learning import Learned, PastRun


@click.command(
    "learn",
    short_help="Learn a press's constants from past sessions.",
    epilog="Exit codes: 0 learned; 1 too few readings; 2 bad input.",
)
@click.argument("press")
@click.option(
    "--readings",
    "files",
    multiple=True,
    type=a_path,
    metavar="FILE",
    help="Learn from the readings of this file, in place of the record; may be given again, oldest first.",
)
@click.option("--job", type=a_path, help="With --readings: what lay in the press.")
@click.option("--write", is_flag=True, help="With --readings: keep what was learned, as from the record.")
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@click.option("--dry", is_flag=True, help="Only say what would be learned; write nothing.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    press: str,
    files: tuple[Path, ...],
    job: Path | None,
    write: bool,
    folder: Path | None,
    dry: bool,
    as_json: bool,
) -> None:
    """Fits heating power, losses and cooling of both platens of PRESS (its key) to recorded readings.

    Least squares on the recipe's own model, with 95 % intervals. The result is written to bench/learned/ in the
    folder of the records and used from then on; take the file away to go back to the planning values. Sessions on
    the simulated press are never used. A latest session that differs from those before it is flagged as drift.

    With --readings and --job the readings come from files ('loopwright schema readings'), one cycle each, run at
    the set temperatures of the job's recipe; then nothing is written without --write.
    """
    from assistant.bench.bad_data import BadData
    from assistant.bench.catalogue import load_catalogue
    from assistant.recipe.learning import learn
    from assistant.recipe.not_computable import NotComputable
    from assistant.record.store import Store
    from assistant.review.own import keys_in
    from assistant.review.past_runs import LATEST, PastRuns, past_runs

    if bool(files) != (job is not None) or (write and not files):
        raise click.UsageError("--readings and --job go together, and --write goes with them.")
    if folder is not None and not folder.is_dir():
        raise BadData(f"There is no folder '{folder}'; check the name.")
    store = Store(folder)
    own = store.folder / "bench"
    catalogue = load_catalogue(own if own.is_dir() else None, planning=True)
    if press not in catalogue.presses:
        raise BadData(f"There is no press '{press[:40]}'; there are {', '.join(catalogue.presses)}.")
    if job is not None:
        past, dry = PastRuns(_of_files(files, job, press, catalogue), ()), not write
    else:
        logs = [store.log_path(row.session) for row in store.sessions()]
        keys = keys_in(store.folder)
        if logs and keys is None:
            raise BadData(
                f"No bench's key lies in '{store.folder}', so nothing shows which of its records are of a real press; "
                "learn where the sessions were recorded, or from files with --readings."
            )
        past = past_runs(logs, press, catalogue, keys)
    runs = past.runs[-LATEST:]
    try:
        found = learn(runs)
    except NotComputable as refusal:
        if as_json:
            print_json({"learned": False, "reason": str(refusal), "left_out": past.left_out})
        else:
            click.echo(f"{refusal}")
            for sentence in past.left_out:
                click.echo(plain(f"Left out: {sentence}"))
        ctx.exit(1)
    learned = _learned(catalogue.presses[press], found, runs)
    path = own / "learned" / f"{press}.toml"
    if not dry:
        _write(path, learned)
    if as_json:
        result: dict[str, Any] = {
            "learned": True, "written": None if dry else str(path), **learned.model_dump(),
            "factors": {name: vars(factor) for name, factor in found.factors.items()}, "left_out": past.left_out,
        }  # fmt: skip
        print_json(result)
        return
    click.echo(
        f"{catalogue.presses[press].name}: {learned.words} {found.readings} readings, {found.residual_K:.1f} K left.\n"
    )
    for side in ("upper", "lower"):
        for key, constant in getattr(learned, side):
            name = f"{side}_{key.split('_')[0]}"
            factor = found.factors[name]
            click.echo(
                f"{side} {key:<14}{constant.value:>9.4g}  ({constant.low:.4g} to {constant.high:.4g}), "
                f"{100 * factor.value:.0f} % of the planning value"
            )
    for sentence in past.left_out:
        click.echo(plain(f"Left out: {sentence}"))
    click.echo(
        "\nNothing was written." if dry else f"\nWritten to {plain(str(path))}; it is used from now on."
    )


def _of_files(files: tuple[Path, ...], job: Path, press: str, catalogue: Catalogue) -> tuple[PastRun, ...]:
    """One cycle a file, of `job` with the planning values of `press`. Raises: BadData."""
    from assistant.bench.bad_data import BadData
    from assistant.bench.readings_file import read_readings, with_values
    from assistant.bench.sheet import build_job, read_sheet
    from assistant.recipe.learning import PastReading, PastRun
    from assistant.recipe.outcome import Recipe
    from assistant.recipe.recipe import compute_recipe, settings_of

    built = build_job(read_sheet(job, catalogue), catalogue)
    if isinstance(built, tuple):
        raise BadData(f"{job}: {built[0]}")
    if built.press.key != press:
        raise BadData(f"{job} is for the press '{built.press.key}', not for '{press}'; give its own job.")
    recipe = compute_recipe(built)
    if not isinstance(recipe, Recipe):
        raise BadData(f"{job}: there is no recipe: {recipe.reason}")
    runs = []
    for file in files:
        given = read_readings(file)
        at_set_s, cool_on_s = (
            None if at_s is None else at_s - given.heat_on_s for at_s in (given.at_set_s, given.cool_on_s)
        )
        told = tuple(
            PastReading(one.slot, one.value, one.t_s - given.heat_on_s) for one in with_values(given)
        )
        runs.append(PastRun(built, settings_of(recipe), told, cool_on_s, at_set_s, given.date))
    return tuple(runs)


def _learned(press: Press, found: Learned, runs: tuple[PastRun, ...]) -> LearnedPress:
    from assistant.bench.learned import Constant, LearnedPlaten, LearnedPress

    def constant(name: str, planned: float) -> Constant:
        factor = found.factors[name]
        return Constant(value=planned * factor.value, low=planned * factor.low, high=planned * factor.high)

    def platen(side: str) -> LearnedPlaten:
        planned = press.upper if side == "upper" else press.lower
        cooling = planned.cooling_W_m2K or press.cooling.coefficient_W_m2K
        return LearnedPlaten(
            power_W_m2=constant(f"{side}_power", planned.power_W_m2),
            loss_W_m2K=constant(f"{side}_loss", planned.loss_W_m2K),
            cooling_W_m2K=constant(f"{side}_cooling", cooling),
        )

    return LearnedPress(
        schema_version=1,
        key=press.key,
        sessions=found.sessions,
        readings=found.readings,
        residual_K=round(found.residual_K, 2),
        first=runs[0].date,
        last=runs[-1].date,
        upper=platen("upper"),
        lower=platen("lower"),
        drift=found.drift,
        source="least squares of the recorded readings on the model of the recipe; 95 % intervals",
    )


def _write(path: Path, learned: LearnedPress) -> None:
    """Whole beside the old file, then in its place. Raises: OSError."""
    from assistant.bench.learned import as_toml
    from assistant.record.log import sync_folder

    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = path.with_suffix(f".{os.getpid()}.draft")
    try:
        draft.unlink(missing_ok=True)  # never through a link that lies there
        with draft.open("x", encoding="utf-8") as file:
            file.write(as_toml(learned))
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
        sync_folder(path.parent)
    finally:
        with contextlib.suppress(OSError):
            draft.unlink()
