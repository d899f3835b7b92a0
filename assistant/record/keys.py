"""The bench's own signing key: made on first use, readable by its owner only, handed over to a new one.

Whoever can read this key can seal whatever they like in the bench's name; it shows which bench sealed a
log, not which person. The public half beside it is for the supervisor to take away and verify with; below
the key it holds the hand-overs from the keys before, so that older seals still verify.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path

from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.record.chain import RecordError
from assistant.record.hand_over import HandOver, KnownKeys, hand_over, read_hand_over
from assistant.record.log import sync_folder
from assistant.record.plain import plain

PRIVATE_NAME, PUBLIC_NAME = "bench.key", "bench.pub"
NEXT_NAME = "bench.key.next"  # the new key, until the hand-over is on disk
_LARGEST = 500_000  # bytes of a key file; about a thousand hand-overs
_END = b"-----END PUBLIC KEY-----"


class KeyTrouble(RecordError):  # noqa: N818 - says what happened
    """A key is missing, unreadable or open to others."""


def bench_key(folder: Path) -> Ed25519PrivateKey:
    """The key in `folder`, made there if there is none. Raises: KeyTrouble."""
    path = folder / PRIVATE_NAME
    if (folder / NEXT_NAME).exists():
        with _alone(folder):
            _finish_rotation(folder)
    if not path.exists():
        _make(folder)
    key = private_key(path, None, f"bench key {plain(path)}", "move it away and a new one will be made")
    assert key is not None
    return key


def rotate(folder: Path, wall: str) -> HandOver:
    """A new key in place of the bench's, which signs it over and is gone then. wall: now, ISO 8601.

    Cut short at any moment, the next use of the key finds either the old one or the new one whole.
    Raises: KeyTrouble.
    """
    bench_key(folder)
    with _alone(folder):
        _finish_rotation(folder)
        old = bench_key(folder)
        public_file = folder / PUBLIC_NAME
        before: tuple[HandOver, ...] = ()
        if public_file.exists():
            known = known_keys(public_file)
            if known.given != public_hex(old.public_key()):
                raise KeyTrouble(
                    f"{plain(public_file)} is not the public half of the bench's key; move it away, or put the "
                    "right one back, and rotate again."
                )
            before = tuple(known.hand_overs)
        new = Ed25519PrivateKey.generate()
        made = hand_over(old, new, wall)
        try:
            write_new(folder / NEXT_NAME, private_pem(new))
            _put(public_file, public_text(new.public_key(), (*before, made)))
            _finish_rotation(folder)
        except OSError as error:
            raise KeyTrouble(
                f"The new bench key cannot be written in {plain(folder)}: {error.strerror}. "
                "Check the disk and the rights on the folder."
            ) from error
    return made


def known_keys(path: Path, history: Path | None = None) -> KnownKeys:
    """A public key file and the hand-overs in it, or in `history`, a later copy of the same. Raises: KeyTrouble."""
    pem, lines = _public_file(path)
    given = public_hex(_public_key(pem, path))
    if history is not None:
        path, lines = history, _public_file(history)[1]
    hand_overs = []
    for number, line in lines:
        try:
            hand_overs.append(read_hand_over(line))
        except ValueError as error:
            raise KeyTrouble(
                f"Line {number} of the key file {plain(path)} is no hand-over of a key: {plain(error)[:100]}. "
                f"Give the bench's {PUBLIC_NAME} as it is."
            ) from error
    try:
        known = KnownKeys(given, tuple(hand_overs))
    except ValueError as error:
        raise KeyTrouble(f"The hand-overs in {plain(path)} cannot be: {error}. Ask who had it.") from error
    if history is not None and not known.earlier() and not known.later():
        raise KeyTrouble(f"{plain(path)} tells of no hand-over from or to the key that was given.")
    return known


def earlier_keys(folder: Path) -> KnownKeys:
    """The bench's own key and those before it. Raises: KeyTrouble where its public file is damaged."""
    own = public_hex(bench_key(folder).public_key())
    if not (folder / PUBLIC_NAME).exists():
        return KnownKeys(own)
    known = known_keys(folder / PUBLIC_NAME)
    return known if known.given == own else KnownKeys(own)


def load_public_key(path: Path) -> Ed25519PublicKey:
    """A public key file (PEM), as `bench_key` leaves beside the private one. Raises: KeyTrouble."""
    return _public_key(_public_file(path)[0], path)


def private_key(path: Path, passphrase: bytes | None, what: str, way_out: str) -> Ed25519PrivateKey | None:
    """The key in a PEM file that is its owner's only; None where it wants a passphrase and there is none.

    what, way_out: for the sentence. Raises: KeyTrouble.
    """
    try:
        if path.exists() and not path.is_file():
            raise KeyTrouble(f"The {what} is no key file; {way_out}.")
        open_to_others = stat.S_IMODE(path.stat().st_mode) & 0o077
        with path.open("rb") as file:
            raw = file.read(_LARGEST)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise KeyTrouble(f"The {what} cannot be read: {reason}.") from error
    if open_to_others:
        raise KeyTrouble(
            f"The {what} is open to other users and is not used; run 'chmod 600' on it, or {way_out}."
        )
    try:
        key = serialization.load_pem_private_key(raw, password=passphrase)
    except TypeError as error:  # wants a passphrase, or has none and was given one
        if passphrase is None:
            return None
        raise KeyTrouble(f"The {what} has no passphrase, and one was given; leave it out.") from error
    except (ValueError, UnsupportedAlgorithm) as error:
        if passphrase is not None and b"ENCRYPTED" in raw:
            raise KeyTrouble(f"The passphrase is not the one of the {what}.") from error
        raise KeyTrouble(f"The {what} holds no key; {way_out}.") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise KeyTrouble(f"The {what} is not an Ed25519 key; {way_out}.")
    return key


