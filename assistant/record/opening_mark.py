"""The bench's mark on the opening line: its signature, so that nobody turns a simulated log into a real one.

The chain can be written anew by whoever can write the file; this line can not, without the bench's key.
A log is sealed only by a session that began with the bench's own mark.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import rfc8785
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.record.canonical import canonical


def marked(opening: Mapping[str, Any], key: Ed25519PrivateKey) -> dict[str, Any]:
    """The opening event with its `mark`: an Ed25519 signature, as hex, over all else in it."""
    return {**opening, "mark": key.sign(_signed_bytes(opening)).hex()}


def mark_fits(opening: Mapping[str, Any], key: Ed25519PublicKey) -> bool:
    """Whether the bench of `key` has marked this opening event as it stands."""
    try:
        key.verify(bytes.fromhex(opening.get("mark", "")), _signed_bytes(opening))
    except (InvalidSignature, ValueError, TypeError, rfc8785.CanonicalizationError):
        return False
    return True


def marked_with(opening: Mapping[str, Any], keys: Iterable[str]) -> str:
    """Which of the public keys, as hex, has marked it; '' for none."""
    return next(
        (key for key in keys if mark_fits(opening, Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)))),
        "",
    )


def _signed_bytes(opening: Mapping[str, Any]) -> bytes:
    return b"loopwright opening 1\0" + canonical({**opening, "mark": ""})
