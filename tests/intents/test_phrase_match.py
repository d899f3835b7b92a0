"""A heard text is a phrase of the list, two of them, or none; never another number."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intents.canonical import canonical
from intents.number_words import say_digits, say_number
from intents.phrase_match import fitting

AUDIO = Path(__file__).parents[3] / "shared" / "audio"


def listed(*phrases: str) -> dict[str, str]:
    return {canonical(phrase): phrase for phrase in phrases}


SAME = [
    ("1 5 2 3 8", "one five two three eight"),
    ("One, five, one.", "one five one"),
    ("203 757 8899", "two oh three seven five seven eight eight nine nine"),
    ("203-757-8899", "two oh three seven five seven eight eight nine nine"),
    ("Enter 827.", "enter eight twenty seven"),
    ("Enter 827.", "enter eight two seven"),
    ("Enter 827.", "enter eight hundred and twenty seven"),
    ("Enter 8 27.", "enter eight twenty seven"),
    ("Enter 12", "enter twelve"),
    ("Enter 12", "enter one two"),
    ("Enter 1, 2", "enter one two"),
    ("Enter 10, 5", "enter ten five"),
    ("22", "double two"),
    ("It's 185 degrees!", "it is one hundred and eighty five degrees"),
    ("one hundred eighty five", "one hundred and eighty five"),
    ("one eighty five", "one hundred and eighty five"),
    ("1.82", "one point eight two"),
    ("4.30", "four point three zero"),
    ("2.5", "two and a half"),
    ("2½", "two and a half"),
    ("1/2", "a half"),
    ("1,500", "fifteen hundred"),
    ("1,500", "one thousand five hundred"),
    ("4:30", "four thirty"),
    ("12:05", "twelve oh five"),
    ("-5", "minus five"),
    ("05", "oh five"),
]
OTHER = [
    ("683, 307.5", "six eight three three oh seven five"),
    ("1506.", "one five two zero six"),
    ("the press does not show the same numbers", "the press shows the same numbers"),
    ("the press shows the same number", "the press shows the same numbers"),
    ("", "how long left"),
    ("Enter 4:30.", "enter four point five"),
    ("Enter 4:30.", "enter four hundred and thirty"),
    ("Enter 4:30.", "enter four three zero"),
    ("4:30", "430"),
    ("Twelve thirty.", "twelve and a half"),
    ("Twelve thirty.", "one thousand two hundred and thirty"),
    ("12:05", "twelve point zero eight three"),
    ("12:05", "twelve five"),
    ("Enter 1,500", "enter one point five"),
    ("1,82", "one point eight two"),
    ("1.500", "one thousand five hundred"),
    ("Enter 10, 5", "enter one hundred and five"),
    ("Enter 10, 5", "enter one oh five"),
    ("Enter 10, 5", "enter fifteen"),
    ("enter ten five", "enter one hundred and five"),
    ("100 85", "one hundred and eighty five"),
    ("100 85", "one zero zero eight five"),
    ("Enter 1, 2", "enter twelve"),
    ("one, two", "twelve"),
    ("2-3", "twenty three"),
    ("2-3", "two three"),
    ("185-190", "one eight five one nine zero"),
    ("1-2", "twelve"),
    ("2 to 3", "two three"),
    ("5'6", "fifty six"),
    ("5'6\"", "fifty six inch"),
    ("≥185", "one eight five"),
    ("185+", "one eight five"),
    ("+5", "five"),
    ("-5", "five"),
    ("5", "oh five"),
    ("half", "zero point five"),
    ("2.68, 4.694", "two point six eight four point six nine four"),
    ("1.5", "fifteen"),
    ("1.5", "one five"),
    ("oh", "zero"),
    ("1st", "one"),
]


@pytest.mark.parametrize(("heard", "phrase"), SAME)
def test_numbers_are_the_same_however_they_are_spelled(heard: str, phrase: str) -> None:
    assert fitting(heard, listed(phrase)) == [phrase]


@pytest.mark.parametrize(("heard", "phrase"), OTHER)
def test_a_lost_digit_a_point_a_sign_or_another_word_is_not_the_phrase(heard: str, phrase: str) -> None:
    assert fitting(heard, listed(phrase)) == []


def test_what_could_be_two_phrases_is_both_of_them() -> None:
    phrases = listed("set 185", "set one eighty five")
    assert fitting("set one hundred and eighty five", phrases) == ["set 185", "set one eighty five"]
    assert fitting("set 185", phrases) == ["set 185"]


@given(st.integers(0, 99_999), st.integers(0, 99_999), st.sampled_from([" ", "-", ", "]))
def test_a_number_is_understood_as_no_other_however_both_are_spelled(
    one: int, other: int, between: str
) -> None:
    def spellings(n: int) -> list[str]:
        return [str(n), say_number(n), say_digits(n), between.join(str(n)), f"{n:,}"]

    for heard in spellings(one):
        for phrase in (say_number(other), say_digits(other)):
            assert one == other or fitting(heard, listed(phrase)) == [], (heard, phrase)
    assert fitting(str(one), listed(say_digits(one))) == [say_digits(one)]
    assert fitting(str(one), listed(say_number(one))) == [say_number(one)]


@given(st.text(max_size=40), st.text(min_size=1, max_size=40))
def test_any_text_is_matched_without_an_error(heard: str, phrase: str) -> None:
    assert fitting(heard, listed(phrase)) in ([], [phrase])


def test_every_phrase_that_was_recorded_is_understood_as_itself_and_no_two_are_one() -> None:
    if not (AUDIO / "manifest.tsv").is_file():
        pytest.skip("the recordings are not at hand")
    with (AUDIO / "manifest.tsv").open(encoding="utf-8", newline="") as file:
        words = {row["words"] for row in csv.DictReader(file, delimiter="\t") if row["words"]}
    phrases = listed(*words)
    assert len(phrases) > 50
    for canon, phrase in phrases.items():
        others = {other: p for other, p in phrases.items() if other != canon}
        assert fitting(phrase, phrases) == [phrase]
        assert fitting(phrase, others) == []
