"""Text from outside made harmless for a terminal: control characters are shown, not obeyed.

Letters of any script, emoji and their joiners pass; escape sequences, line breaks, and the marks that
turn the order of the text around do not.
"""

from __future__ import annotations

import re

# C0, DEL, C1; line and paragraph separators; direction overrides and isolates; halves of surrogate pairs.
_NOT_PLAIN = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def plain(text: object) -> str:
    """`text` on one line, each control character written out as \\x1b or \\u202e."""
    return _NOT_PLAIN.sub(_written_out, str(text))


def _written_out(found: re.Match[str]) -> str:
    code = ord(found[0])
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
