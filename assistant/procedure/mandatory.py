"""Holds a procedure to the mandatory gates: none may be dropped, weakened or passed by.

`check` goes through every combination of the traits that choose acts and walks the acts of each as the
assistant does: all stages in order.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.procedure.gate_table import MUSTS, RULES, Rule
from assistant.procedure.job_sets import KINDS_OF_JOB, an_example, every_job, jobs_of, jobs_of_act, jobs_where
from assistant.procedure.model import STAGE_ORDER, Act, Gate, GateId, Procedure, Stage_id


@dataclass(frozen=True)
class _Placed:
    """An act at its place in the walk, with the jobs that it applies to."""

    act: Act
    stage: Stage_id
    jobs: int


def check(procedure: Procedure) -> list[str]:
    """What is wrong with the procedure, a sentence each; empty when every mandatory gate stands."""
    wrong = _wrong_stages(procedure)
    if wrong:
        return wrong
    walk = [_Placed(act, stage.id, jobs_of_act(act)) for stage in procedure.stages for act in stage.acts]
    wrong += _wrong_acts(walk)
    given: dict[GateId, Gate] = {gate.id: gate for gate in procedure.gates}
    for rule in RULES:
        copies = sum(gate.id == rule.id for gate in procedure.gates)
        if copies != 1:
            wrong.append(
                f"{rule.name} is {'missing' if not copies else 'defined more than once'} in gates.toml."
            )
        else:
            wrong += _weakened(rule, given[rule.id])
        wrong += _badly_placed(rule, walk)
    return wrong + _missing_acts(walk) + _wrong_marks(walk)


def _wrong_stages(procedure: Procedure) -> list[str]:
    given = tuple(stage.id for stage in procedure.stages)
    if given == STAGE_ORDER:
        return []
    missing = [stage for stage in STAGE_ORDER if stage not in given]
    if missing:
        return [f"stage '{missing[0]}' is missing; the stages are {', '.join(STAGE_ORDER)}, in this order."]
    return [f"the stages are not in their order; it is {', '.join(STAGE_ORDER)}."]


def _wrong_acts(walk: list[_Placed]) -> list[str]:
    wrong = []
    seen: set[str] = set()
    for place in walk:
        act = place.act
        if act.id in seen:
            wrong.append(f"act '{act.id}' stands twice; give each act an id of its own.")
        seen.add(act.id)
        if not place.jobs:
            wrong.append(f"act '{act.id}' can never apply; correct its 'when'.")
        if act.kind == "gate" and act.hazards:
            wrong.append(f"act '{act.id}' is a gate and a hazard at once; put the hazard in an act after it.")
        if act.kind != "gate" and act.gate is not None:
            wrong.append(f"act '{act.id}' names a gate but is a {act.kind}; its kind must be 'gate'.")
        if act.kind != "step" and act.marks is not None:
            wrong.append(f"act '{act.id}' marks '{act.marks}' but is a {act.kind}; only a step can.")
    return wrong


def _weakened(rule: Rule, gate: Gate) -> list[str]:
    wrong = []
    dropped = [reason for reason in rule.rearm if reason not in gate.rearm]
    if dropped:
        wrong.append(f"{rule.name} is weakened: it must be asked again on '{dropped[0].replace('_', ' ')}'.")
    lacking = [need for need in rule.needs if need not in gate.needs]
    if lacking:
        wrong.append(f"{rule.name} is weakened: it must need the readings '{lacking[0].replace('_', ' ')}'.")
    if STAGE_ORDER.index(gate.until) < STAGE_ORDER.index(rule.until):
        wrong.append(
            f"{rule.name} is weakened: its hazard lasts until '{rule.until}', not only until '{gate.until}'."
        )
    if gate.until_hazard not in (None, rule.until_hazard):
        wrong.append(f"{rule.name} is weakened: its hazard does not end with '{gate.until_hazard}'.")
    if any(not caution.strip() for caution in gate.cautions) or not gate.hazard.strip():
        wrong.append(f"{rule.name} is weakened: its hazard and its cautions must be in words.")
    if gate.sentence not in rule.sentences:
        approved = " or ".join(f"'{sentence}'" for sentence in rule.sentences)
        wrong.append(f"{rule.name}: its sentence '{gate.sentence}' is not approved; make it {approved}.")
    return wrong


def _badly_placed(rule: Rule, walk: list[_Placed]) -> list[str]:
    """Sentences about hazards and stages that can be reached without the gate."""
    here = jobs_of(rule.kinds, rule.only)
    exposed = jobs_of(KINDS_OF_JOB, rule.only)  # a hazard needs its gate, whatever the kind of job
    if rule.each:
        return _not_each(rule, walk, exposed)
    wrong = []
    asked = 0  # the jobs in which the gate has been asked so far
    for place in walk:
        if place.act.kind == "gate":
            if place.act.gate == rule.id:
                wrong += _wrongly_asked(rule, place, asked)
                asked |= place.jobs
            continue
        due = (
            exposed
            if set(place.act.hazards) & set(rule.hazards)
            else here
            if place.stage in rule.stages
            else 0
        )
        if due & place.jobs & ~asked:
            example = an_example(due & place.jobs & ~asked)
            wrong.append(f"{rule.name} must stand before act '{place.act.id}'; it does not with {example}.")
            break
    if not wrong and here & ~asked:
        wrong.append(f"{rule.name} is never asked with {an_example(here & ~asked)}.")
    return wrong + _too_early(rule, walk, here)


def _wrongly_asked(rule: Rule, place: _Placed, asked: int) -> list[str]:
    if asked & place.jobs:
        return [f"{rule.name} is asked twice, the second time in act '{place.act.id}'; ask it once."]
    if rule.within and place.stage not in rule.within:
        return [f"{rule.name} is asked in stage '{place.stage}'; it belongs in {' or '.join(rule.within)}."]
    return []


def _too_early(rule: Rule, walk: list[_Placed], here: int) -> list[str]:
    """Sentences about what has not been done when the gate is asked."""
    for need in rule.after:
        due = here & jobs_where(*need.only) if need.only else here
        begun = 0 if rule.since else here  # the jobs in which acts count already
        done = 0
        for place in walk:
            if rule.since is not None and rule.since.met_by(place.act):
                begun |= place.jobs
                done &= ~place.jobs
            if need.met_by(place.act):
                done |= place.jobs & begun
            if place.act.gate == rule.id and place.jobs & due & ~done:
                since = f" after the {rule.since.kind} '{rule.since.what}'" if rule.since else ""
                return [f"{rule.name} must come after the {need.kind} '{need.what}'{since}; it does not."]
    return []


def _not_each(rule: Rule, walk: list[_Placed], where: int) -> list[str]:
    for index, place in enumerate(walk):
        if not set(place.act.hazards) & set(rule.hazards):
            continue
        open_in = place.jobs & where
        for before in reversed(walk[:index]):
            if before.act.gate == rule.id:
                open_in &= ~before.jobs
            elif open_in & before.jobs and not _may_stand_between(before.act):
                break
            if not open_in:
                break
        if open_in:
            return [
                f"{rule.name} must stand directly before act '{place.act.id}'; it does not with {an_example(open_in)}."
            ]
    return []


def _may_stand_between(act: Act) -> bool:
    """Another gate of the same hazardous act: hot gloves and a lift together before one handling."""
    return act.kind == "gate"


def _missing_acts(walk: list[_Placed]) -> list[str]:
    wrong = []
    for must in MUSTS:
        found = [
            place.jobs
            for place in walk
            if place.stage == must.stage
            and (must.need.met_by(place.act) if must.need is not None else must.hazard in place.act.hazards)
        ]
        short = _in_fewer_than(must.count, found, jobs_of(must.kinds, must.only))
        if short:
            guards = " and ".join(rule.name for rule in RULES if must.hazard in rule.hazards)
            what = f"{must.words}, which {guards} stands before" if guards else must.words
            wrong.append(f"stage '{must.stage}' must have {what}; it does not with {an_example(short)}.")
    return wrong


def _in_fewer_than(count: int, found: list[int], where: int) -> int:
    """The jobs of `where` that are in fewer than `count` of the sets."""
    at_least = [where] + [0] * count  # at_least[n]: the jobs found n times or more
    for jobs in found:
        for n in range(count, 0, -1):
            at_least[n] |= at_least[n - 1] & jobs
    return where & ~at_least[count]


def _wrong_marks(walk: list[_Placed]) -> list[str]:
    """Heat on, cooling on, vented: stamped once in every job, by the act that does it and no other."""
    wrong = []
    for mark, hazard in (("heat_on", "start"), ("cool_on", None), ("vented", "vent")):
        seen = held = 0
        for place in walk:
            if place.act.timer == "dwell":
                held |= place.jobs
            if place.act.marks != mark:
                continue
            if seen & place.jobs:
                wrong.append(f"act '{place.act.id}' marks '{mark}' a second time; it happens once.")
            if hazard is not None and hazard not in place.act.hazards:
                wrong.append(f"act '{place.act.id}' marks '{mark}' but does not carry the hazard '{hazard}'.")
            if mark == "cool_on" and place.jobs & ~held:
                wrong.append(
                    f"act '{place.act.id}' marks '{mark}' before the dwell; no reading before it would be cold."
                )
            seen |= place.jobs
        if every_job() & ~seen:
            wrong.append(f"no act marks '{mark}' with {an_example(every_job() & ~seen)}.")
    return wrong
