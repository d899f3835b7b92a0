"""The phrases given to a recogniser are words only, bounded, and mean what can be said."""

from __future__ import annotations

import pytest

from intents.grammar import phrases, words
from intents.match import understand
from intents.meaning import Choice, Expected, Heard, NotForUs, QuantityKind, Sayable, Topic
from intents.phrasebook import COMMANDS, Phrasebook

ZERO_C_K = 273.15
GATE = "the conveyor is locked and it will not start"
READING = Topic("upper_reading", ("upper platen",), "temperature", ZERO_C_K, ZERO_C_K + 250, readable=True)
RANGES: list[tuple[QuantityKind, float, float]] = [
    ("temperature", ZERO_C_K + 60, ZERO_C_K + 230), ("duration", 30, 900), ("pressure", 0, 6e5), ("length", 0.0003, 0.03),
    ("length", 0.01, 50), ("ratio", 0, 0.1), ("voltage", 100, 500), ("current", 0, 63), ("mass", 0, 200), ("section", 0, 16e-6),
    ("count", 0, 200), ("tension", 0, 5e4), ("temperature_difference", -50, 50), ("temperature", -float("inf"), float("inf")),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "low", "high"), RANGES)
def test_every_number_phrase_is_words_and_is_understood(
    kind: QuantityKind, low: float, high: float, book: Phrasebook
) -> None:
    sayable = Sayable(frozenset({"why"}), expected=Expected("value", "quantity", kind, low, high))
    said = phrases(sayable, book)
    assert 50 < len(said) <= 5000
    for phrase in said[:: max(1, len(said) // 200)]:
        assert not any(c.isdigit() for c in phrase)
        assert not isinstance(understand(Heard(phrase, "typed", 1, 2), sayable, book), NotForUs), phrase


def test_what_can_be_said_is_in_the_list(book: Phrasebook) -> None:
    sayable = Sayable(
        COMMANDS, sentence=GATE, topics=(READING,), callsign="Lantern",
        expected=Expected("job_kind", "choice", choices=(Choice("shop", ("in the shop",)),)),
    )  # fmt: skip
    said = set(phrases(sayable, book))
    assert {GATE, f"lantern {GATE}", "lantern", "say again", "lantern say again", "in the shop"} <= said
    assert {
        "upper platen one four two",
        "upper platen one forty two degrees",
        "what is the upper platen",
    } <= said


def test_only_what_can_be_said_now_is_in_the_list(book: Phrasebook) -> None:
    assert set(phrases(Sayable(frozenset({"why"})), book)) == set(book.commands["why"].says)


def test_no_phrase_stands_twice(book: Phrasebook) -> None:
    said = phrases(Sayable(COMMANDS, sentence=GATE), book)
    assert len(said) == len(set(said))


def test_the_vocabulary_holds_every_word_of_the_phrases(book: Phrasebook) -> None:
    vocabulary = set(words(book, [GATE]))
    for phrase in phrases(Sayable(COMMANDS, sentence=GATE, topics=(READING,)), book):
        assert set(phrase.split()) - {"platen", "upper"} <= vocabulary, phrase
