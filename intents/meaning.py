"""The types that pass through intents: what was heard, what can be said now, what it means."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Way = Literal["voice", "typed", "key"]


@dataclass(frozen=True)
class Heard:
    """One utterance, however it came in.

    Times are session seconds. A typed line begins and ends when it is entered. `verified`: the
    ear heard freely and clearly enough for a value; `gate_grade`: clearly enough for a gate.
    Typed text is always both. `alternatives`: what else it may have been, likeliest first; `scores`: how sure of
    each, as `sureness`; () where the ear has none. `snr_db`: speech over the noise around it, None: not known.
    """

    text: str
    way: Way
    began_s: float
    ended_s: float
    verified: bool = True
    gate_grade: bool = True
    sureness: float | None = None
    alternatives: tuple[str, ...] = ()
    scores: tuple[float, ...] = ()
    engine: str = "typed"
    why_not: str = ""  # why not verified, in words
    snr_db: float | None = None


QuantityKind = Literal[
    "temperature", "temperature_difference", "duration", "pressure", "length", "ratio",
    "voltage", "current", "mass", "section", "count", "tension",
]  # fmt: skip
"""SI inside: K, K, s, Pa (gauge), m, 1, V, A, kg, m2, 1, N/m."""


@dataclass(frozen=True)
class Choice:
    key: str
    sayings: tuple[str, ...]  # canonical words; the first is how we say it


@dataclass(frozen=True)
class Expected:
    """The answer that the current act waits for.

    kind 'quantity': `quantity`, `low` and `high` (SI) are set. 'choice': `choices`.
    'name' and 'text': any words, read back afterwards.
    `usual` (SI): where such a value nearly always lies; a bare number outside it is asked about if
    another unit would bring it in, and numbers that sound alike are doubted only within it.
    `unit`: of a bare number where it is not the kind's own ('m' for a lead).
    """

    slot: str
    kind: Literal["quantity", "choice", "name", "text"]
    quantity: QuantityKind | None = None
    low: float = float("-inf")
    high: float = float("inf")
    choices: tuple[Choice, ...] = ()
    usual: tuple[float, float] | None = None
    unit: str = ""


@dataclass(frozen=True)
class Topic:
    """Something that has a value: can be asked for, changed, read out ('thickness', 'upper platen').

    `usual` and `unit` as in `Expected`.
    """

    slot: str
    sayings: tuple[str, ...]
    quantity: QuantityKind | None = None
    low: float = float("-inf")
    high: float = float("inf")
    changeable: bool = False  # 'change thickness to ...'
    readable: bool = False  # a reading may be told now: 'upper platen one four two'
    choices: tuple[Choice, ...] = ()
    usual: tuple[float, float] | None = None
    unit: str = ""
    by_name_only: bool = False  # never meant by a bare value ('what if 185')


@dataclass(frozen=True)
class Sayable:
    """All that can be said now; derived from the state, changes with every step.

    `asked_s`: when the current question was put, session seconds; within `open_for_s` of it no
    callsign is needed. `callsign` None: everything is for us. `asked_back`: the options of the
    last `AskBack`, while its question is open: 'fifty', 'fahrenheit', 'the second' then choose one.
    """

    commands: frozenset[str]
    sentence: str | None = None  # the open gate's sentence, as it is asked now
    sentences_before: tuple[str, ...] = ()  # wordings in which it was asked before: they close it as well
    sentences_elsewhere: tuple[
        str, ...
    ] = ()  # other gates', and what was not asked: recognised, never closing
    expected: Expected | None = None
    topics: tuple[Topic, ...] = ()
    inputs: tuple[Topic, ...] = ()  # what can be asked 'what if' and 'why' of, by its names for that
    callsign: str | None = None
    asked_s: float = 0.0
    open_for_s: float = 12.0
    asked_back: tuple[Meaning, ...] = ()
    by_choice: bool = False  # a choice named alone changes what it belongs to: 'the green template'


@dataclass(frozen=True)
class Meaning:
    """What an utterance means.

    intent: a command's id from the phrasebook, or one of 'sentence' (the open gate's sentence as it
    is or was asked, exact, in `value`), 'other_sentence' (any other, in `value`; closes nothing), 'value' (answer to
    `Expected`), 'change' (slot and value), 'reading' (slot and value), 'ask_value' (slot),
    'what_if', 'what_if_by', 'what_if_off', 'what_if_times' (slot, value), 'what_if_other', 'why_value' (slot), 'danger' (the
    word in `value`).
    value: SI float, a choice's key, or words.
    """

    intent: str
    slot: str | None = None
    value: float | str | None = None
    said: str = ""  # the words that carried the value, as said; in an option: the words that name it
    place: int = 0  # which of the ear's texts it was: 0 the likeliest, 1 the first of the alternatives


@dataclass(frozen=True)
class AskBack:
    """Understood in more ways than one, or nearly; the question to put, and the readings it chooses from."""

    question: str
    options: tuple[Meaning, ...] = ()


@dataclass(frozen=True)
class NotForUs:
    """Dropped. reason: 'no callsign', 'nothing', 'not sayable' (spoken to us but not understood)."""

    reason: Literal["no callsign", "nothing", "not sayable"]
    nearest: tuple[str, ...] = field(default=())  # what could have been meant, for the reply


Understood = Meaning | AskBack | NotForUs
