"""Three whole jobs, typed by the scripted technician at three different presses, from the sheet to the seal."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import at_the_press as press
import pytest

from assistant.opening import open_bench
from assistant.practice.bench import PracticeBench
from assistant.practice.script import load_script
from assistant.record.read import read_log
from assistant.review.verify import verify

SHOP = [
    "workplace_fit", "blade", "blade", "blade", "blade", "closed", "leads_sound", "values_agree", "cold_inside",
    "dead_and_empty", "hot_parts", "hot_parts", "hot_parts",
]  # fmt: skip
HEAVY = [
    "workplace_fit", "blade", "blade", "blade", "blade", "lifting", "lifting", "closed", "leads_sound", "values_agree",
    "cold_inside", "dead_and_empty", "hot_parts", "hot_parts", "lifting", "hot_parts",
]  # fmt: skip
GATES = {
    "demo": SHOP,
    "solid": HEAVY,
    "guided": ["conveyor_dead", "energy_released", *HEAVY, "guards", "own_lock"],
}


@pytest.mark.slow
@pytest.mark.parametrize("script", sorted(press.JOBS))
def test_a_practice_job_is_accepted_and_its_log_verifies_with_its_gates_in_order(
    script: str, tmp_path: Path
) -> None:
    practice = PracticeBench(open_bench(tmp_path, callsign=None), load_script(script), datetime.now(UTC))
    tries = 0
    while (wish := practice.next()) is not None:
        practice.typed(wish.words)
        tries += 1
        assert tries < 400, f"stuck at {practice.session.view().act_say}"
    assert practice.session.state.closed == "accepted"
    verdict = verify(practice.session.writer.path)
    assert verdict.ok
    assert verdict.sealed
    assert verdict.simulated
    closed = [
        line.event["gate"] for line in read_log(practice.session.writer.path) if line.kind == "gate_closed"
    ]
    assert [
        g for n, g in enumerate(closed) if g not in ("workplace_fit", "leads_sound") or g not in closed[:n]
    ] == GATES[script]


@pytest.mark.parametrize("script", sorted(press.JOBS))
def test_at_a_real_press_every_gate_is_asked_once_and_closed_by_its_own_sentence(script: str) -> None:
    import json

    events = [json.loads(raw)["event"] for raw, _, _ in press.recorded(script)]
    closed = [event for event in events if event["kind"] == "gate_closed"]
    assert [event["gate"] for event in closed] == GATES[script]
    assert all(event["heard"] == event["sentence"] for event in closed)
    assert not events[0]["simulated"]
    assert not any(event["kind"] in ("gate_refused", "gate_rearmed", "skip_refused") for event in events)
    assert [event["mark"] for event in events if event["kind"] == "run_marked"] == [
        "heat_on",
        "at_set",
        "cool_on",
        "vented",
    ]
    assert events[-1]["kind"] == "sealed"


def test_readings_of_the_whole_job_are_plausible_on_presses_that_are_not_as_assumed() -> None:
    import json

    for script in press.JOBS:
        events = [json.loads(raw)["event"] for raw, _, _ in press.recorded(script)]
        readings = [event for event in events if event["kind"] == "reading"]
        assert len(readings) >= 8
        assert all(event["plausible"] for event in readings), script
