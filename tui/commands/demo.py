"""`loopwright demo`: the example job, whole and unattended, on a simulated press."""

from __future__ import annotations

from pathlib import Path

import click

from tui.commands.options import a_path, between


@click.command(
    "demo",
    short_help="The whole example job, unattended, on a simulated press.",
    epilog="Exit codes: 0 the joint was accepted and its record verifies; 1 it was not or does not; 2 bad input.",
)
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@click.option("--typed", is_flag=True, help="The technician types: no voice and no recogniser.")
@click.option(
    "--over-noise",
    "over_noise_db",
    type=between(-10, 60),
    metavar="DB",
    help="How far the technician's speech stands over the workshop's noise; 20 dB when not given.",
)
@click.pass_context
def command(ctx: click.Context, /, folder: Path | None, typed: bool, over_noise_db: float | None) -> None:
    """A scripted technician of an orchard co-operative joins a belt, speaking where a voice can be had.

    SIMULATED: the press is computed and its time runs fast; such a record can never be kept as a joint.
    """
    from tui.demo import run_demo

    if typed and over_noise_db is not None:
        raise click.UsageError(
            "--over-noise is for a technician who speaks: leave it out, or leave out --typed."
        )
    ctx.exit(run_demo(folder, typed, click.echo, over_noise_db))
