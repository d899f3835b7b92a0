"""What the ears deliver: one utterance with its times, words and how sure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Utterance:
    """One utterance. Times are seconds of the sound stream it was cut from.

    sureness: mean log probability per token (<= 0), None where the engine gives none.
    alternatives: what else it may have been, likeliest first; scores: the sureness of each, () where there is none.
    snr_db: speech level over the noise floor around it, None if unknown.
    verified / gate_grade: heard freely (nothing forced onto a list) and clearly enough for a
    value / for a safety confirmation; `why_not` says why not, in words.
    while_deaf: our own voice was sounding: never an answer, listened to for danger only.
    """

    start_s: float
    end_s: float
    text: str
    engine: str
    sureness: float | None = None
    alternatives: tuple[str, ...] = ()
    scores: tuple[float, ...] = ()
    snr_db: float | None = None
    verified: bool = False
    gate_grade: bool = False
    why_not: str = ""
    while_deaf: bool = False
