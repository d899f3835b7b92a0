"""Every word that an ear must know to follow a job."""

from __future__ import annotations

from assistant.procedure.gate_table import RULES
from intents.grammar import words
from intents.phrasebook import Phrasebook


def vocabulary(book: Phrasebook) -> tuple[str, ...]:
    """Words of the phrasebook, of numbers and units, and of the gates' sentences in every wording, sorted."""
    return words(book, [sentence for rule in RULES for sentence in rule.sentences])
