"""An inspection item: judged by the sheet's limits, said, and recorded."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.events import Value
from assistant.procedure.inspection import item_of, judge
from assistant.procedure.model import Act
from assistant.procedure.rules import job_of
from assistant.procedure.turn import Turn


def judge_again(turn: Turn, slot: str) -> None:
    """What was compared with `slot` is compared with its new value."""
    for _, act in turn.rules.acts():
        if act.kind != "measure" or item_of(act.slot or "").beside != slot:
            continue
        before = next((f for f in turn.state.findings if f.item == act.slot), None)
        if before is not None:
            judge_item(turn, act, before.finding)


def judge_item(turn: Turn, act: Act, value: Value) -> None:
    job = job_of(turn.rules, turn.state)
    assert isinstance(job, Job)  # an act of the inspection is only reached with a whole job
    judged = judge(item_of(act.slot or ""), value, job, {f.item: f.finding for f in turn.state.findings})
    turn.emit(
        e.Inspected(
            item=act.slot or "",
            finding=value,
            found=judged.finding,
            severity=judged.severity,
            sentence=judged.sentence,
        )
    )
    turn.tell(judged.sentence)
