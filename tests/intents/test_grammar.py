"""The phrases given to a recogniser are words only, bounded, and mean what can be said."""

from __future__ import annotations

import pytest

from intents.cries import PHRASES, WORDS
from intents.grammar import phrases, words
from intents.match import understand
from intents.meaning import Choice, Expected, Heard, NotForUs, QuantityKind, Sayable, Topic
from intents.numbers import say_digits, say_number
from intents.phrasebook import COMMANDS, Phrasebook
from intents.quantities import Parsed, parse_quantity
from intents.units import EDGE

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
    vocabulary = set(words(book, [GATE, *READING.sayings]))
    for phrase in phrases(Sayable(COMMANDS, sentence=GATE, topics=(READING,)), book):
        assert set(phrase.split()) <= vocabulary, phrase


def test_the_vocabulary_holds_every_word_of_a_cry(book: Phrasebook) -> None:
    vocabulary = set(words(book, ()))
    assert vocabulary >= WORDS
    for phrase in (*PHRASES, "my hand is stuck", "cut off her thumb", "call a doctor", "nine eleven"):
        assert set(phrase.split()) <= vocabulary, phrase
    assert "someones" not in vocabulary, "a spelling of ours, and no word"


@pytest.mark.parametrize(
    ("kind", "low", "high", "step"),
    [
        # In the unit that is spoken of; steps as a recogniser's list has them over such a range.
        ("temperature", 60, 230, 1), ("temperature_difference", -50, 50, 1), ("pressure", 0.5, 6, 0.1), ("ratio", 0.1, 5, 0.1),
        ("voltage", 100, 500, 1), ("mass", 0.5, 200, 0.5), ("section", 0.5, 16, 0.5), ("count", 1, 200, 1), ("tension", 0.5, 50, 0.5),
        ("length", 0.3, 5, 0.01), ("current", 0.5, 63, 0.5),
    ],
)  # fmt: skip
def test_the_list_for_recognisers_and_the_reader_of_numbers_agree(
    kind: QuantityKind, low: float, high: float, step: float, book: Phrasebook
) -> None:
    """Every value has phrases in the list, and each of them is read as that value, or asked about with it among the options."""
    unit = EDGE[kind]
    expected = Expected("value", "quantity", kind, unit.to_si(low), unit.to_si(high))
    said = set(phrases(Sayable(frozenset(), expected=expected), book))
    count = round((high - low) / step)
    for n in range(0, count + 1, max(1, count // 60)):
        value = round(low + n * step, 2)
        for way in {say_number(value), say_digits(value)}:
            assert way in said, (kind, value, way)
            found = parse_quantity(way, kind, expected.low, expected.high)
            options = [found] if isinstance(found, Parsed) else list(getattr(found, "options", ()))
            # class: analytic
            assert any(
                o.value_si == pytest.approx(unit.to_si(value), rel=1e-9, abs=1e-12) for o in options
            ), way


@pytest.mark.parametrize("seconds", range(30, 901, 35))
def test_every_time_in_steps_of_five_seconds_is_in_the_list_and_read_back(
    seconds: int, book: Phrasebook
) -> None:
    said = set(
        phrases(Sayable(frozenset(), expected=Expected("dwell", "quantity", "duration", 30, 900)), book)
    )
    minutes, rest = divmod(seconds, 60)
    way = " ".join(
        part
        for part in (
            f"{say_number(minutes)} minute{'' if minutes == 1 else 's'}" if minutes else "",
            f"{say_number(rest)} seconds" if rest else "",
        )
        if part
    )
    assert way in said
    found = parse_quantity(way, "duration", 30, 900)
    assert isinstance(found, Parsed)
    assert found.value_si == seconds  # class: analytic
