"""The supervisor's list: what departed from the straight course."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from assistant.record.chain import Line
from assistant.record.read import read_log
from assistant.review.deviations import departures


def told(*events: dict[str, Any]) -> list[tuple[str, str]]:
    lines = [
        Line(1, n, float(n), "2026-11-25T14:00:00+01:00", 0.0, "", 0, "", event)
        for n, event in enumerate(events)
    ]
    return [(d.sort, d.sentence) for d in departures(lines)]


def test_each_departure_of_the_session_is_listed_once(sealed: Path) -> None:
    found = departures(read_log(sealed))
    assert Counter(d.sort for d in found) == {
        "value refused": 1, "corrected": 1, "not as computed": 1, "skip refused": 1, "answer refused": 1, "hand-over": 1,
        "reading": 1, "interruption": 2, "clock": 1, "danger": 2, "held": 1, "asked again": 1, "inspection": 1, "deviation": 1,
    }  # fmt: skip
    lines = sealed.read_text().splitlines()
    assert all(d.wall in lines[d.line_no - 1] for d in found)


def value(kind: str, slot: str, number: float) -> dict[str, Any]:
    return {"kind": kind, "slot": slot, "value": number, "said": "", "way": "typed"}


def test_a_value_changed_after_it_counted_is_a_correction() -> None:
    assert told(value("value_taken", "dwell", 240.0), value("value_taken", "dwell", 270.0)) == [
        ("corrected", "Dwell corrected after it had counted: 4 min became 4 min 30 s.")
    ]


def test_a_value_given_confirmed_and_repeated_is_none() -> None:
    assert (
        told(
            value("value_offered", "dwell", 240.0),
            value("value_taken", "dwell", 240.0),
            value("value_taken", "dwell", 240.0),
        )
        == []
    )


def test_a_value_taken_back_is_told_with_what_it_was() -> None:
    events = (value("value_taken", "dwell", 240.0), {"kind": "value_dropped", "slot": "dwell"})
    assert told(*events) == [("corrected", "Dwell 4 min was taken back.")]


def test_a_second_reading_of_the_same_thing_corrects_nothing() -> None:
    first, second = (value("value_offered", "upper_reading", kelvin) for kelvin in (453.15, 343.15))
    read = {"kind": "reading", "slot": "upper_reading", "value": 453.15, "plausible": True, "sentence": ""}
    assert told(first, read, second) == []
    assert [sort for sort, _ in told(first, second)] == ["corrected"]


def computed(dwell_s: float, **given: float) -> dict[str, Any]:
    return {"kind": "computed", "topic": "recipe", "inputs": given, "results": {"values": {"dwell": dwell_s}}}


def test_agreeing_to_a_recipe_computed_anew_is_no_departure() -> None:
    assert told(
        computed(240.0),
        value("value_taken", "dwell", 240.0),
        computed(250.0),
        value("value_taken", "dwell", 250.0),
    ) == [("corrected", "Dwell corrected after it had counted: 4 min became 4 min 10 s.")]


def test_a_value_of_ones_own_stays_a_departure_when_the_recipe_takes_it_over() -> None:
    own = value("value_taken", "dwell", 300.0)
    assert told(computed(240.0), own, computed(300.0, given_dwell=300.0), own) == [
        ("not as computed", "Dwell 5 min; computed was 4 min."),
        ("not as computed", "Dwell 5 min; computed was 4 min."),
    ]


def test_a_recipe_that_cannot_be_is_a_refusal() -> None:
    refused = {
        "kind": "computed",
        "topic": "fit",
        "inputs": {},
        "results": {"refused": ["The template is too wide."]},
    }
    assert told(refused) == [("value refused", "The template is too wide.")]
