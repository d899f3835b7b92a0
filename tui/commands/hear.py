"""`loopwright hear`: sound files or a stream through the listening chain, one JSON line per utterance."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import IO

import click

from tui.commands.options import a_path


@click.command(
    "hear",
    short_help="Put sound files through the listening chain.",
    epilog="Exit codes: 0 all was heard, even if nobody spoke in it; 2 a file, the phrase list or the ears cannot "
    "be used; 130 interrupted.",
)
@click.argument("files", nargs=-1, required=True, type=a_path, metavar="FILE.wav|FOLDER|-...")
@click.option(
    "--phrases",
    type=a_path,
    metavar="FILE",
    help="What can be understood: one phrase a line, words only; '#' begins a remark.",
)
@click.option("--words", is_flag=True, help="Also when each word was said; costs a second look at the sound.")
@click.option("--json", "_", is_flag=True, expose_value=False, help="JSON lines, as without it.")
@click.option("--plain", is_flag=True, help="For people, in place of JSON lines.")
def command(files: tuple[Path, ...], phrases: Path | None, words: bool, plain: bool) -> None:
    """Hears each file as the bench would, and prints a line as soon as an utterance has ended.

    FILE.wav: PCM of 8, 16, 24 or 32 bit or 32-bit float, 8 to 192 kHz, any number of channels, 64 MB at most.
    FOLDER: all .wav files in it and below. '-': raw sound from standard input, 16 kHz, mono, 16 bit little-endian.

    Each line is a JSON object: file; start and end of the voice in seconds from the beginning; heard; alternatives,
    and scores, the sureness of each; sureness, the mean log probability per token, null where the engine has none;
    verified, clear enough for a value; understood, the phrase of the list that was said exactly, numbers in any
    spelling, else null; ambiguous, the phrases where it could be more than one, which is no match; engine; snr_db; gate_grade, clear enough for a safety sentence; why_not, what is against
    that. With --words also words: word, start, end, probability. Nothing is judged but what is in the sound.
    """
    from tui.hear import hear

    hear(files, phrases, click.echo, as_json=not plain, words=words, stdin=_piped())


def _piped() -> IO[bytes] | None:
    """Standard input, unless a person sits before it."""
    return None if sys.stdin.isatty() else sys.stdin.buffer
