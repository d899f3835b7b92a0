"""A text as a TOML string, whatever is in it."""

from __future__ import annotations


def toml_text(text: str) -> str:
    """Every sign that is no plain letter is escaped. Raises: ValueError for half a pair, which TOML cannot hold."""
    if any(0xD800 <= ord(sign) <= 0xDFFF for sign in text):
        raise ValueError("TOML has no halves of pairs")
    return '"' + "".join(s if s.isalnum() and s.isascii() else f"\\U{ord(s):08x}" for s in text) + '"'
