"""A value with its unit, as people say it, to SI. In doubt it is a question, never a guess.

A bare number is taken in the unit of its kind (°C, bar, mm, percent, ...). Where only another
unit makes sense of it (365 for a temperature, 30 for a pressure, 0.08 for a thickness) that unit
is asked about; a bare duration is asked about whenever minutes and seconds are both possible.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from intents.candidates import Candidate, candidates_of, in_other_units, segments_of, unique
from intents.canonical import canonical
from intents.meaning import QuantityKind
from intents.spoken import edge_value, speak_digits, speak_quantity, written
from intents.units import BARE, LOWEST, edge_unit

__all__ = [
    "Ambiguous", "OutOfRange", "Parsed", "edge_value", "parse_quantity", "speak_digits", "speak_quantity",
    "without_lead_in", "written",
]  # fmt: skip


@dataclass(frozen=True)
class Parsed:
    """One value. unit_said: '' when none was said. words: how to name the value in a question."""

    value_si: float
    unit_said: str
    words: str


@dataclass(frozen=True)
class Ambiguous:
    options: tuple[Parsed, ...]  # one or more, all in range
    question: str


@dataclass(frozen=True)
class OutOfRange:
    value_si: float
    sentence: str


_LEAD_IN = frozenset((
    "um", "uh", "er", "erm", "ah", "well", "so", "it", "is", "now", "the", "at", "reads", "says", "shows",
    "reading", "that", "to", "be", "enter", "set", "i", "read", "measured", "get",
))  # fmt: skip
_TRAILING = frozenset(("please", "now", "exactly", "sharp", "thanks", "gauge"))
# Set on no press for belts (common practice): 250 °C, 10 bar.
_BEYOND_ANY: dict[QuantityKind, float] = {"temperature": 523.15, "pressure": 1e6}


def parse_quantity(
    text: str,
    kind: QuantityKind,
    low: float = -math.inf,
    high: float = math.inf,
    usual: tuple[float, float] | None = None,
    unit: str = "",
) -> Parsed | Ambiguous | OutOfRange | None:
    """The value that the whole text says, SI; None when it is not a quantity of this kind.

    low, high: SI, both included. If exactly one sure reading lies between them it is taken; with
    several, or only doubtful ones, the result is the question to put.
    usual: SI; a bare number outside it is asked about if another unit would bring it in.
    unit: of a bare number, '' for the kind's own.
    """
    words = without_lead_in(text).split()
    if kind == "temperature_difference" and words[-1:] in (["warmer"], ["hotter"], ["difference"]):
        words = words[:-1]
    segments = segments_of(words, kind)
    if segments is None:
        return None
    unit_said = segments[-1][1]
    candidates = unique(candidates_of(segments, kind, edge_unit(kind, unit)))
    if not candidates:
        return None
    low = max(low, LOWEST.get(kind, -math.inf))
    fit = _between(candidates, low, high)
    if kind == "count":
        fit = [c for c in fit if c.value_si.is_integer()]
    sure = [c for c in fit if c.sure]
    asked = sure or fit
    if len(segments) == 1 and unit_said in ("", *BARE):
        if usual is not None and (likely := _between(sure, *usual)):
            sure = asked = likely
        elif usual is not None:
            better = _between(
                [*(c for c in fit if not c.sure), *in_other_units(segments[0][0], kind)], *usual
            )
            asked, sure = ([*unique(better), *sure], []) if better else (asked, sure)
        elif not asked and _absurd(candidates[0].value_si, kind, low, high):
            asked = _between(unique(in_other_units(segments[0][0], kind)), low, high)
    if len(sure) == 1:
        return Parsed(sure[0].value_si, unit_said, sure[0].words)
    if not asked:
        return OutOfRange(candidates[0].value_si, _refusal(candidates[0], kind, low, high, unit))
    options = tuple(Parsed(c.value_si, unit_said, c.words) for c in asked)
    return Ambiguous(options, f"Do you mean {' or '.join(option.words for option in options)}?")


def without_lead_in(text: str) -> str:
    """Canonical words without what only introduces or closes a value ('it reads ... now')."""
    words = canonical(text).split()
    while words and words[0] in _LEAD_IN and words[:2] not in (["to", "hundred"], ["to", "thousand"]):
        words = words[1:]  # 'to hundred' may have been 'two hundred'
    while words and words[-1] in _TRAILING:
        words = words[:-1]
    return " ".join(words)


def _within(value: float, low: float, high: float) -> bool:
    slack = 1e-9 * max(1.0, abs(value))  # 70 °C is 343.15 K on either way of adding
    return low - slack <= value <= high + slack


def _between(candidates: Iterable[Candidate], low: float, high: float) -> list[Candidate]:
    return [c for c in candidates if _within(c.value_si, low, high)]


def _absurd(value_si: float, kind: QuantityKind, low: float, high: float) -> bool:
    """So far out that the unit must be another; a value merely over a limit is refused, not reinterpreted."""
    if kind in _BEYOND_ANY:
        return value_si > _BEYOND_ANY[kind]
    return not low / 2 <= value_si <= 2 * high


def _refusal(candidate: Candidate, kind: QuantityKind, low: float, high: float, unit: str) -> str:
    if kind == "count" and not candidate.value_si.is_integer():
        return f"{candidate.words} is not a whole number: count again."
    too_high = candidate.value_si > high
    limit = (
        speak_quantity(high if too_high else low, kind, unit)
        if math.isfinite(high if too_high else low)
        else ""
    )
    if kind == "temperature" and not too_high and low <= 0:
        limit = "absolute zero"
    return f"{candidate.words} is too {'high' if too_high else 'low'}: {limit} is the {'most' if too_high else 'least'}."
