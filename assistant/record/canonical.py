"""Canonical JSON (RFC 8785) of what a log line holds: the quick way, where it is known to be the same.

msgspec's encoder sorts, spaces and escapes as the RFC asks; only numbers and keys need a look first. What is left
over (exponents, keys beyond the basic plane, what must be refused) goes to `rfc8785`, which is some forty times
slower; with it an append waited longer for its bytes than for the disk.
"""

from __future__ import annotations

from typing import Any

import msgspec
import rfc8785

_EXACT = 2**53
_encode = msgspec.json.Encoder(order="sorted").encode


class _Beyond(Exception):  # noqa: N818 - says what happened
    """Not for the quick way."""


def canonical(value: Any) -> bytes:
    """The canonical bytes. Raises: rfc8785.CanonicalizationError, RecursionError."""
    try:
        return _encode(_as_written(value))
    except (_Beyond, UnicodeEncodeError):
        pass
    try:
        return rfc8785.dumps(value)
    except UnicodeEncodeError as error:  # its own oversight, for half a surrogate pair in a key
        raise rfc8785.CanonicalizationError(str(error)) from error


def _as_written(value: Any) -> Any:
    """`value` with its numbers such that the encoder writes them as ECMAScript does."""
    kind = type(value)
    if kind is str or kind is bool or value is None:
        return value
    if kind is float:
        size = abs(value)
        if size < _EXACT and value == (whole := int(value)):
            return whole  # 9.0 is written 9, and -0.0 is 0
        if 1e-4 <= size < _EXACT:  # here Python and ECMAScript both write no exponent
            return value
    elif kind is int:
        if -_EXACT < value < _EXACT:
            return value
    elif kind is dict:
        written = {}
        for key, held in value.items():
            if type(key) is not str or not (key.isascii() or max(key) < "\ud800"):
                raise _Beyond  # the RFC sorts by UTF-16 units
            written[key] = _as_written(held)
        return written
    elif kind is list or kind is tuple:
        return [_as_written(held) for held in value]
    raise _Beyond
