"""Text from outside made harmless: what a terminal would obey is taken out, what a person would read stays."""

from __future__ import annotations

import unicodedata

# Control, format (bidirectional overrides, zero width), surrogate, private use, unassigned.
_OBEYED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})


def plain(text: str) -> str:
    """One line of printable text: breaks and tabs become spaces, whatever else steers a terminal is dropped."""
    spaced = "".join(" " if c in "\t\n\r\v\f\x85\u2028\u2029" else c for c in text)
    return "".join(c for c in spaced if unicodedata.category(c) not in _OBEYED)


def clock(seconds: float) -> str:
    """Minutes and seconds, '03:42'; hours only when there are any; overdue with a plus, '+00:20'."""
    whole = round(seconds)
    sign = "+" if whole < 0 else ""
    minutes, rest = divmod(abs(whole), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{sign}{hours}:{minutes:02}:{rest:02}" if hours else f"{sign}{minutes:02}:{rest:02}"
