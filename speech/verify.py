"""When an utterance may count: the one place with the limits, as a pure function with reasons in words.

Chosen on people's recordings and synthetic voices (`tests/bench/measure_hearing.py`). The level of speech over noise
is the cutter's own figure, which reads some 2 dB low: a floor of 10 dB refused 32 of 38 numbers said over 10 dB of
noise, of which 35 were heard rightly. Numbers are read back, so no floor refuses them. For a gate that floor stays:
below it some 2 in 100 near misses came out as the sentence itself, 'not all of the tension is gone' without its 'not'
among them. Words that the ear drops leave their sound behind: 'none of us will lift ...' came out as 'we will lift ...',
clean too, at 130 to 260 words a minute; its first word then took as long as 11 to 13 letters of the others, where in
236 sentences rightly heard it took at most 8.3, and the voice after the last one 7.0 (99 in 100: 5.4). '... together
not' left 6.6. Whether the words are exactly something that can be said now is decided by who knows that, not here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

VALUE_SURENESS = -1.0  # mean log probability per token, for anything that counts
GATE_SURENESS = -0.6  # for a safety confirmation
LEAST_SNR_DB = 1.0  # below it as many one-second words came out wrong as right
GATE_SNR_DB = 10.0
FIRST_WORD_LETTERS, REST_LETTERS = 9.5, 6.0  # voice that the words do not account for
SHORTEST_S, LONGEST_S = 0.25, 8.0


@dataclass(frozen=True)
class Hearing:
    """What is known of one utterance.

    sureness: of the free look; None when the engine gives none on this scale.
    snr_db: None when it could not be told.
    free: the text was heard without being held to a list.
    goes_on: it began without a pause, as the rest of something longer: a prompt read out may end in a gate's sentence.
    second_look: None when none was made (`free`), else whether a free second look gave the same words.
    for_gates: how well this ear hears safety sentences, and what is nearly one, has been measured.
    first_letters, rest_letters: as `unaccounted` in `word_times`; None: it could not be told.
    """

    text: str
    spoken_s: float
    sureness: float | None
    snr_db: float | None
    free: bool = True
    second_look: bool | None = None
    while_deaf: bool = False
    cut_short: bool = False
    goes_on: bool = False
    for_gates: bool = True
    first_letters: float | None = None
    rest_letters: float | None = None


@dataclass(frozen=True)
class Verdict:
    verified: bool
    gate_grade: bool
    why_not: str  # the first reason against the higher grade, "" if none


def judge(heard: Hearing) -> Verdict:
    """Decide whether an utterance is clear enough for a value (verified) and for a gate (gate_grade)."""
    against = _against_all(heard)
    if against:
        return Verdict(False, False, against)
    against = _against_gate(heard)
    return Verdict(True, not against, against)


def _against_all(heard: Hearing) -> str:
    if not heard.text:
        return "no words were heard"
    if heard.while_deaf:
        return "it was said while the assistant was speaking"
    if heard.cut_short or heard.spoken_s > LONGEST_S:
        return f"it was longer than {LONGEST_S:g} seconds"
    if heard.goes_on:
        return "it was the end of something longer"
    if heard.spoken_s < SHORTEST_S:
        return "it was too short"
    if not heard.free and heard.second_look is None:
        return "it was only matched to a list and nothing listened freely a second time"
    if not heard.free and not heard.second_look:
        return "a free second look heard something else"
    if heard.sureness is not None and heard.sureness < VALUE_SURENESS:
        return f"the recogniser was unsure ({heard.sureness:.2f}, {VALUE_SURENESS} needed)"
    if heard.snr_db is not None and heard.snr_db < LEAST_SNR_DB:
        return _noisy(heard.snr_db, LEAST_SNR_DB)
    return ""


def _noisy(snr_db: float, needed_dB: float) -> str:
    return f"too much noise ({floor(snr_db)} dB of speech over noise, {needed_dB:.0f} needed)"


def _against_gate(heard: Hearing) -> str:
    if heard.sureness is None:
        return "this recogniser does not say how sure it is"
    if not heard.for_gates:
        return "this recogniser's model was not measured with safety sentences"
    if heard.snr_db is None:
        return "the noise around it could not be told"
    if heard.snr_db < GATE_SNR_DB:
        return _noisy(heard.snr_db, GATE_SNR_DB)
    if heard.sureness < GATE_SURENESS:
        return f"not clear enough for a safety sentence ({heard.sureness:.2f}, {GATE_SURENESS} needed)"
    if heard.first_letters is None or heard.rest_letters is None:
        return "when its words were said could not be told"
    if heard.first_letters > FIRST_WORD_LETTERS:
        return "something was said before it that I did not get"
    if heard.rest_letters > REST_LETTERS:
        return "something was said after it that I did not get"
    return ""
