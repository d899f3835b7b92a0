"""Questions after what was computed: cut length, current, pull, fit."""

from __future__ import annotations

import math

import pytest

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.procedure.asked import ASKED, asked_for
from assistant.recipe.recipe import compute_recipe
from intents.canonical import canonical
from intents.match import understand
from intents.meaning import Heard, Meaning, Sayable, Topic
from intents.phrasebook import load_phrasebook

BOOK = load_phrasebook()
CATALOGUE = load_catalogue()


def job(name: str) -> Job:
    made = build_job(read_sheet(PACKAGED / "jobs" / name, CATALOGUE), CATALOGUE)
    assert isinstance(made, Job)
    return made


JOB, FLAT = job("guided_on_the_conveyor.toml"), job("flat_in_the_shop.toml")
RECIPE = compute_recipe(JOB)


@pytest.mark.parametrize(
    ("question", "name", "words"),
    [
        ("what is the cut length", "cut_length", "cut 8760 mm"),
        ("tell me the number of notches", "notches", "348 whole notches"),
        ("how long do I cut the belt", "cut_length", "cut 8760 mm"),
        ("Where do I cut?", "cut_length", "30 mm beyond the middle"),
        ("how many notches", "notches", "348 give 0.52 % and 349 give 0.23 %"),
        (
            "how far apart must the marks be",
            "belt_pull",
            "1005.2 mm apart when the tension is right: 348 whole notches give 0.52 %",
        ),
        ("what does the belt pull", "belt_pull", "248 N"),
        ("what load is on the shaft", "belt_pull", "497 N"),
        ("what current does the press draw", "supply_current", "13.0 A"),
        ("how many amps does it draw", "supply_current", "13.0 A"),
        ("is the lead long enough", "lead_fit", "Yes, for this current: 20 m of 2.5 mm²"),
        ("is the cable thick enough", "lead_fit", "2.2 % of the voltage"),
        (
            "which section must the lead have",
            "lead_section",
            "Over 20 m at least 1.5 mm², for a drop of 5 % at most. 2.5 mm²",
        ),
        ("how thick must the lead be", "lead_section", "local code"),
        ("what is the lead section", "lead_section", "2.5 mm² drops no more than 3 %"),
        ("how many fingers", "fingers", "4 whole fingers"),
        ("how long is the weld line", "fingers", "484 mm long, 8.1 times"),
        ("does the template fit", "template_fit", "fit the"),
        ("what pressure is on the belt", "belt_pressure", "on the belt under the plate"),
        ("how hot is it to touch", "touch", "hot, gloves"),
        ("what is the pass rate", "pass_rate", "'loopwright statistics'"),
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
    assert words in asked_for(name, JOB, RECIPE, {})


def test_every_question_has_an_answer_and_every_answer_a_question() -> None:
    assert set(BOOK.questions.values()) == set(ASKED)
    topics = tuple(Topic(name, ()) for name in ASKED)
    for question, name in BOOK.questions.items():
        meant = understand(Heard(question, "voice", 1.0, 2.0), Sayable(frozenset(), topics=topics), BOOK)
        assert isinstance(meant, Meaning)
        assert (meant.intent, meant.slot) == ("ask_value", name)


def test_a_question_nearly_heard_is_answered_and_one_turned_round_is_not() -> None:
    sayable = Sayable(frozenset(), topics=(Topic("lead_fit", ()),))
    near = understand(Heard("is the lead thick enouf", "voice", 1.0, 2.0), sayable, BOOK)
    assert isinstance(near, Meaning)
    assert near.slot == "lead_fit"
    turned = understand(Heard("is the lead not thick enough", "voice", 1.0, 2.0), sayable, BOOK)
    assert not isinstance(turned, Meaning)


@pytest.mark.parametrize(
    ("question", "name"),
    [
        ("how much do I add for the fingers", "cut_length"),
        ("what length of belt do I need", "cut_length"),
        ("do the notches fit", "notches"),
        ("with what force does the belt pull", "belt_pull"),
        ("how big must the fuse be", "supply_current"),
        ("is the extension lead all right", "lead_fit"),
        ("how many fingers across the belt", "fingers"),
        ("is the template okay", "template_fit"),
        ("how many bar are on the belt", "belt_pressure"),
        ("when can I touch it", "touch"),
    ],
)
def test_a_question_in_other_words_is_known_by_what_it_is_about(question: str, name: str) -> None:
    sayable = Sayable(frozenset(), topics=tuple(Topic(one, ()) for one in ASKED))
    meant = understand(Heard(question, "voice", 1.0, 2.0), sayable, BOOK)
    assert isinstance(meant, Meaning)
    assert (meant.intent, meant.slot) == ("ask_value", name)


@pytest.mark.parametrize(
    "talk",
    [
        "is the lead dry",
        "the lead is long enough",
        "is the tension off",
        "is the pressure off the belt",
        "what if the lead is fifty metres",
        "why the notches",
        "pull the lead to me",
        "hold the template",
        "can you hand me the template",
        "what did he say about the fingers on the other belt over there then",
        "is the lead not long enough",
    ],
)
def test_talk_of_the_same_things_is_no_such_question(talk: str) -> None:
    sayable = Sayable(frozenset(), topics=tuple(Topic(one, ()) for one in ASKED))
    meant = understand(Heard(talk, "voice", 1.0, 2.0), sayable, BOOK)
    assert not (isinstance(meant, Meaning) and meant.intent == "ask_value"), meant


def test_the_numbers_are_those_of_the_geometry() -> None:
    # class: analytic -- 2 b / p times the flank, for 60 mm, pitch 15, length 60
    line_mm = 2 * 60 / 15 * math.hypot(60, 7.5)
    assert f"{line_mm:.0f} mm long" in asked_for("fingers", JOB, RECIPE, {})


def test_an_answer_follows_the_readings_and_the_lead() -> None:
    assert "burns at a touch" in asked_for(
        "touch", JOB, RECIPE, {"upper_reading": 453.15, "lower_reading": 320.15}
    )
    assert "180 °C" in asked_for("touch", JOB, RECIPE, {"upper_reading": 453.15, "lower_reading": 320.15})
    assert "no recipe" in asked_for("belt_pressure", JOB, None, {})
    long = JOB.model_copy(update={"supply": JOB.supply.model_copy(update={"lead_length_m": 90.0})})
    assert asked_for("lead_fit", long, RECIPE, {}).startswith("No, for this current. Over 90 m")
    assert "has no notches" in asked_for("notches", FLAT, RECIPE, {})


def test_without_a_whole_sheet_that_is_said() -> None:
    for nothing in (None, ("The press is missing.",)):
        assert "not whole" in asked_for("cut_length", nothing, None, {})


def test_the_sayings_are_plain_words() -> None:
    assert all(canonical(saying) == saying for sayings, _ in ASKED.values() for saying in sayings)
