"""The bench's own signing key: made on first use, readable by its owner only.

Whoever can read this key can seal whatever they like in the bench's name; it shows which bench sealed a
log, not which person. The public half beside it is for the supervisor to take away and verify with.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.record.chain import RecordError
from assistant.record.log import sync_folder
from assistant.record.plain import plain

PRIVATE_NAME, PUBLIC_NAME = "bench.key", "bench.pub"
_LARGEST = 10_000  # bytes of a key file


class KeyTrouble(RecordError):  # noqa: N818 - says what happened
    """A key is missing, unreadable or open to others."""


def bench_key(folder: Path) -> Ed25519PrivateKey:
    """The key in `folder`, made there if there is none. Raises: KeyTrouble."""
    path = folder / PRIVATE_NAME
    if not path.exists():
        _make(folder)
    try:
        if not path.is_file():
            raise KeyTrouble(f"{plain(path)} is no key file; move it away and a new one will be made.")
        open_to_others = stat.S_IMODE(path.stat().st_mode) & 0o077
        raw = path.read_bytes()[:_LARGEST]
    except OSError as error:
        raise KeyTrouble(f"The bench key {plain(path)} cannot be read: {error.strerror}.") from error
    if open_to_others:
        raise KeyTrouble(
            f"The bench key {plain(path)} is open to other users and is not used; run 'chmod 600' on it, "
            "or move it away so that a new one is made."
        )
    try:
        key = serialization.load_pem_private_key(raw, password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise KeyTrouble(f"{plain(path)} holds no key; move it away and a new one will be made.") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise KeyTrouble(f"{plain(path)} is not an Ed25519 key; move it away and a new one will be made.")
    return key


def load_public_key(path: Path) -> Ed25519PublicKey:
    """A public key file (PEM), as `bench_key` leaves beside the private one. Raises: KeyTrouble."""
    try:
        if path.exists() and not path.is_dir() and not path.is_file():
            raise KeyTrouble(
                f"The key file {plain(path)} is not an ordinary file; give the bench's {PUBLIC_NAME}."
            )
        with path.open("rb") as file:
            raw = file.read(_LARGEST)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise KeyTrouble(f"The key file {plain(path)} cannot be read: {reason}. Check the name.") from error
    try:
        key = serialization.load_pem_public_key(raw)
    except (ValueError, UnsupportedAlgorithm) as error:
        raise KeyTrouble(f"{plain(path)} holds no public key; give the bench's {PUBLIC_NAME}.") from error
    if not isinstance(key, Ed25519PublicKey):
        raise KeyTrouble(f"{plain(path)} is not an Ed25519 public key; give the bench's {PUBLIC_NAME}.")
    return key


def public_hex(key: Ed25519PublicKey) -> str:
    """The raw 32 bytes as hex."""
    return key.public_bytes_raw().hex()


def fingerprint(key_hex: str) -> str:
    """Sixteen hex digits in fours that name a public key to people."""
    name = hashlib.sha256(bytes.fromhex(key_hex)).hexdigest()[:16]
    return " ".join(name[at : at + 4] for at in range(0, 16, 4))


def _make(folder: Path) -> None:
    key = Ed25519PrivateKey.generate()
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    public = key.public_key().public_bytes(
        serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    # Two programs may both make one at first use; whoever links its file first wins, and no half-written
    # key is ever seen under the name.
    draft = folder / f"{PRIVATE_NAME}.{os.getpid()}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_new(draft, private)
        with contextlib.suppress(FileExistsError):
            os.link(draft, folder / PRIVATE_NAME)
            write_new(folder / PUBLIC_NAME, public)
        draft.unlink()
        sync_folder(folder)
    except OSError as error:
        with contextlib.suppress(OSError):
            draft.unlink()
        raise KeyTrouble(
            f"The bench key cannot be made in {plain(folder)}: {error.strerror}. Check the rights on the folder."
        ) from error


def write_new(path: Path, data: bytes) -> None:
    """A new file of mode 0600, on disk when this returns. Raises: OSError, FileExistsError among them."""
    fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
    with os.fdopen(fd, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(fd)
