"""No talk leads where the job cannot go on: after any of it, a technician who answers plainly gets to the end."""

from __future__ import annotations

import os
import random
from pathlib import Path

import at_the_press as press
import pytest
from gate_talk import MOVES, QUESTIONS, VALUES

SEEDS = 20 * int(os.environ.get("LOOPWRIGHT_STEPS", "1"))
TALK = (*(m for m in MOVES if m not in ("stop the session", "cut it out")), *VALUES, *QUESTIONS)


@pytest.mark.parametrize(
    "seed", [*range(6), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(6, SEEDS))]
)
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
    press.walk(talk.session, talk.clock, hand, lambda: talk.act == "decide" and "pass" not in _worst(talk))
    if _worst(talk) == "fail":
        talk.type("cut it out", "that is correct")
        assert talk.state.closed == "cut out and redo", said
        return
    if _worst(talk) == "cosmetic":
        talk.type("accept with a note it was told in the run", "that is correct")
        press.walk(talk.session, talk.clock, hand, lambda: False)
    assert talk.state.closed in ("accepted", "accepted with a note"), said


def _worst(talk: press.Talk) -> str:
    """How bad the worst is that was found or told of the run."""
    found = {finding.severity for finding in (*talk.state.findings, *talk.state.put_right)}
    return "fail" if "fail" in found else "cosmetic" if "cosmetic" in found else "pass"
