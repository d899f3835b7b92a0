"""Text from outside made harmless for a terminal: control characters are shown, not obeyed.

Letters of any script, emoji and their joiners pass; escape sequences, line breaks, the marks that turn the
order of the text around, and signs that nobody sees do not.
"""

from __future__ import annotations

import re

# C0, DEL, C1; line and paragraph separators; marks, overrides and isolates of direction; what has no width
# (soft hyphen, zero-width space, word joiner, byte order mark, tags); halves of surrogate pairs.
_STEERING = (
    "\x7f-\x9f\u00ad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb"
    "\U000e0000-\U000e007f"
)
_NOT_PLAIN = re.compile(f"[\x00-\x1f{_STEERING}]")
_NOT_HARMLESS = re.compile(f"[\x00-\x08\x0b-\x1f{_STEERING}]")


def plain(text: object) -> str:
    """`text` on one line, each control character written out as \\x1b or \\u202e."""
    return _NOT_PLAIN.sub(_written_out, str(text))


def harmless(text: str) -> str:
    """`text` as it is laid out, with its line breaks and tabs; all else that `plain` writes out is written out."""
    return _NOT_HARMLESS.sub(_written_out, text)


def steering_sign(text: str) -> str:
    """The first sign in `text` that would not pass through `plain`, written out; '' if there is none."""
    found = _NOT_PLAIN.search(text)
    return _written_out(found) if found is not None else ""


def harmless_json(document: str) -> str:
    """A JSON text that means the same, with those signs as JSON escapes."""
    return _NOT_HARMLESS.sub(_as_json, document)


def _as_json(found: re.Match[str]) -> str:
    units = found[0].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at]:02x}{units[at + 1]:02x}" for at in range(0, len(units), 2))


def _written_out(found: re.Match[str]) -> str:
    code = ord(found[0])
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
