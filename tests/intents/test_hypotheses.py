"""What the ear's less likely texts may do: name a command or a value, never a gate's sentence, never danger or a callsign."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intents.hypotheses import AS_LIKELY, CLOSE, LEAST_SURE, has_not_run_in, turned_round
from intents.match import understand
from intents.meaning import AskBack, Choice, Expected, Heard, Meaning, NotForUs, Sayable
from intents.phrasebook import COMMANDS, Phrasebook
from intents.quoted import quoted

SENTENCE = "the press is locked together and my hands are out of the way"
NOW = Sayable(frozenset({"done", "yes", "no", "hold", "repeat", "confirm", "where"}), callsign=None)
FREE = frozenset(COMMANDS)
THICK = replace(NOW, expected=Expected("thickness", "quantity", "length", 0.0005, 0.02))


def heard(*texts: tuple[str, float], way: str = "voice") -> Heard:
    (text, sureness), *others = texts
    alternatives, scores = tuple(t for t, _ in others), tuple(s for _, s in others)
    return Heard(
        text, "voice" if way == "voice" else "typed", 5, 6, True, True, sureness, alternatives, scores
    )


def test_a_command_that_is_only_the_second_text_is_taken_and_its_place_told(book: Phrasebook) -> None:
    found = understand(heard(("Wear a wee", -0.5), ("Where are we?", -0.7)), NOW, book)
    assert found == Meaning("where", said="Where are we?", place=1)


@pytest.mark.parametrize(
    ("first", "second", "intent"),
    [
        ("Computer, no 55.", "Computer, note 55.", "note"),
        ("Dun and dusted off", "Done.", "done"),
        ("That this correct", "That is correct.", "confirm"),
        ("Stop this fashion", "Stop the session.", "stop_session"),
        ("Hold of her", "Hold.", "hold"),
        ("It looks wood", "It looks good.", "fine"),
        ("I except the joint", "I accept the joint.", "accept"),
        ("Ant over to martin", "Hand over to Martin.", "hand_over"),
        ("Deviate shin by ash", "Deviation by ash.", "deviation"),
        ("False arm", "False alarm.", "false_alarm"),
        ("The powers of", "The power is off.", "power_lost"),
    ],
)
def test_what_is_more_than_shown_is_asked_about_when_only_a_less_likely_text_says_it(
    book: Phrasebook, first: str, second: str, intent: str
) -> None:
    now = replace(NOW, commands=FREE, callsign="computer", asked_s=4.0)
    found = understand(heard((first, -0.71), (second, -0.76)), now, book)
    assert isinstance(found, AskBack)
    assert found.question == f"Did you mean '{quoted(second, 'computer')}'?"
    assert [option.intent for option in found.options] == [intent]
    answer = "That is correct." if intent == "confirm" else "Yes."
    agreed = understand(heard((answer, -0.1)), replace(now, asked_back=found.options), book)
    assert isinstance(agreed, Meaning)
    assert agreed.intent == intent


def test_a_bare_yes_to_whether_the_confirmation_was_meant_confirms_nothing(book: Phrasebook) -> None:
    now = replace(NOW, commands=FREE, callsign="computer", asked_s=4.0)
    found = understand(heard(("That this correct", -0.71), ("That is correct.", -0.76)), now, book)
    assert isinstance(found, AskBack)
    agreed = understand(heard(("Yes.", -0.1)), replace(now, asked_back=found.options), book)
    assert not isinstance(agreed, Meaning) or agreed.intent == "yes"


@pytest.mark.parametrize("kind", ["choice", "name"])
def test_a_choice_or_a_name_that_only_a_less_likely_text_has_is_asked_about(
    book: Phrasebook, kind: str
) -> None:
    """What an inspection found, who is at the press: words, not a number that is read back digit by digit."""
    choices = (Choice("bubble", ("bubbles", "a bubble")),) if kind == "choice" else ()
    now = replace(NOW, expected=Expected("edge", "choice" if choices else "name", choices=choices))
    long = "a babel of many words that name nothing at all"
    found = understand(heard((long, -0.5), ("A bubble.", -0.6)), now, book)
    assert isinstance(found, AskBack)
    assert [(option.intent, option.slot) for option in found.options] == [("value", "edge")]


@pytest.mark.parametrize(("score", "taken"), [(LEAST_SURE, True), (LEAST_SURE - 0.01, False)])
def test_a_text_below_the_limit_counts_for_nothing(book: Phrasebook, score: float, taken: bool) -> None:
    found = understand(heard(("Lorem ipsum", -0.5), ("Where are we?", score)), NOW, book)
    assert isinstance(found, Meaning if taken else NotForUs)


@pytest.mark.parametrize(("behind", "asked"), [(CLOSE - 0.01, True), (CLOSE + 0.01, False)])
def test_two_commands_close_to_each_other_are_asked_about(
    book: Phrasebook, behind: float, asked: bool
) -> None:
    found = understand(heard(("Yes.", -0.2), ("No.", -0.2 - behind)), NOW, book)
    if not asked:
        assert found == Meaning("yes", said="Yes.")
        return
    assert isinstance(found, AskBack)
    assert found.question == "Did you mean 'Yes.' or 'No.'?"
    assert [option.intent for option in found.options] == ["yes", "no"]


def test_two_ways_of_saying_one_command_are_no_doubt(book: Phrasebook) -> None:
    assert isinstance(understand(heard(("Say again.", -0.2), ("Repeat.", -0.3)), NOW, book), Meaning)


def test_the_first_text_that_is_a_value_counts_because_it_is_read_back(book: Phrasebook) -> None:
    found = understand(
        heard(("Tupel into meters", -0.6), ("Two point two millimeters", -0.7), ("Two point four", -0.75)), THICK, book
    )  # fmt: skip
    assert isinstance(found, Meaning)
    assert found.value == pytest.approx(0.0022)  # class: analytic -- 2.2 mm in metres
    assert found.place == 1


@given(others=st.lists(st.floats(-1, 0), min_size=1, max_size=4))
def test_a_gates_sentence_among_the_other_texts_is_never_the_sentence(
    book: Phrasebook, others: list[float]
) -> None:
    at_gate = replace(NOW, sentence=SENTENCE)
    found = understand(
        heard(("the press is lock together and my hands", -0.1), *((SENTENCE, s) for s in others)), at_gate, book
    )  # fmt: skip
    assert isinstance(found, NotForUs)


def test_danger_and_the_callsign_count_in_the_likeliest_text_alone(book: Phrasebook) -> None:
    assert isinstance(understand(heard(("higher", -0.2), ("fire", -0.3)), NOW, book), NotForUs)
    called = replace(NOW, callsign="computer", asked_s=-100.0)
    assert understand(heard(("come pewter done", -0.2), ("computer done", -0.3)), called, book) == NotForUs(
        "no callsign"
    )


def test_typed_text_has_no_other_texts(book: Phrasebook) -> None:
    typed = heard(("lorem ipsum", -0.1), ("done", -0.2), way="typed")
    assert isinstance(understand(typed, NOW, book), NotForUs)


# class: regression -- what the ear wrote of 'not all of the tension ...' at 10 dB, first text and third
SWALLOWED = (
    ("All of the tension and all of the air pressure are gone.", -0.32),
    ("Not all of the tension and all of the air pressure are gone.", -0.33),
)


def test_a_not_within_another_word_is_told_and_one_of_its_own_is_none() -> None:
    for text in ("it doesn't start", "it won't start, it will not", "It isn’t hot", "wont start"):
        assert has_not_run_in(heard((text, -0.3))), text
    for text in (
        "It will not start.",
        "it cannot start",
        "Not now",
        "there is no tension",
        "the knot is tied",
    ):
        assert not has_not_run_in(heard((text, -0.3))), text


def test_a_sentence_that_is_turned_round_in_a_text_as_likely_is_told() -> None:
    assert turned_round(heard(*SWALLOWED)) == SWALLOWED[1][0]
    assert not turned_round(heard(SWALLOWED[0], (SWALLOWED[1][0], SWALLOWED[0][1] - AS_LIKELY)))
    assert not turned_round(heard(("the plates are hot", -0.3), ("the blades are hot", -0.3)))
    assert turned_round(heard(("the press is locked", -0.3), ("the press is unlocked", -0.3)))
