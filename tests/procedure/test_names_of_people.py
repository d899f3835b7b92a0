"""Who is at the press is a name: no question, value, command or belt stands in the record for it."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_press import Talk, fresh, sheet

from intents.person_name import why_no_name
from intents.quoted import quoted

NO_NAMES = {
    "in the shot.": "called here",
    "in the shop": "called here",
    "two millimeters": "number",
    "185": "number",
    "Robin two": "number",
    "the packing line belt": "called here",
    "packing line": "called here",
    "hinged press": "called here",
    "why is that so": "question",
    "where did he go": "question",
    "Robin and Alex": "no name of a person",
    "somebody from the office": "too long",
    "Anna Maria von Berg": "too long",
}
NAMES = [
    "Robin",
    "Zoë",
    "Jan Berg",
    "Anna Maria Berg",
    "O'Hara",
    "my name is Hazel",
    "Will",
    "Mark",
    "Rose",
    "Art",
]


def at_the_name(path: Path) -> Talk:
    talk = fresh(path, {key: value for key, value in sheet("demo").items() if key != "technician"})
    assert "Who" in talk.asked()
    return talk


@pytest.mark.parametrize(("said", "why"), NO_NAMES.items())
def test_what_is_no_name_is_refused_with_a_sentence_and_asked_again(
    said: str, why: str, tmp_path: Path
) -> None:
    talk = at_the_name(tmp_path)
    answer = talk.type(said)
    assert why in answer
    assert talk.state.offered is None
    assert talk.asked() in answer or "Who" in answer
    talk.type("that is right")
    assert talk.state.technician == ""


@pytest.mark.parametrize("said", NAMES)
def test_a_name_is_read_back_and_taken(said: str, tmp_path: Path) -> None:
    talk = at_the_name(tmp_path)
    name = said.removeprefix("my name is ")
    assert name in talk.type(said)
    talk.type("that is right")
    assert talk.state.technician == name


@pytest.mark.parametrize("said", ["hand over to two millimetres", "hand over to packing line"])
def test_nothing_else_takes_over_either(said: str, tmp_path: Path) -> None:
    talk = fresh(tmp_path, sheet("demo"))
    assert "name" in talk.type(said)
    talk.type("that is right")
    assert not talk.events("handed_over")


def test_a_name_like_a_choice_is_refused_only_where_there_is_such_a_choice() -> None:
    assert why_no_name("green", ("the green template", "green"))
    assert not why_no_name("Green", ())


@pytest.mark.parametrize(
    ("heard", "said"),
    [
        ("Computer, my name is Hazel.", "my name is Hazel"),
        ("computer computer, stop!", "stop"),
        ("Well, Computer: go on.", "Well, go on"),
        ("The computers are here.", "The computers are here."),
        ("Computer.", "Computer."),
    ],
)
def test_words_are_quoted_without_our_own_name(heard: str, said: str) -> None:
    assert quoted(heard, "computer") == said


def test_a_callsign_of_two_words_is_left_out_as_a_whole() -> None:
    assert quoted("Hey press, the press is hot.", "hey press") == "the press is hot"
    assert quoted("Hey press.", None) == "Hey press."
