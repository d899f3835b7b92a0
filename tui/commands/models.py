"""`loopwright models`: which speech models were found, and their digests."""

from __future__ import annotations

from typing import Any

import click

from tui.commands.options import as_json, print_json


@click.command(
    "models",
    short_help="Speech models that were found, and their digests.",
    epilog="Exit codes: 0 a model that can verify a gate was found; 1 none; 2 a model that was named cannot be used.",
)
@as_json
@click.pass_context
def command(ctx: click.Context, /, as_json: bool) -> None:
    """Looks where the bench would look, and loads nothing."""
    from speech.errors import Missing
    from speech.models import find_vosk, find_whisper

    whisper, vosk = find_whisper(), find_vosk()
    found: dict[str, Any] = {}
    if isinstance(whisper, Missing):
        found["whisper"] = {"found": False, "sentence": whisper.sentence}
    else:
        found["whisper"] = {
            "found": True,
            "path": str(whisper.path),
            "origin": whisper.origin,
            "sha256": whisper.sha256,
            "is_the_pinned_one": whisper.pinned,
        }
    found["vosk"] = (
        {"found": False, "sentence": vosk.sentence}
        if isinstance(vosk, Missing)
        else {"found": True, "path": str(vosk)}
    )
    if as_json:
        print_json(found)
    else:
        for engine, about in found.items():
            click.echo(f"{engine}: {_told(about)}")
    ctx.exit(1 if isinstance(whisper, Missing) else 0)


def _told(about: dict[str, Any]) -> str:
    if not about["found"]:
        return str(about["sentence"])
    if "sha256" not in about:
        return str(about["path"])
    known = "the one we know" if about["is_the_pinned_one"] else "your own, not the one we know"
    return f"{about['path']} ({about['origin']})\n  SHA-256 of model.bin {about['sha256']}, {known}"
