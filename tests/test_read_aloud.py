"""What is said aloud has no sign in it that a voice would pass over or spell: every text of whole jobs and data files."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from at_the_press import JOBS, bench, recorded
from moments import MOMENTS, say

import assistant
from intents.spoken_text import aloud

# A figure, a sign, two words joined by a sign, a lone letter, a letter case of units ('kW'), an abbreviated unit.
LEFT_OVER = re.compile(
    r"[^A-Za-z\s.,;:!?()'-]|\w:\w|(?<!\w)-|-(?!\w)|(?<![\w'])(?![aAI])[a-zA-Z](?![\w'])"
    r"|\b[a-z]+[A-Z]\w*|\b(?:mm|cm|kg|min|sec|kN|deg|degC|approx|e\.g|i\.e)\b"
)
NOT_SAID = frozenset(("source", "sources", "ranges", "says", "sayings", "id", "key"))  # keys of data files
SOME = ("agree_dwell", "ramp", "cold")


def left_over(text: str) -> list[str]:
    said = aloud(text)
    said = re.sub(r"(?<!\w)i(?!\w)", "I", said)  # as somebody typed it
    return [said[max(0, one.start() - 30) : one.end() + 15] for one in LEFT_OVER.finditer(said)]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        # class: analytic -- the names of signs, units and clock times
        ("185 °C: one eight five.", "one hundred and eighty five degrees: one eight five."),
        ("2 h each", "two hours each"),
        ("±5 K", "plus or minus five degrees"),
        ("+354 s", "plus three hundred and fifty four seconds"),
        ("70 s + 4 s = 74 s", "seventy seconds plus four seconds makes seventy four seconds"),
        ("-3.5 K", "minus three point five degrees"),
        ("−0.5 %", "minus zero point five percent"),
        ("20 N/mm", "twenty newtons per millimetre"),
        ("1 N/mm", "one newton per millimetre"),
        ("0.19 W/mK", "zero point one nine watts per metre and degree"),
        ("12 kW/m²", "twelve kilowatts per square metre"),
        ("10 K/min, 3 /min", "ten degrees per minute, three per minute"),
        ("3 kW, 500 W, 1 kWh", "three kilowatts, five hundred watts, one kilowatt hour"),
        ("4 × 2.5 mm²", "four times two point five square millimetres"),
        ("1.5 mm2 and 2 m²", "one point five square millimetres and two square metres"),
        ("0.5 Ω", "zero point five ohms"),
        ("12:30, 9:05, 9:00", "twelve thirty, nine oh five, nine o'clock"),
        ("10:30:15", "ten thirty and fifteen seconds"),
        ("2026-11-25", "twenty five November two thousand and twenty six"),
        ("6-8 bar", "six to eight bar"),
        ("1,000 mm", "one thousand millimetres"),
        ("5mm, PVC3, 3PVC", "five millimetres, PVC three, three PVC"),
        ("version 0.1.0", "version zero point one point zero"),
        ("1234 5678", "one two three four, five six seven eight"),
        ("say 'the platen's edge'.", "say the platen's edge."),
        ("gloves/apron", "gloves or apron"),
    ],
)
def test_signs_units_and_times_are_said_as_people_say_them(written: str, said: str) -> None:
    assert aloud(written) == said
    assert not left_over(written)


@pytest.mark.parametrize("sign", ["2 h", "kW", "5 ± x", "a/b", "12:30", "x = y", "- 5", "m²"])
def test_a_sign_left_over_would_be_noticed(sign: str) -> None:
    assert LEFT_OVER.search(sign)


def told_in(job: str) -> Iterator[str]:
    """Everything said in a job, and every reason and sentence computed for it."""
    for raw, kind, _ in recorded(job):
        event = json.loads(raw)["event"]
        if kind == "said":
            yield event["text"]
        else:
            yield from sentences(event)


def sentences(value: object, key: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from sentences(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from sentences(inner, key)
    elif isinstance(value, str) and key in ("reason", "said", "refused", "causes", "note", "cause"):
        yield value


@pytest.mark.parametrize("job", sorted(JOBS))
def test_nothing_is_left_over_in_what_a_whole_job_says(job: str) -> None:
    texts = list(told_in(job))
    assert len(texts) > 100  # class: regression
    assert not [left for text in texts for left in left_over(text)]


def answers_at(name: str) -> Iterator[str]:
    """The replies to one saying of each command and question, and to some what ifs."""
    book = bench().book
    sayings = {command.id: command.says[0] for command in book.commands.values() if command.says}
    sayings |= {topic: question for question, topic in book.questions.items()}
    whys = [f"why the {slot}" for slot in ("upper platen", "lower platen", "pressure", "dwell", "preheat")]
    for saying in (*sayings.values(), *whys, "what if the shop is five degrees", "what if 190 degrees"):
        yield say(name, saying).reply


@pytest.mark.parametrize("name", SOME)
def test_nothing_is_left_over_in_answers(name: str) -> None:
    assert not [left for reply in answers_at(name) for left in left_over(reply)]


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(set(MOMENTS) - set(SOME)))
def test_nothing_is_left_over_in_answers_at_any_other_moment(name: str) -> None:
    assert not [left for reply in answers_at(name) for left in left_over(reply)]


def texts_of(value: object, key: str = "") -> Iterator[str]:
    if key in NOT_SAID:
        return
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from texts_of(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from texts_of(inner, key)
    elif isinstance(value, str) and " " in value:
        yield value


def test_nothing_is_left_over_in_the_sentences_of_data_files() -> None:
    files = sorted(Path(assistant.__file__).parent.rglob("data/**/*.toml"))
    texts = [(file.name, text) for file in files for text in texts_of(tomllib.loads(file.read_text()))]
    assert len(texts) > 500  # class: regression
    filled = [(name, re.sub(r"\{\w+\}", "that", text)) for name, text in texts]
    assert not [(name, left) for name, text in filled for left in left_over(text)]
