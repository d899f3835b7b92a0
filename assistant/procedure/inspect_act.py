"""An inspection item: judged by the sheet's limits, said, and recorded."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.events import Value
from assistant.procedure.inspection import item_of, judge
from assistant.procedure.model import Act
from assistant.procedure.rules import job_of
from assistant.procedure.turn import Turn


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
