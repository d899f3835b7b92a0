"""A passphrase: from a file, or typed unseen."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from tui.commands.options import a_path

_LONGEST = 1000  # bytes

passphrase_file = click.option(
    "--passphrase-file",
    type=a_path,
    help="The passphrase is the first line of this file; else it is asked for.",
)


def new_passphrase(file: Path | None) -> str:
    """One for a new key, typed twice. Raises: click.ClickException."""
    return _from_file(file) if file is not None else _typed("Passphrase for the new key", twice=True)


def passphrase(file: Path | None) -> str:
    """The one of a key that is there. Raises: click.ClickException."""
    return _from_file(file) if file is not None else _typed("Passphrase of the key", twice=False)


def _from_file(file: Path) -> str:
    try:
        if file.exists() and not file.is_dir() and not file.is_file():
            raise click.ClickException(
                f"'{file}' is not an ordinary file; name one with the passphrase in it."
            )
        with file.open("rb") as opened:
            line = opened.readline(_LONGEST + 1).rstrip(b"\r\n")
        if len(line) > _LONGEST:
            raise click.ClickException(f"The first line of '{file}' is too long for a passphrase.")
        said = line.decode()
    except UnicodeDecodeError:
        raise click.ClickException(
            f"The first line of '{file}' is not text in UTF-8; write it anew."
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise click.ClickException(f"The passphrase file '{file}' cannot be read: {reason}.") from None
    if not said:
        raise click.ClickException(f"The first line of '{file}' is empty; write the passphrase in it.")
    return said


def _typed(question: str, *, twice: bool) -> str:
    if not sys.stdin.isatty():
        raise click.ClickException(
            "A passphrase is wanted and nobody can type it here; give it with --passphrase-file."
        )
    said: str = click.prompt(question, hide_input=True, confirmation_prompt=twice, err=True)
    return said
