"""A supervisor's own key: kept where the supervisor likes, best under a passphrase and not on the bench's machine."""

from __future__ import annotations

from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.record.keys import KeyTrouble, private_key, private_pem, public_text, write_new
from assistant.record.log import sync_folder
from assistant.record.plain import plain

SHORTEST = 8  # characters of a passphrase


class PassphraseWanted(KeyTrouble):
    """The key is locked, and no passphrase was given."""


def make_own_key(path: Path, passphrase: str | None) -> tuple[Ed25519PrivateKey, Path]:
    """A new key in `path`, mode 0600, and where its public half lies beside it. Never writes over a file.

    Raises: KeyTrouble.
    """
    if passphrase is not None and len(passphrase) < SHORTEST:
        raise KeyTrouble(f"A passphrase has at least {SHORTEST} characters; this one has {len(passphrase)}.")
    key, public_file = Ed25519PrivateKey.generate(), path.with_name(f"{path.name}.pub")
    try:
        for file in (path, public_file):
            if file.exists() or file.is_symlink():
                raise KeyTrouble(
                    f"There is already a file {plain(file)}; a key is never written over. Name another."
                )
        write_new(path, private_pem(key, None if passphrase is None else passphrase.encode()))
        write_new(public_file, public_text(key.public_key()))
        sync_folder(path.parent)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise KeyTrouble(
            f"The key {plain(path)} cannot be made: {reason}. Check the name and the disk."
        ) from error
    return key, public_file


def own_key(path: Path, passphrase: str | None = None) -> Ed25519PrivateKey:
    """The key in `path`. Raises: KeyTrouble, PassphraseWanted."""
    way_out = "give a key that 'loopwright keys new' has made"
    what = f"key {plain(path)}"
    key = private_key(path, None if passphrase is None else passphrase.encode(), what, way_out)
    if key is None:
        raise PassphraseWanted(
            f"The {what} is locked; type its passphrase when asked, or give it with --passphrase-file."
        )
    return key
