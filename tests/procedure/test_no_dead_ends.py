"""No talk leads where the job cannot go on: after any of it, a technician who answers plainly gets to the end."""

from __future__ import annotations

import os
import random
from pathlib import Path

import at_the_press as press
import pytest
from test_gate_machine import MOVES, QUESTIONS, VALUES

SEEDS = 20 * int(os.environ.get("LOOPWRIGHT_STEPS", "1"))
TALK = (*(m for m in MOVES if m not in ("stop the session", "cut it out")), *VALUES, *QUESTIONS)


@pytest.mark.parametrize("seed", range(SEEDS))
def test_after_any_talk_the_job_can_be_brought_to_its_end(seed: int, tmp_path: Path) -> None:
    draw = random.Random(seed)
    job = draw.choice(sorted(press.JOBS))
    talk = press.taken_up(
        job, draw.choice(press.ends(job)), tmp_path / "log.jsonl", gap_s=draw.choice((1, 100))
    )
    said = []
    for _ in range(draw.randint(4, 18)):
        said.append(draw.choice((*TALK, *["that is correct"] * 10, *["go back"] * 8)))
        talk.type(said[-1])
        if talk.session.finished:
            break
    for _ in range(4):
        if talk.state.danger:
            talk.type("false alarm")
        if talk.state.held:
            talk.type("we can go on")
        if talk.state.offered is not None or talk.state.asking is not None:
            talk.type("no")
    hand = press.technician(job)
    press.walk(talk.session, talk.clock, hand, lambda: talk.act == "decide" and _lost(talk))
    if _lost(talk):
        talk.type("cut it out", "that is correct")
        assert talk.state.closed == "cut out and redo", said
    else:
        assert talk.state.closed in ("accepted", "accepted with a note"), said


def _lost(talk: press.Talk) -> bool:
    """Told of the run what no joint is accepted after."""
    return any(finding.severity == "fail" for finding in talk.state.findings)
