"""No sign beside a number is lost, and two numbers never become a third."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intents.as_typed import as_typed
from intents.canonical import canonical
from intents.match import understand
from intents.meaning import Expected, Heard, Meaning, QuantityKind, Sayable
from intents.number_words import say_number
from intents.numbers import readings
from intents.phrasebook import Phrasebook
from intents.quantities import OutOfRange, Parsed, parse_quantity

KINDS: tuple[QuantityKind, ...] = ("temperature", "duration", "pressure", "length", "count")
RANGES = ["-", "–", " - ", " – ", "...", " to ", " or ", "-to-", " up to ", " through "]


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("4-5", "4 dash 5"),
        ("4–5 minutes", "4 dash 5 minutes"),
        ("4 minutes - 5", "4 minutes dash 5"),
        ("4 min-5 min", "4 min dash 5 min"),
        ("four-five", "four dash five"),
        ("forty–one hundred", "forty dash one hundred"),
        ("forty-five", "forty five"),
        ("one-hundred-and-five", "one hundred and five"),
        ("one-point-eight-two", "one point eight two"),
        ("one point five-two", "one point five dash two"),
        ("1-8-5", "1 8 5"),
        ("1... 8... 5", "1 8 5"),
        ("one-eight-five", "one eight five"),
        ("203-757-8899", "203 757 8899"),
        ("12-0-5", "12 dash 0 dash 5"),
        ("2-1/2 inch", "2 1/2 inch"),
        ("call 9-1-1", "call 9 1 1"),
        ("zone-2", "zone 2"),
        ("upper - 142", "upper dash 142"),
        ("--5", "dash minus 5"),
        ("+-5", "plus minus 5"),
        ("185+", "185 plus"),
        ("185-", "185 dash"),
        ("well - done", "well done"),
        ("≥185", "greater than or equal to 185"),
        ("≥ one eighty five", "greater than or equal to one eighty five"),
        ("!=185", "not 185"),
        ("upper = 185", "upper 185"),
        ("2=3", "2 equals sign 3"),
        ("$185", "dollar sign 185"),
        ("1·82", "1 middle dot 82"),
        ("4 / 5", "4 slash 5"),
        ("180/", "180 slash"),
        ("N/mm", "n mm"),
        ("4 : 30", "4:30"),
        ("1(85)", "1 sign 85"),
        ("4? 5", "4 dash 5"),
        ("185! 190", "185 dash 190"),
        ("two... and a half", "two and a half"),
        ("two... point five", "two point five"),
        ("one hundred... and five", "one hundred and five"),
        ("ninety - one hundred", "ninety dash one hundred"),
        ("4 (5)", "4 sign 5"),
        ("1;85", "1 dash 85"),
        ("4〜5", "4 wave dash 5"),
        ("(185)", "185"),
        ("♪ ♪", ""),
        ("18\u03365", "18 combining long stroke overlay 5"),
        ("5'6\"", "5 feet 6 inch"),
        ("5’ 6.5”", "5 feet 6.5 inch"),
        ("10'6", "10 feet 6 inch"),
        ("5'", "5 feet"),
        ("1'85", "1 prime 85"),
        ("4'30\"", "4 prime 30 inch"),
        ("'enter 12'", "enter 12"),
    ],
)
def test_a_sign_beside_a_number_is_said_unless_it_only_spells_it(text: str, plain: str) -> None:
    assert canonical(text) == plain
    assert canonical(plain) == plain


@pytest.mark.parametrize(
    ("said", "inches"),
    # class: analytic
    [("5'6\"", 66), ("5' 6\"", 66), ("10'6", 126), ("5'", 60), ("0'11\"", 11), ("5'6.5\"", 66.5)],
)
def test_feet_and_inches_are_a_length(said: str, inches: float) -> None:
    found = parse_quantity(said, "length")
    assert isinstance(found, Parsed)
    assert found.value_si == pytest.approx(inches * 0.0254)


@pytest.mark.parametrize("kind", ["temperature", "duration", "pressure"])
def test_feet_and_inches_are_nothing_else(kind: QuantityKind) -> None:
    assert parse_quantity("5'6\"", kind) is None


@given(
    st.sampled_from("≥≤≠≫⩾≪√$€£∛∝≡≅≮⊥|#\\‰·†¬∞↑→∓÷⁒≶〜‿"),
    st.integers(0, 9999),
    st.sampled_from(["{0}{1}", "{0} {1}", "{1}{0}", "{1} {0}", "({0}{1})", "it is {0} {1}", "{1}{0}5"]),
    st.sampled_from(KINDS),
)
def test_a_number_with_a_foreign_sign_is_no_value(
    sign: str, number: int, form: str, kind: QuantityKind
) -> None:
    assert parse_quantity(form.format(sign, number), kind) is None


def _written(value: float) -> str:
    return f"{value:g}"


NUMBERS = st.one_of(
    st.integers(0, 9999).map(float), st.integers(1, 9999).map(lambda n: n / 10), st.integers(0, 20).map(float)
)


@settings(max_examples=1500)
@given(
    st.lists(NUMBERS, min_size=2, max_size=2, unique=True).map(sorted),
    st.sampled_from(RANGES),
    st.sampled_from(KINDS),
    st.sampled_from(["", " mm", " bar", " minutes", " degrees"]),
    st.sampled_from(["{0}{1}{2}", "{0}{3}{1}{2}", "between {0} and {2}", "from {0} to {2}"]),
    st.booleans(),
)
def test_a_range_is_never_one_value(
    ends: list[float], between: str, kind: QuantityKind, unit: str, form: str, in_words: bool
) -> None:
    """Nothing is taken of two numbers, the lower before the higher, whatever stands between them."""
    say = say_number if in_words else _written
    if in_words and between == "-":
        between = "–"  # 'forty-one hundred' is 4100: in words a hyphen spells one number
    said = f"{form.format(say(ends[0]), between, say(ends[1]), unit)}{unit}"
    found = parse_quantity(said, kind)
    assert not isinstance(found, Parsed), said
    assert not isinstance(found, OutOfRange) or math.isfinite(found.value_si)
    assert not [r for r in readings(said) if r.sure], said


@settings(max_examples=300)
@given(
    ends=st.lists(st.integers(0, 300), min_size=2, max_size=2, unique=True).map(sorted),
    between=st.sampled_from(RANGES),
    way=st.sampled_from(["voice", "typed"]),
)
def test_an_answer_that_is_a_range_is_asked_about_or_dropped(
    ends: list[int], between: str, way: str, book: Phrasebook
) -> None:
    expected = Expected("upper_temperature", "quantity", "temperature", 273.15, 573.15)
    sayable = Sayable(frozenset(book.commands), expected=expected)
    said = f"{ends[0]}{between}{ends[1]}"
    heard = Heard(said, "voice" if way == "voice" else "typed", 1, 2)
    found = understand(heard, sayable, book)
    assert not (isinstance(found, Meaning) and isinstance(found.value, float)), (said, found)


@pytest.mark.parametrize("name", ["Line 4 - 5", "Press 4-5", "Halle 3 – Nord", "A + 2", "Bench #5"])
def test_a_name_keeps_its_signs(name: str) -> None:
    assert as_typed(name, canonical(name)) == name
