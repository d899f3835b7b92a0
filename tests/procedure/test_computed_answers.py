"""Questions after what was computed: cut length, current, pull, fit."""

from __future__ import annotations

import pytest

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.procedure.told import ASKED, asked_for
from intents.canonical import canonical
from intents.match import understand
from intents.meaning import Heard, Meaning, Sayable, Topic
from intents.phrasebook import load_phrasebook

BOOK = load_phrasebook()
CATALOGUE = load_catalogue()
JOB = build_job(read_sheet(PACKAGED / "jobs" / "guided_on_the_conveyor.toml", CATALOGUE), CATALOGUE)


@pytest.mark.parametrize(
    ("question", "name", "words"),
    [
        ("what is the cut length", "cut_length", "cut 8760 mm"),
        ("tell me the number of notches", "cut_length", "348 whole notches"),
        ("what is the current", "supply_current", "A from the supply"),
        ("how much is the voltage drop", "supply_current", "% of the voltage"),
        ("what is the pull", "belt_pull", "stand 1005"),
        ("what is the tension", "belt_pull", "marks"),
        ("what is the fit", "template_fit", "fit the"),
    ],
)
def test_a_question_is_understood_and_answered(question: str, name: str, words: str) -> None:
    topics = tuple(Topic(one, sayings) for one, (sayings, _) in ASKED.items())
    meant = understand(Heard(question, "typed", 1.0, 2.0), Sayable(frozenset(), topics=topics), BOOK)
    assert isinstance(meant, Meaning)
    assert (meant.intent, meant.slot) == ("ask_value", name)
    assert isinstance(JOB, Job)
    assert words in asked_for(name, JOB)


def test_without_a_whole_sheet_that_is_said() -> None:
    for nothing in (None, ("The press is missing.",)):
        assert "not whole" in asked_for("cut_length", nothing)


def test_the_sayings_are_plain_words() -> None:
    assert all(canonical(saying) == saying for sayings, _ in ASKED.values() for saying in sayings)
