"""`loopwright hear`: sound files through the listening chain, one JSON line per utterance."""

from __future__ import annotations

from pathlib import Path

import click

from tui.commands.options import a_path


@click.command(
    "hear",
    short_help="Put sound files through the listening chain.",
    epilog="Exit codes: 0 the files were heard, even if nobody spoke in them; 2 a file, the phrase list "
    "or the ears cannot be used.",
)
@click.argument("files", nargs=-1, required=True, type=a_path, metavar="FILE.wav...")
@click.option(
    "--phrases",
    type=a_path,
    help="What can be understood: one phrase a line, words only.",
)
@click.option("--json", "_", is_flag=True, expose_value=False, help="JSON lines, as without it.")
@click.option("--plain", is_flag=True, help="For people, in place of JSON lines.")
def command(files: tuple[Path, ...], phrases: Path | None, plain: bool) -> None:
    """Hears each file as the bench would, and prints one JSON line per utterance: file, start and end in
    seconds, heard, alternatives, sureness, verified, understood, engine, snr_db, gate_grade, why_not.
    """
    from tui.hear import hear

    hear(files, phrases, click.echo, as_json=not plain)
