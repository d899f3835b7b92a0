"""Somebody's words said back without our own name: whoever hears it from us could no longer call us meanwhile."""

from __future__ import annotations

import re
from functools import lru_cache

from intents.canonical import canonical


def quoted(text: str, callsign: str | None) -> str:
    """`text` without the callsign, wherever it stands, and then without what closes a sentence; else as it is."""
    called = canonical(callsign or "").split()
    if not called or not _pattern(tuple(called)).search(text):
        return text
    left = _pattern(tuple(called)).sub(" ", text)
    return re.sub(r"\s+", " ", left).strip(" ,.;:!?") or text.strip()


@lru_cache
def _pattern(called: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile(r"\b" + r"[\s,]+".join(map(re.escape, called)) + r"\b[\s,.;:!?]*", re.IGNORECASE)
