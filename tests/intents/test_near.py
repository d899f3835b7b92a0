"""Near misses: commands that only move the screen are still understood; nothing that counts ever is."""

from __future__ import annotations

import importlib.util
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intents.canonical import canonical
from intents.match import understand
from intents.meaning import AskBack, Heard, Meaning, NotForUs, Sayable
from intents.phrasebook import COMMANDS, MAY_BE_NEAR, Phrasebook

_SPEC = importlib.util.spec_from_file_location("near_misses", Path(__file__).parent / "near_misses.py")
assert _SPEC is not None
assert _SPEC.loader is not None
NEAR_MISSES = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(NEAR_MISSES)

GATES = (
    "the conveyor is locked and it will not start", "the tension is off and blocked", "the air is moving and my gloves are on",
    "my hands are behind the blade", "we lift it together", "the cables are dry and not damaged",
    "everything is fastened and my hands are clear", "the press shows these values", "it is cold and i am letting the pressure out",
    "the plug is in my hand and the gauge is at zero", "my hot gloves are on", "the guards are on and everyone is clear",
    "i have taken off my own lock",
)  # fmt: skip
EVERYTHING = Sayable(COMMANDS)


def heard(text: str) -> Heard:
    return Heard(text, "typed", 1, 2)


@pytest.mark.parametrize("said", NEAR_MISSES.OTHER)
def test_what_only_resembles_a_command_is_not_one(said: str, book: Phrasebook) -> None:
    understood = understand(heard(said), EVERYTHING, book)
    assert not isinstance(understood, Meaning), understood


def test_most_near_misses_are_understood_and_none_as_another_command(book: Phrasebook) -> None:
    right = 0
    for said, command in NEAR_MISSES.MEANT.items():
        understood = understand(heard(said), EVERYTHING, book)
        if isinstance(understood, Meaning):
            assert understood.intent == command, said
            right += 1
        elif isinstance(understood, AskBack):
            assert command in {o.intent for o in understood.options}, said
    assert right >= 0.8 * len(NEAR_MISSES.MEANT)


@settings(max_examples=300)
@given(data=st.data())
def test_a_sentence_with_a_slip_is_never_the_sentence(data: st.DataObject, book: Phrasebook) -> None:
    sentence = data.draw(st.sampled_from(GATES))
    words = sentence.split()
    at = data.draw(st.integers(0, len(words) - 1))
    slip = data.draw(st.sampled_from(["drop", "not", "nearly", "un", "double", "letter", "other"]))
    changed = {
        "drop": words[:at] + words[at + 1 :],
        "not": [*words[:at], "not", *words[at:]],
        "nearly": [*words[:at], data.draw(st.sampled_from(["nearly", "almost", "never", "no"])), *words[at:]],
        "un": [*words[:at], f"un{words[at]}", *words[at + 1 :]],
        "double": [*words[:at], words[at], *words[at:]],
        "letter": [*words[:at], words[at][1:] + "x", *words[at + 1 :]],
        "other": [
            *words[:at],
            data.draw(st.sampled_from(["press", "belt", "off", "hot", "we", "any"])),
            *words[at + 1 :],
        ],
    }[slip]
    said = " ".join(changed)
    if canonical(said) == canonical(sentence):
        return
    understood = understand(
        heard(said), Sayable(COMMANDS, sentence=sentence, sentences_elsewhere=GATES), book
    )
    assert not (isinstance(understood, Meaning) and understood.intent == "sentence")


@settings(max_examples=300)
@given(data=st.data())
def test_a_slip_in_a_command_that_counts_is_never_taken(data: st.DataObject, book: Phrasebook) -> None:
    command = book.commands[data.draw(st.sampled_from(sorted(COMMANDS - MAY_BE_NEAR)))]
    saying = data.draw(st.sampled_from(command.says))
    at = data.draw(st.integers(0, len(saying) - 1))
    said = saying[:at] + data.draw(st.sampled_from("aeiobdmt")) + saying[at + 1 :]
    understood = understand(heard(said), EVERYTHING, book)
    if isinstance(understood, Meaning) and understood.intent == command.id:
        assert book.find(canonical(said)) is not None or understood.value is not None


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_a_command_turned_round_is_not_that_command(command: str, book: Phrasebook) -> None:
    for saying in book.commands[command].says:
        if saying in ("too fast", "too loud"):
            continue  # 'not too fast' asks for the same
        understood = understand(heard(f"not {saying}"), EVERYTHING, book)
        assert not (isinstance(understood, Meaning) and understood.intent == command), saying


@pytest.mark.parametrize(
    "affirmative", ["yes", "confirm", "done", "accept", "accept_note", "fine", "heat_on", "at_set", "cool_on"]
)
def test_an_affirmative_with_not_in_it_affirms_nothing(affirmative: str, book: Phrasebook) -> None:
    for saying in book.commands[affirmative].says:
        words = saying.split()
        for at in range(len(words)):
            understood = understand(heard(" ".join([*words[:at], "not", *words[at:]])), EVERYTHING, book)
            assert not (isinstance(understood, Meaning) and understood.intent == affirmative), saying


@given(text=st.text(max_size=60))
def test_any_text_is_understood_or_dropped_without_an_error(text: str, book: Phrasebook) -> None:
    assert isinstance(understand(heard(text), EVERYTHING, book), Meaning | AskBack | NotForUs)


@pytest.mark.parametrize("word", ["note", "one", "not", "185", "the", "stop,"])
def test_a_very_long_utterance_is_answered_at_once(word: str, book: Phrasebook) -> None:
    began = time.perf_counter()
    understood = understand(heard(f"make a note {word} " * 5_000), EVERYTHING, book)
    assert time.perf_counter() - began < 2
    assert isinstance(understood, Meaning)
    assert isinstance(understand(heard(f"{word} " * 5_000), EVERYTHING, book), Meaning | NotForUs)
    assert isinstance(understand(heard(f"{word} " * 59), EVERYTHING, book), Meaning | NotForUs | AskBack)
    assert time.perf_counter() - began < 4
