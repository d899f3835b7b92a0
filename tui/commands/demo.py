"""`loopwright demo`: the example job, whole and unattended, on a simulated press."""

from __future__ import annotations

from pathlib import Path

import click

from tui.commands.options import a_path


@click.command(
    "demo",
    short_help="The whole example job, unattended, on a simulated press.",
    epilog="Exit codes: 0 the joint was accepted and its record verifies; 1 it was not or does not; 2 bad input.",
)
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@click.option("--typed", is_flag=True, help="The technician types: no voice and no recogniser.")
@click.pass_context
def command(ctx: click.Context, /, folder: Path | None, typed: bool) -> None:
    """A scripted technician of an orchard co-operative joins a belt, speaking where a voice can be had.

    SIMULATED: the press is computed and its time runs fast; such a record can never be kept as a joint.
    """
    from tui.demo import run_demo

    ctx.exit(run_demo(folder, typed, click.echo))
