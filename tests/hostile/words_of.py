"""A text as it goes through everything that makes meaning of words: numbers, quantities, commands, danger."""

from __future__ import annotations

from functools import cache
from typing import get_args

from intents.canonical import canonical
from intents.danger import danger_word, may_end_harmless
from intents.match import understand
from intents.meaning import Choice, Expected, Heard, Meaning, QuantityKind, Sayable, Topic
from intents.numbers import readings
from intents.phrasebook import COMMANDS, Phrasebook, load_phrasebook
from intents.quantities import parse_quantity
from intents.spoken_text import aloud
from tui.hear import understood
from tui.plain import plain
from tui.talk import LONGEST

GATE = "the conveyor is locked and it will not start"
ZERO_C_K = 273.15
UPPER = Topic("upper_reading", ("upper platen",), "temperature", ZERO_C_K, ZERO_C_K + 250, changeable=True, readable=True)  # fmt: skip
PLACE = Topic("job_kind", ("place",), choices=(Choice("shop", ("in the shop",)),), changeable=True)
EXPECTED: tuple[Expected | None, ...] = (
    None, Expected("technician", "name"), Expected("note", "text"), Expected("job_kind", "choice", choices=PLACE.choices),
    *(Expected("value", "quantity", kind, -1e6, 1e6) for kind in get_args(QuantityKind)),
)  # fmt: skip
SEEDS = (
    "one hundred and eighty five point five degrees", "2 1/2\"", "three ½ mm", "1,234.5", "minus four kelvin", "one four two",
    "computer what if the shop is five degrees", "change thickness to one point nine", GATE, "there is a fire", "hold", "4e5 bar",
    "twenty twenty five", "nineteen hundred", "five and a half minutes", "0x10", "٣", "it's 20 percent off", "why is the dwell so long",
)  # fmt: skip


@cache
def book() -> Phrasebook:
    return load_phrasebook()


@cache
def sayables() -> tuple[Sayable, ...]:
    offered = (Meaning("value", "value", 4.0, "four"), Meaning("value", "value", 5.0, "five"))
    return tuple(
        Sayable(
            COMMANDS, sentence=GATE if expected is None else None, expected=expected, topics=(UPPER, PLACE), inputs=(UPPER, PLACE),
            callsign="computer" if number % 2 else None, asked_back=offered if number % 3 == 0 else (), by_choice=True,
        )
        for number, expected in enumerate(EXPECTED)
    )  # fmt: skip


def understood_in_every_way(text: str) -> None:
    """As it comes in: made plain and no longer than a line may be. Raises only what is a fault."""
    text = plain(text)[:LONGEST]
    said = canonical(text)
    assert canonical(said) == said
    assert all(abs(one.value) < float("inf") for one in readings(said))
    for kind in get_args(QuantityKind):
        parse_quantity(said, kind, -1e6, 1e6)
    danger_word(text)
    may_end_harmless(text)
    aloud(text)
    understood(text, {"open the door": "open the door", "one two": "one two"})
    for way, sayable in zip(("voice", "typed") * len(EXPECTED), sayables(), strict=False):
        understand(Heard(text, way, 100.0, 101.0, alternatives=(text[:50], text[::-1])), sayable, book())
