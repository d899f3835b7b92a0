"""What follows by itself: passing what is known, asking gates, starting timers, computing what is told."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.bench.sheet import missing
from assistant.procedure import events as e
from assistant.procedure.cold import needs_open
from assistant.procedure.compute import compute_topic, recipe_values
from assistant.procedure.model import Act
from assistant.procedure.rules import current, job_of, recipe_of, timeline_of
from assistant.procedure.turn import Turn
from assistant.procedure.untimed import start_untimed


def settle(turn: Turn) -> None:
    """Goes on until something has to be said, done or waited for. Never passes a gate: only `gates` closes one."""
    while not turn.state.held and turn.state.offered is None and turn.state.inquiry is None:
        here = current(turn.rules, turn.state)
        if here is None:
            return
        stage, act = here
        if turn.state.act != act.id:
            turn.emit(e.ActEntered(stage=stage.id, act=act.id))
        if not _passes(turn, act):
            return
        turn.emit(e.ActDone(act=act.id, by="known"))


def _passes(turn: Turn, act: Act) -> bool:
    """True where nothing is left to do at `act`; asks, computes or starts what it needs."""
    state, rules = turn.state, turn.rules
    if act.kind == "gate":
        gate = rules.gate(act)
        not_yet = needs_open(rules, state, gate, turn.now_s)
        if state.gate is None or state.gate.act != act.id or state.gate.not_yet != bool(not_yet):
            turn.emit(
                e.GateAsked(
                    gate=gate.id, act=act.id, hazard=gate.hazard, sentence=gate.sentence, not_yet=not_yet
                )
            )
    elif act.kind == "ask":
        return act.slot in state.values
    elif act.kind == "agree":
        if act.slot not in recipe_values(recipe_of(rules, state)):
            return True  # a value this recipe does not have: no preheat
        return act.slot in state.agreed
    elif act.kind == "set":
        return act.slot in state.shown
    elif act.kind == "tell" and (act.topic != "job" or not missing(state.values, rules.catalogue)):
        computed = compute_topic(rules, state, act.topic or "")
        before = state.computed.get(act.topic or "")
        if before is None or dict(before) != computed.results:
            turn.emit(computed)
    elif act.kind == "timer" and act.timer is not None and state.timer(act.timer) is None:
        _start_timer(turn, act)
    elif act.kind == "keep" and state.simulated:
        turn.emit(e.Kept(name=None))
        turn.tell("This was SIMULATED: there is no joint, and nothing is kept.")
        return True
    return False


def _preheated_s(turn: Turn) -> float | None:
    """When both platens should be at the preheat temperature, by the predicted curve."""
    preheat = turn.state.values.get("preheat_temperature")
    if turn.state.heat_on_s is None or not isinstance(preheat, float):
        return turn.state.heat_on_s
    curve = turn.state.computed.get("recipe", {}).get("curve", ())
    there = (p[0] for p in curve if min(p[1], p[2]) >= preheat - 273.15 - 1)
    return turn.state.heat_on_s + float(next(there, 0.0))


def _at_set_again_s(turn: Turn) -> float | None:
    """When both platens should be at set after the heat was off, session seconds; None where it never was."""
    from assistant.recipe.after_cut import both_at_set_s
    from assistant.recipe.broken import since_heat_on
    from assistant.recipe.outcome import Recipe

    timeline, recipe = timeline_of(turn.state), recipe_of(turn.rules, turn.state)
    job = job_of(turn.rules, turn.state)
    if timeline is None or not timeline.cuts or not isinstance(recipe, Recipe) or not isinstance(job, Job):
        return None
    after_s = both_at_set_s(job, recipe, since_heat_on(timeline.cuts, timeline.heat_on_s))
    return None if after_s is None else timeline.heat_on_s + after_s


def _start_timer(turn: Turn, act: Act) -> None:
    state, recipe = turn.state, recipe_values(recipe_of(turn.rules, turn.state))
    phases = turn.state.computed.get("recipe", {})
    if act.timer == "preheat":
        start, total = _preheated_s(turn), recipe.get("preheat_time")
    elif act.timer == "ramp":
        start, total = state.heat_on_s, phases.get("ramp_s")
    elif act.timer == "dwell":
        start, total = state.at_set_s, recipe.get("dwell")
    else:
        start, total = state.cool_on_s, phases.get("cooling_s")
    if act.timer == "ramp" and (again_s := _at_set_again_s(turn)) is not None:
        start, total = turn.now_s, max(again_s - turn.now_s, 0.0)
    start = turn.now_s if start is None else start
    if start_untimed(turn, act.timer, start, total):
        return
    turn.emit(
        e.TimerStarted(
            name=act.timer or "ramp", deadline_s=None if total is None else start + total, total_s=total
        )
    )
