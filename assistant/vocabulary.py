"""Every word that an ear must know to follow a job."""

from __future__ import annotations

from assistant.opening import Bench
from intents.grammar import words


def vocabulary(bench: Bench) -> tuple[str, ...]:
    """Words of the phrasebook, of numbers and units, and of the gates' sentences, sorted."""
    return words(bench.book, [gate.sentence for gate in bench.rules.procedure.gates])
