"""One spelling for each utterance, and no number turned into another."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intents.canonical import canonical

PIECES = (
    "won't", "it's", "1.82", "1,000", "-5", ".5", "½", "2½", "²", "°C", "4:30", "1/2", "ok", "o.k.", "p.s.i.", "don't", "dont", "'", "-", "–", "...", ",", "1st", "mm2", "①", "İ", "ß", "don’t", '"', " ",
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("It won't start.", "it will not start"),
        ("I've DONE that!", "i have done that"),
        ("it’s cold", "it is cold"),
        ("I'm ready; they're clear", "i am ready they are clear"),
        ("can't, cannot, cant", "can not can not can not"),
        ("the belt's edge", "the belts edge"),
        ("salt & pepper", "salt and pepper"),
        ("Every body is clear.", "everybody is clear"),
        ("no body, some body", "no body some body"),  # a 'no' or 'some' stays a word of its own
        ("OK", "okay"),
        ("O.K.", "okay"),
        ("29 p.s.i.", "29 psi"),
        ("  a \t b\n", "a b"),
        ("1.82", "1.82"),
        (".5", "0.5"),
        ("4:30", "4:30"),
        ("661-5064", "661 5064"),
        ("2 1/2", "2 1/2"),
        ("2½", "2 1/2"),
        ("185°", "185 degrees"),
        ("185 °C", "185 degrees c"),
        ("185℃", "185 celsius"),
        ("Enter 72.", "enter 72"),
        ("1, 6, 0", "1 6 0"),
        ("1,000", "1,000"),
        ("2.68, 4.694", "2.68 4.694"),
        ("10²", "10 squared"),
        ("1.5 mm²", "1.5 mm squared"),
        ("185c", "185 c"),
        ("4m30s", "4 m 30 s"),
        ("-40", "minus 40"),
        ("− 5", "dash 5"),  # a dash with a space is a dash, and perhaps a minus
        ("−5", "minus 5"),
        ("1 . 5", "1 point 5"),
        ("1st", "1st"),
        (">185", "over 185"),
        ("~2", "about 2"),
        ('1/4"', "1/4 inch"),
        ('"enter 12"', "enter 12"),
        ("１８５", "185"),
        ("0.3%", "0.3 percent"),
        ("!?", ""),
    ],
)
def test_text_becomes_plain_words(text: str, plain: str) -> None:
    assert canonical(text) == plain


@given(st.one_of(st.text(max_size=40), st.lists(st.sampled_from(PIECES), max_size=6).map("".join)))
def test_plain_words_stay_as_they_are(text: str) -> None:
    assert canonical(canonical(text)) == canonical(text)


@given(
    st.integers(0, 10**6),
    st.integers(0, 999),
    st.sampled_from([" ", ", ", "; ", "-", " and ", "°", " mm ", "? "]),
)
def test_two_numbers_never_run_together(first: int, second: int, between: str) -> None:
    numbers = re.findall(r"\d+", canonical(f"{first}{between}{second}"))
    assert numbers == [str(first), str(second)]


@given(st.decimals(0, 10**6, places=3), st.sampled_from(["", ".", "!", "°", "mm", " bar", "%", "?"]))
def test_a_point_is_never_moved_or_lost(number: object, after: str) -> None:
    assert canonical(f"enter {number}{after}").split()[1] == str(number)


@given(st.integers(1, 999), st.sampled_from(["-", "−", "–"]))
def test_a_minus_sign_is_never_lost(number: int, sign: str) -> None:
    assert canonical(f"upper {sign}{number}") == f"upper minus {number}"


@given(st.text(max_size=60))
def test_only_words_and_numbers_are_left(text: str) -> None:
    plain = canonical(text)
    assert plain == plain.strip()
    assert "  " not in plain
    assert not set(plain) & set("!?;\"'()[]{}°%&@-")
