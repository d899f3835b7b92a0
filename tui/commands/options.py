"""Options that several commands share, and how they print for a machine."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from assistant.record.plain import harmless_json
from tui.choice import DEFAULT_CALLSIGN, Choice

_FIGURES = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,4})?")

Command = TypeVar("Command", bound=Callable[..., Any])

as_json = click.option("--json", "as_json", is_flag=True, help="For a machine: SI, units in the key names.")


class NamedPath(click.Path):
    """A path that has a name: '' is what a shell makes of a variable that is not set."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value == "":
            self.fail("the name is empty; name a file or folder.", param, ctx)
        if isinstance(value, str) and "\0" in value:
            self.fail("the name holds a sign that no name can hold; correct it.", param, ctx)
        return super().convert(value, param, ctx)


a_path = NamedPath(path_type=Path)
job_argument = click.argument("job", type=a_path, required=False)


BENCH = "loopwright.bench"  # where the context keeps the folder of `works_bench`


def _keep_bench(ctx: click.Context, _param: click.Parameter, folder: Path | None) -> None:
    ctx.meta[BENCH] = folder


works_bench = click.option(
    "--bench",
    type=a_path,
    metavar="FOLDER",
    expose_value=False,
    callback=_keep_bench,
    help="The works' own folder of data, in place of bench/ in the folder of the records.",
)


def between(low: float, high: float) -> Callable[[str | float], float]:
    """An option's type: a number in figures from `low` to `high`, beyond which it can only be a slip."""

    def number(given: str | float) -> float:  # a float: the option's own default
        text = str(given)
        told = text if len(text) <= 40 else f"{text[:37]}..."
        if not _FIGURES.fullmatch(text):
            hint = "; write a point, not a comma" if re.fullmatch(r"[+-]?\d+,\d+", text) else ""
            raise click.BadParameter(f"'{told}' is not a number{hint}.")
        value = float(text)
        if not low <= value <= high:
            raise click.BadParameter(f"{told} cannot be: give {low:g} to {high:g}.")
        return value

    return number


def session_options(command: Command) -> Command:
    """--job, --folder, --resume, --new, --microphone, --typed."""
    options = (
        click.option("--job", type=a_path, help="Job sheet (TOML) to begin from."),
        click.option(
            "--folder",
            type=a_path,
            help="Folder of the records, in place of the usual one.",
        ),
        click.option("--resume", metavar="ID", help="Take up this session."),
        click.option("--new", is_flag=True, help="Begin a new session even if one was left."),
        click.option(
            "--microphone",
            type=a_path,
            metavar="WAV",
            help="Listen to this sound file, in real time, in place of the microphone.",
        ),
        click.option(
            "--callsign",
            metavar="WORD",
            default=DEFAULT_CALLSIGN,
            show_default=True,
            envvar="LOOPWRIGHT_CALLSIGN",
            help="The word that calls the bench; 'none': everything heard is for it.",
        ),
        click.option("--typed", is_flag=True, help="No microphone and no voice: typing and reading only."),
    )
    for option in reversed(options):
        command = option(command)
    return command


def choice_from(
    job: Path | None,
    folder: Path | None,
    resume: str | None,
    new: bool,
    typed: bool,
    microphone: Path | None,
    callsign: str,
) -> Choice:
    if resume is not None and new:
        raise click.UsageError("Give --resume or --new, not both.")
    if resume is not None and job is not None:
        raise click.UsageError("A session that is taken up has its job already; leave --job out.")
    if typed and microphone is not None:
        raise click.UsageError("Give --microphone or --typed, not both.")
    from assistant.callsign import why_no_callsign

    if callsign != "none" and (why := why_no_callsign(callsign)):
        raise click.UsageError(f"The callsign {why}; {callsign[:40]!r} is no such thing.")
    return Choice(job, folder, resume, new, typed, microphone, None if callsign == "none" else callsign)


def needed(**values: float | None) -> list[float]:
    """The values, all of them there. Raises: click.UsageError naming the options that are not."""
    absent = [f"--{name.replace('_', '-')}" for name, value in values.items() if value is None]
    if absent:
        raise click.UsageError(f"Give {', '.join(absent)}, or a job file that has it.")
    return [value for value in values.values() if value is not None]


def print_json(value: object) -> None:
    """One JSON document on standard output; not-a-number is a fault, not a value."""
    click.echo(harmless_json(json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False)))