def private_pem(key: Ed25519PrivateKey, passphrase: bytes | None = None) -> bytes:
    locked = serialization.BestAvailableEncryption(passphrase) if passphrase else serialization.NoEncryption()
    return key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, locked)


def public_text(key: Ed25519PublicKey, hand_overs: tuple[HandOver, ...] = ()) -> bytes:
    """What a public key file holds."""
    pem = key.public_bytes(serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo)
    return pem + b"".join(one.line() + b"\n" for one in hand_overs)


def public_hex(key: Ed25519PublicKey) -> str:
    """The raw 32 bytes as hex."""
    return key.public_bytes_raw().hex()


def fingerprint(key_hex: str) -> str:
    """Sixteen hex digits in fours that name a public key to people."""
    name = hashlib.sha256(bytes.fromhex(key_hex)).hexdigest()[:16]
    return " ".join(name[at : at + 4] for at in range(0, 16, 4))


def write_new(path: Path, data: bytes) -> None:
    """A new file of mode 0600, on disk when this returns. Raises: OSError, FileExistsError among them."""
    fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
    with os.fdopen(fd, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(fd)


def _public_file(path: Path) -> tuple[bytes, list[tuple[int, bytes]]]:
    """The PEM, and the lines below it with their numbers from 1. Raises: KeyTrouble."""
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
    pem, end, rest = raw.partition(_END)
    below = [(pem.count(b"\n") + 1 + n, line) for n, line in enumerate(rest.split(b"\n"))]
    return pem + end + b"\n", [(number, line) for number, line in below if line]


def _public_key(pem: bytes, path: Path) -> Ed25519PublicKey:
    try:
        key = serialization.load_pem_public_key(pem)
    except (ValueError, UnsupportedAlgorithm) as error:
        raise KeyTrouble(f"{plain(path)} holds no public key; give the bench's {PUBLIC_NAME}.") from error
    if not isinstance(key, Ed25519PublicKey):
        raise KeyTrouble(f"{plain(path)} is not an Ed25519 public key; give the bench's {PUBLIC_NAME}.")
    return key


def _make(folder: Path) -> None:
    key = Ed25519PrivateKey.generate()
    # Two programs may both make one at first use; whoever links its file first wins, and no half-written
    # key is ever seen under the name.
    draft = folder / f"{PRIVATE_NAME}.{os.getpid()}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_new(draft, private_pem(key))
        with contextlib.suppress(FileExistsError):
            os.link(draft, folder / PRIVATE_NAME)
            _set_aside(folder / PUBLIC_NAME)
            _put(folder / PUBLIC_NAME, public_text(key.public_key()))
        draft.unlink()
        sync_folder(folder)
    except OSError as error:
        with contextlib.suppress(OSError):
            draft.unlink()
        raise KeyTrouble(
            f"The bench key cannot be made in {plain(folder)}: {error.strerror}. Check the rights on the folder."
        ) from error


def _set_aside(public_file: Path) -> None:
    """The public half of a key that was moved away: sealed sessions still want it. Raises: OSError."""
    if public_file.exists():
        name = hashlib.sha256(public_file.read_bytes()).hexdigest()[:16]
        public_file.replace(public_file.with_name(f"bench-{name}.pub"))


def _put(path: Path, data: bytes) -> None:
    """The file whole or not at all. Raises: OSError."""
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    draft.unlink(missing_ok=True)
    write_new(draft, data)
    draft.replace(path)
    sync_folder(path.parent)


def _finish_rotation(folder: Path) -> None:
    """Takes the new key where the hand-over to it is on disk; forgets it where it is not. Raises: KeyTrouble."""
    fresh = folder / NEXT_NAME
    try:
        if not fresh.exists():
            return
        own = private_key(folder / PRIVATE_NAME, None, "bench key", "put it back from a copy")
        handed_over = (
            own is not None
            and (folder / PUBLIC_NAME).exists()
            and known_keys(folder / PUBLIC_NAME).given != public_hex(own.public_key())
        )
        if handed_over:
            _check_is_next(fresh, folder / PUBLIC_NAME)
            fresh.replace(folder / PRIVATE_NAME)
        else:
            fresh.unlink()
        sync_folder(folder)
    except OSError as error:
        raise KeyTrouble(
            f"The new bench key in {plain(folder)} cannot be taken into use: {error.strerror}. Check the disk."
        ) from error


def _check_is_next(fresh: Path, public_file: Path) -> None:
    """Raises: KeyTrouble."""
    key = private_key(fresh, None, f"new bench key {plain(fresh)}", "put it back from a copy")
    if key is None or public_hex(key.public_key()) != known_keys(public_file).given:
        raise KeyTrouble(
            f"{plain(fresh)} is not the key that {plain(public_file)} names; put back the files as they were, from a copy."
        )


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """One program at a time in what changes the keys. Raises: KeyTrouble."""
    try:
        fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    except OSError as error:
        raise KeyTrouble(f"The folder {plain(folder)} cannot be used for keys: {error.strerror}.") from error
    try:
        fcntl.flock(fd, fcntl.LOCK_EX)
        yield
    finally:
        os.close(fd)
