"""The command line: sub-commands, exit codes, and one sentence for whatever goes wrong.

Exit codes: 0 done; 1 done, and the answer is no (a record that does not verify, no recipe that can work,
a joint not accepted); 2 bad input or something missing; 3 the session was left and can be taken up again;
70 a fault of the program; 130 interrupted; 141 the reader of the output went away.
"""

from __future__ import annotations

import importlib
import os
import signal
import sys
import time
import traceback
from pathlib import Path
from typing import Any, cast

import click

from tui.choice import DEFAULT_CALLSIGN
from tui.commands.options import a_path
from tui.harmless import harmless_streams

# Our matrices are small: several threads for one of them only wait for each other. Before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROOMS = ("assistant", "intents", "speech", "tui")

# Name -> what it does; kept here so that help needs none of the commands' imports.
COMMANDS = {
    "demo": "The whole example job, unattended, on a simulated press.",
    "talk": "The conversation line by line, without a screen.",
    "recipe": "Compute the recipe of a job file, with reasons.",
    "heat": "Heat a lay-up that a file gives layer by layer.",
    "procedure": "Stages, acts and gates, and what arms each gate again; searched.",
    "schema": "What the input files may hold.",
    "interrupted": "What to do when a cycle was cut short.",
    "readings": "Judge readings of a cycle, and say what they suggest.",
    "learn": "Learn a press's constants from past sessions.",
    "fingers": "Geometry of a finger joint.",
    "length": "Cut length and notches of an endless belt.",
    "tension": "Marks and pull for fitting the belt.",
    "supply": "Whether lead and fuse can feed the press.",
    "pressure": "Pressure on the belt from the gauge, or back.",
    "touch": "What a temperature means to a hand.",
    "fit": "Whether belt, press, punch and template go together.",
    "catalogue": "Materials, belts, presses and the rest, with their sources.",
    "hear": "Put sound files through the listening chain.",
    "review": "Tell a session's record in plain words.",
    "verify": "Check a session's record, and say what vouches for it.",
    "seal": "Seal a finished session as its supervisor.",
    "keys": "The bench's signing key, and a supervisor's own.",
    "report": "Write a session's one-page report.",
    "statistics": "Charts and pass rates over many sessions.",
    "doctor": "What works on this machine, and how to get the rest.",
    "models": "Speech models: what is here, how to get one, install, remove.",
}

EPILOG = """Exit codes: 0 done; 1 the answer is no; 2 bad input; 3 left, can be taken up again;
70 fault of the program; 130 interrupted; 141 output closed."""


class LateGroup(click.Group):
    """Imports a command only when it is used."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 -- click's
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 -- click's
        if cmd_name not in COMMANDS:
            return None
        return cast(click.Command, importlib.import_module(f"tui.commands.{cmd_name}").command)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:  # here, because click would make 'no' of it
            _let_go_of_stdout()
            ctx.exit(141)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002 -- click's
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


def _print_version(ctx: click.Context, _option: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from importlib.metadata import PackageNotFoundError, version

        try:
            click.echo(f"loopwright {version('loopwright')}")
        except PackageNotFoundError:
            click.echo("loopwright from its source folder, not installed")
        ctx.exit()


@click.group(
    cls=LateGroup,
    invoke_without_command=True,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_version,
    help="Say the version.",
)
@click.option("--job", type=a_path, help="Job sheet (TOML) for the bench screen.")
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@click.option("--resume", metavar="ID", help="Take up this session.")
@click.option("--new", is_flag=True, help="Begin a new session even if one was left.")
@click.option(
    "--microphone",
    type=a_path,
    metavar="WAV",
    help="Listen to this sound file in place of the microphone.",
)
@click.option(
    "--callsign",
    metavar="WORD",
    default=DEFAULT_CALLSIGN,
    show_default=True,
    envvar="LOOPWRIGHT_CALLSIGN",
    help="The word that calls the bench; 'none': everything heard is for it.",
)
@click.option("--typed", is_flag=True, help="No microphone and no voice: typing and reading only.")
@click.pass_context
def main(ctx: click.Context, /, **given: Any) -> None:
    """Guides and records the welding of a thermoplastic belt in a hot press.

    Without a command: the bench screen.
    """
    if ctx.invoked_subcommand is None:
        from tui.commands.bench import open_bench
        from tui.commands.options import choice_from

        ctx.exit(open_bench(choice_from(**given)))
    elif any(v for k, v in given.items() if k != "callsign"):
        raise click.UsageError(f"Write these options after '{ctx.invoked_subcommand}'.", ctx)


def run(arguments: list[str] | None = None) -> None:
    """The entry point: never returns, never shows a traceback."""
    _open_what_is_closed()
    for name in ("SIGTERM", "SIGHUP"):  # so that whatever is open is closed in order
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _leave)
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # bytes or signs that the terminal has not
    with harmless_streams():
        code = _exit_code(arguments)
        try:
            sys.stdout.flush()
        except BrokenPipeError:
            _let_go_of_stdout()
            code = 141
    sys.exit(code)


def _open_what_is_closed() -> None:
    """Standard streams that whoever started us has closed: else the next file opened would be one of them."""
    while (descriptor := os.open(os.devnull, os.O_RDWR)) <= 2:
        pass
    os.close(descriptor)
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open(mode, encoding="utf-8"))  # noqa: SIM115 -- open as long as we are


def _leave(number: int, _frame: object) -> None:
    raise SystemExit(128 + number)


def _exit_code(arguments: list[str] | None) -> int:
    try:
        code = main.main(args=arguments, prog_name="loopwright", standalone_mode=False)
        return code if isinstance(code, int) else 0
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.ClickException as error:
        context = getattr(error, "ctx", None)
        more = f" '{context.command_path} --help' says more." if context is not None else ""
        _say(error.format_message() + more)
        return 2
    except (click.Abort, KeyboardInterrupt):
        return 130
    except Exception as error:  # the one place where everything ends
        if type(error).__module__.split(".")[0] in ROOMS:
            _say(str(error))
            return 2
        if isinstance(error, OSError):
            _say(_about_file(error))
            return 2
        _say(_crashed(error))
        return 70


def _say(sentence: str) -> None:
    from tui.plain import plain

    click.echo(f"loopwright: {plain(sentence)}", err=True)


def _about_file(error: OSError) -> str:
    what = error.strerror or "the system refused it"
    if error.filename is None:
        return f"{what}; check the disk and the permissions."
    return f"'{os.fsdecode(error.filename)}' cannot be used: {what}; check the name, the disk and the permissions."


def _crashed(error: Exception) -> str:
    """Writes the traceback where it can be found later; says where, in one sentence."""
    from platformdirs import user_log_path

    from assistant.record.plain import harmless

    note = user_log_path("loopwright", appauthor=False) / time.strftime("crash-%Y%m%d-%H%M%S.txt")
    told = f"a fault of the program ({type(error).__name__}); what is on disk is safe"
    try:
        note.parent.mkdir(parents=True, exist_ok=True)
        # Read at a terminal some day: what steers one is written out, half a sign as well.
        note.write_text(harmless("".join(traceback.format_exception(error))), encoding="utf-8")
    except OSError as refused:
        return f"{told}, and the note about it could not be written ({refused.strerror})."
    return f"{told}; send '{note}' to whoever looks after it."


def _let_go_of_stdout() -> None:
    """So that the interpreter's last flush has somewhere to go."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    run()
