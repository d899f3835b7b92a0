"""From one key of the bench to the next: a hand-over that both have signed, and which keys are vouched for by it.

The old key signs, so that whoever trusts it may trust the new one; the new one signs too, so that whoever
has only the new one may trust what the old one sealed, and nobody can pass a key off as its forerunner.
A hand-over is a line of canonical JSON below the key in the bench's public key file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

import msgspec
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.record.canonical import canonical


@dataclass(frozen=True)
class HandOver:
    """old, new: public keys as hex. wall: when, ISO 8601 with offset. given, taken: signatures of old and new as hex."""

    old: str
    new: str
    wall: str
    given: str
    taken: str
    v: int = 1

    def line(self) -> bytes:
        """As it stands in the file, without newline."""
        return canonical(asdict(self))


def hand_over(old: Ed25519PrivateKey, new: Ed25519PrivateKey, wall: str) -> HandOver:
    """Signed by both."""
    old_hex, new_hex = (key.public_key().public_bytes_raw().hex() for key in (old, new))
    signed = _signed_bytes(old_hex, new_hex, wall)
    return HandOver(old_hex, new_hex, wall, old.sign(signed).hex(), new.sign(signed).hex())


def read_hand_over(raw: bytes) -> HandOver:
    """From its line. Raises: ValueError where it is none, or a signature does not fit."""
    found = msgspec.json.decode(raw, type=HandOver)  # its errors are ValueErrors
    try:
        zoned = datetime.fromisoformat(found.wall).tzinfo is not None
        signed = _signed_bytes(found.old, found.new, found.wall)
        for key, signature in ((found.old, found.given), (found.new, found.taken)):
            Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(bytes.fromhex(signature), signed)
    except InvalidSignature:
        raise ValueError("a signature does not fit") from None
    hexes = (found.old, found.new, found.given, found.taken)
    if not zoned or found.v != 1 or found.line() != raw or any(bytes.fromhex(h).hex() != h for h in hexes):
        raise ValueError("it is not written as the program writes it")
    return found


@dataclass(frozen=True)
class KnownKeys:
    """The key that was given, and the hand-overs that tell of those before and after it.

    Raises: ValueError where one key was handed over, or taken from, twice: then one of them was stolen.
    """

    given: str
    hand_overs: Sequence[HandOver] = ()

    def __post_init__(self) -> None:
        for keys in ([one.old for one in self.hand_overs], [one.new for one in self.hand_overs]):
            if len(set(keys)) != len(keys):
                raise ValueError("a key is handed over twice; one of the hand-overs is forged")

    def earlier(self) -> tuple[str, ...]:
        """Keys before the given one, the nearest first."""
        return _along({one.new: one.old for one in self.hand_overs}, self.given)

    def later(self) -> tuple[str, ...]:
        return _along({one.old: one.new for one in self.hand_overs}, self.given)

    def all(self) -> tuple[str, ...]:
        """Never forwards again from an earlier key: whoever had stolen that could sign it over to his own."""
        return (self.given, *self.earlier(), *self.later())

    def ended(self, key: str) -> str:
        """Wall time at which it was handed over; '' if nothing tells."""
        return next((one.wall for one in self.hand_overs if one.old == key), "")

    def fault(self, key: str, wall: str) -> str:
        """Why a signature of `key` made at `wall` is not the bench's, as the end of a sentence; '' if it is."""
        if key not in self.all():
            return "was made with another key than the one given"
        ended = self.ended(key)
        if ended and datetime.fromisoformat(wall) > datetime.fromisoformat(ended):
            return (
                f"is dated {wall}, and its key was handed over at {ended}: either the clock was wrong, or "
                "somebody kept the old key; ask"
            )
        return ""


def _along(step: dict[str, str], key: str) -> tuple[str, ...]:
    found: list[str] = []
    while (key := step.get(key, "")) and key not in found:
        found.append(key)
    return tuple(found)


def _signed_bytes(old: str, new: str, wall: str) -> bytes:
    return b"loopwright key hand-over 1\0" + canonical({"old": old, "new": new, "wall": wall})
