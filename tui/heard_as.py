"""What the ears deliver, as the session takes it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from intents.meaning import Heard

if TYPE_CHECKING:
    from speech.utterance import Utterance


def crying(utterance: Utterance, cry: str) -> Utterance:
    """The same utterance with the words of danger first."""
    others = tuple(text for text in (utterance.text, *utterance.alternatives) if text != cry)
    return replace(utterance, text=cry, alternatives=others, scores=())


def heard_from(utterance: Utterance, at_s: float = 0.0) -> Heard:
    """What the ears deliver as the session takes it; `at_s`: session second of the sound's beginning."""
    return Heard(
        text=utterance.text,
        way="voice",
        began_s=at_s + utterance.start_s,
        ended_s=at_s + utterance.end_s,
        verified=utterance.verified,
        gate_grade=utterance.gate_grade,
        sureness=utterance.sureness,
        alternatives=utterance.alternatives,
        scores=utterance.scores,
        engine=utterance.engine,
        why_not=utterance.why_not,
        snr_db=utterance.snr_db,
    )
