"""Which words may call the bench: never one that would turn a sentence round where it is dropped."""

from __future__ import annotations

import re

from intents.danger import danger_word
from intents.hypotheses import may_turn_round


def why_no_callsign(words: str) -> str:
    """As the end of a sentence; '' for words that may be one. 'Not, the press is locked' would be heard without its 'not'."""
    if not re.fullmatch(r"[a-z]{3,20}( [a-z]{2,20})?", words):
        return "must be one or two plain words in small letters, or 'none'"
    if may_turn_round(words):
        return "must hold no word like 'not', which would be taken out of what is said"
    if danger_word(words):
        return "must hold no cry of danger"
    return ""
