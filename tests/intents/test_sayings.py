"""Sayings of many kinds of people, in many situations, against what they must mean."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pint
import pytest

from intents.match import understand
from intents.meaning import (
    AskBack,
    Choice,
    Expected,
    Heard,
    Meaning,
    NotForUs,
    QuantityKind,
    Sayable,
    Topic,
    Way,
)
from intents.phrasebook import COMMANDS, Phrasebook

ZERO_C_K = 273.15
UNITS = pint.UnitRegistry()
GATE = "the conveyor is locked and it will not start"
OTHERS = ("my hands are behind the blade", "the plug is in my hand and the gauge is at zero")
UPPER = Topic(
    "upper_temperature",
    ("upper temperature", "temperature"),
    "temperature",
    ZERO_C_K + 60,
    ZERO_C_K + 230,
    True,
)
TOPICS = (
    Topic("thickness", ("thickness", "belt thickness"), "length", 0.0003, 0.03, True),
    UPPER,
    replace(UPPER, slot="lower_temperature", sayings=("lower temperature", "temperature")),
    Topic("dwell", ("dwell", "hold time"), "duration", 0, 900, True),
    Topic("pressure", ("pressure",), "pressure", 0, 6e5, True),
    *(
        Topic(
            f"{side}_reading",
            (f"{side} platen", side),
            "temperature",
            ZERO_C_K,
            ZERO_C_K + 250,
            readable=True,
        )
        for side in ("upper", "lower", "edge")
    ),
)
BELTS = (
    Choice("wash", ("the washing line belt", "washing line belt")),
    Choice("pack", ("packing line belt",)),
)
TEMPLATES = (Choice("red", ("the red template", "red template")), Choice("blue", ("blue template",)))
INPUTS = (
    Topic("platens", ("both platens", "platens"), "temperature", ZERO_C_K + 60, ZERO_C_K + 300),
    Topic("upper_temperature", ("upper platen", "upper"), "temperature", ZERO_C_K + 60, ZERO_C_K + 300, by_name_only=True),
    Topic("dwell", ("dwell", "hold time"), "duration", 1, 3600),
    Topic("pressure", ("pressure",), "pressure", 1e4, 1e6),
    Topic("release_temperature", ("release temperature", "release"), "temperature", ZERO_C_K + 20, ZERO_C_K + 120),
    Topic("belt", ("belt",), choices=BELTS),
    Topic("belt_thickness", ("belt thickness", "thickness", "belt"), "length", 0, 0.1, usual=(0.0003, 0.012), unit="mm"),
    Topic("belt_width", ("belt width", "width", "belt"), "length", 0, 10, usual=(0.008, 2.0), unit="mm"),
    Topic("template", ("template",), choices=TEMPLATES),
    Topic("supply_voltage", ("supply voltage", "voltage"), "voltage", 0, 2000, unit="V"),
    Topic("lead_length", ("lead length", "lead"), "length", 0, 1000, unit="m"),
    Topic("shop_temperature", ("shop temperature", "shop"), "temperature", 173.15, 373.15, usual=(263.15, 318.15)),
    Topic("elongation", ("elongation",), "ratio", 0, 1, unit="%"),
    Topic("contact", ("contact resistance", "contact"), "ratio", 0.1, 10, by_name_only=True),
    Topic("conductivity", ("conductivity", "belt conducts"), "ratio", 0.1, 10, by_name_only=True),
)  # fmt: skip
ANYWHERE = Sayable(COMMANDS, sentences_elsewhere=OTHERS, topics=TOPICS, inputs=INPUTS)
AT_GATE = replace(ANYWHERE, sentence=GATE)
CALLED = replace(AT_GATE, callsign="lantern", asked_s=0.0, open_for_s=30.0)


def waiting(
    slot: str,
    kind: QuantityKind,
    low: float,
    high: float,
    usual: tuple[float, float] | None = None,
    unit: str = "",
) -> Sayable:
    expected = Expected(slot, "quantity", kind, low, high, usual=usual, unit=unit)
    return replace(ANYWHERE, sentences_elsewhere=(*OTHERS, GATE), expected=expected)


DWELL = waiting("dwell", "duration", 0, 900)
UPPER_ASKED = waiting("upper_temperature", "temperature", ZERO_C_K + 60, ZERO_C_K + 200)
JOB_KINDS = (
    Choice("shop", ("in the shop", "shop", "orchard shop")),
    Choice("conveyor", ("on the conveyor", "conveyor", "orchard conveyor")),
)


def options(slot: str, *pairs: tuple[float, str]) -> tuple[Meaning, ...]:
    return tuple(Meaning("value", slot, value, said) for value, said in pairs)


SITUATIONS: dict[str, tuple[Sayable, Way, float]] = {
    "typed_anywhere": (ANYWHERE, "typed", 500.0),
    "typed_gate": (AT_GATE, "typed", 5.0),
    "typed_thickness": (waiting("thickness", "length", 0.0003, 0.03), "typed", 5.0),
    "typed_upper": (UPPER_ASKED, "typed", 5.0),
    "typed_lead": (waiting("lead_length", "length", 0, 1000, unit="m"), "typed", 5.0),
    "typed_path": (waiting("endless_length", "length", 0, 10_000, usual=(0.2, 60.0)), "typed", 5.0),
    "voice_usual_reading": (
        waiting("upper_reading", "temperature", 253.15, 623.15, usual=(ZERO_C_K + 140, ZERO_C_K + 200)),
        "voice",
        5.0,
    ),
    "typed_dwell": (DWELL, "typed", 5.0),
    "voice_dwell": (DWELL, "voice", 5.0),
    "voice_reading": (waiting("upper_reading", "temperature", ZERO_C_K, ZERO_C_K + 250), "voice", 5.0),
    "voice_callsign_closed": (CALLED, "voice", 500.0),
    "voice_callsign_open": (CALLED, "voice", 5.0),
    "typed_name": (replace(ANYWHERE, expected=Expected("recipe_name", "name")), "typed", 5.0),
    "typed_text": (replace(ANYWHERE, expected=Expected("remark", "text")), "typed", 5.0),
    "typed_choice": (
        replace(ANYWHERE, expected=Expected("job_kind", "choice", choices=JOB_KINDS)),
        "typed",
        5.0,
    ),
    "asked_back_dwell": (
        replace(
            DWELL,
            asked_back=options(
                "dwell", (240.0, "two hundred and forty seconds"), (160.0, "two minutes forty seconds")
            ),
        ),
        "typed",
        5.0,
    ),
    "asked_back_voice": (
        replace(DWELL, asked_back=options("dwell", (15.0, "one five seconds"), (50.0, "five zero seconds"))),
        "voice",
        5.0,
    ),
    "asked_back_unit": (
        replace(
            UPPER_ASKED,
            asked_back=options(
                "upper_temperature",
                (365 / 1.8 + 255.372222222, "three hundred and sixty five degrees fahrenheit"),
            ),
        ),
        "typed",
        5.0,
    ),
}
SAYINGS = tomllib.loads((Path(__file__).parent / "sayings.toml").read_text("utf-8"))
ROWS = [(situation, saying, means) for situation, rows in SAYINGS.items() for saying, means in rows.items()]


def meaning_in_words(meaning: Meaning) -> tuple[str, ...]:
    return tuple(part for part in (meaning.intent, meaning.slot) if part)


def agrees(meaning: object, wanted: str) -> bool:
    """`wanted` is 'intent', 'intent words', 'intent slot words' or 'intent slot <pint quantity>'."""
    if not isinstance(meaning, Meaning):
        return False
    parts = wanted.split()
    named = meaning_in_words(meaning)
    if tuple(parts[: len(named)]) != named:
        return False
    rest = " ".join(parts[len(named) :])
    if isinstance(meaning.value, float):
        number, unit = rest.split()
        # class: peer library -- pint's own unit definitions
        return meaning.value == pytest.approx(UNITS.Quantity(float(number), unit).to_base_units().m, rel=1e-9)
    if meaning.intent in ("sentence", "other_sentence"):
        return True
    return rest == (meaning.value or "")


@pytest.mark.parametrize(("situation", "saying", "means"), ROWS, ids=lambda part: part[:40] or "nothing")
def test_a_saying_means_what_it_must(situation: str, saying: str, means: str, book: Phrasebook) -> None:
    sayable, way, began_s = SITUATIONS[situation]
    understood = understand(Heard(saying, way, began_s, began_s + 1), sayable, book)
    kind, _, rest = means.partition(" ")
    if kind == "drop":
        assert isinstance(understood, NotForUs), understood
        assert understood.reason == rest
    elif kind == "ask":
        assert isinstance(understood, AskBack), understood
        assert understood.question
        wanted = [] if rest == "-" else rest.split(" | ")
        assert len(wanted) == len(understood.options), understood
        assert all(any(agrees(option, want) for want in wanted) for option in understood.options), understood
    else:
        assert agrees(understood, means), understood


def test_the_table_is_large_and_refuses_often() -> None:
    refused = [
        row for row in ROWS if row[2].startswith(("ask", "drop")) and not row[2].startswith("ask_value")
    ]
    assert len(ROWS) >= 150
    assert len(refused) >= 40


def test_a_sentence_nearly_said_is_named_for_the_reply(book: Phrasebook) -> None:
    understood = understand(Heard("the conveyor is locked", "voice", 5, 6), AT_GATE, book)
    assert understood == NotForUs("not sayable", (GATE,))


def test_a_key_never_says_a_sentence(book: Phrasebook) -> None:
    assert not isinstance(understand(Heard(GATE, "key", 5, 6), AT_GATE, book), Meaning)


def test_what_cannot_be_said_now_is_dropped(book: Phrasebook) -> None:
    only_why = Sayable(frozenset({"why"}))
    assert understand(Heard("done", "typed", 5, 6), only_why, book) == NotForUs("not sayable")
    assert understand(Heard("why", "typed", 5, 6), only_why, book) == Meaning("why", said="why")
