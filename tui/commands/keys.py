"""`loopwright keys`: the bench's signing key and a supervisor's own: tell, hand over, take away, make."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tui.commands.options import a_path, as_json, print_json
from tui.commands.passphrase import new_passphrase, passphrase_file
from tui.plain import plain

if TYPE_CHECKING:
    from assistant.record.hand_over import KnownKeys

records = click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")


@click.group(
    "keys",
    short_help="The bench's signing key, and a supervisor's own.",
    epilog="Exit codes: 0 done; 2 bad input, or a key that cannot be used. 'keys COMMAND --help' says more.",
)
def command() -> None:
    """The key with which a bench seals its records, and the keys of supervisors who seal after it."""


@command.command(
    "list", short_help="The bench's key and those before it.", epilog="Exit codes: 0 told; 2 bad input."
)
@records
@as_json
def list_keys(folder: Path | None, as_json: bool) -> None:
    """Names of the bench's key, made now if there is none, and of the keys that it was handed over from."""
    from assistant.record.keys import fingerprint

    at, known = _known(folder)
    rows = [
        {
            "key": key,
            "fingerprint": fingerprint(key),
            "in_use": key == known.given,
            "handed_over": known.ended(key),
        }
        for key in (known.given, *known.earlier())
    ]
    if as_json:
        print_json({"folder": str(at), "keys": rows})
        return
    click.echo(f"The bench's key, in {plain(str(at))}")
    for row in rows:
        until = "in use" if row["in_use"] else f"handed over at {row['handed_over']}"
        click.echo(f"  {row['fingerprint']}  {until}")


@command.command(
    "rotate",
    short_help="Hand the bench's key over to a new one.",
    epilog="Exit codes: 0 handed over; 2 bad input, or it cannot be done, and the old key stays.",
)
@records
@as_json
def rotate(folder: Path | None, as_json: bool) -> None:
    """Makes a new key; both sign the hand-over, and the old private key is gone.

    Records sealed before still verify with the new public key file. It does not undo what somebody did, or can
    still do, with a stolen copy of the old key under a date before the hand-over.
    """
    from datetime import datetime

    from assistant.record.keys import PUBLIC_NAME, fingerprint
    from assistant.record.keys import rotate as hand_over

    at = _folder(folder)
    made = hand_over(at, datetime.now().astimezone().isoformat(timespec="milliseconds"))
    if as_json:
        print_json(
            {"old": made.old, "new": made.new, "handed_over": made.wall, "public": str(at / PUBLIC_NAME)}
        )
        return
    click.echo(f"Handed over from {fingerprint(made.old)} to {fingerprint(made.new)} at {made.wall}.")
    click.echo(
        f"Give the supervisor the new {plain(str(at / PUBLIC_NAME))}, by a way that nobody at the bench could change."
    )


@command.command(
    "export",
    short_help="Write the bench's public key to take away.",
    epilog="Exit codes: 0 written; 2 bad input, or it cannot be written.",
)
@click.argument("output", type=a_path)
@records
@as_json
def export(output: Path, folder: Path | None, as_json: bool) -> None:
    """The public key, and the hand-overs from earlier ones, for `loopwright verify --key`. Never the private key."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    from assistant.record.keys import fingerprint, public_text, write_new

    _, known = _known(folder)
    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(known.given))
    try:
        write_new(output, public_text(key, tuple(known.hand_overs)))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise click.ClickException(f"'{output}' cannot be written: {reason}; name a new file.") from None
    if as_json:
        print_json({"file": str(output), "key": known.given, "earlier": list(known.earlier())})
        return
    click.echo(f"Written: {plain(str(output))}, the public key {fingerprint(known.given)}.")


@command.command(
    "new",
    short_help="Make a supervisor's own key.",
    epilog="Exit codes: 0 made; 2 bad input, or it cannot be made.",
)
@click.argument("file", type=a_path)
@passphrase_file
@click.option("--no-passphrase", is_flag=True, help="Whoever can read the file can then seal in your name.")
@as_json
def new(file: Path, passphrase_file: Path | None, no_passphrase: bool, as_json: bool) -> None:
    """A key of your own in FILE, for `loopwright seal`; keep it off the bench's machine. FILE.pub is to give away."""
    from assistant.record.keys import fingerprint, public_hex
    from assistant.record.own_key import make_own_key

    if no_passphrase and passphrase_file is not None:
        raise click.UsageError("Give --passphrase-file or --no-passphrase, not both.")
    key, public_file = make_own_key(file, None if no_passphrase else new_passphrase(passphrase_file))
    name = fingerprint(public_hex(key.public_key()))
    if as_json:
        print_json(
            {"file": str(file), "public": str(public_file), "fingerprint": name, "locked": not no_passphrase}
        )
        return
    click.echo(
        f"Written: {plain(str(file))}, and {plain(str(public_file))} to give away. The key's name is {name}."
    )


def _folder(folder: Path | None) -> Path:
    from assistant.record.store import Store

    return Store(folder).folder


def _known(folder: Path | None) -> tuple[Path, KnownKeys]:
    from assistant.record.keys import earlier_keys

    at = _folder(folder)
    return at, earlier_keys(at)
