"""A cycle that was broken off: what happened is asked, what to do now is computed, and the steps go there.

No gate is closed and none is passed by it; what leads back to the heat opens what the heat asks for. Time
without heat or pressure never counts as dwell: where it is heated again, the whole dwell begins anew.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.amiss import TEMPERATURES, to_be_judged
from assistant.procedure.gates import rearm_act
from assistant.procedure.model import Act
from assistant.procedure.rules import Rules, job_of, recipe_of, timeline_of
from assistant.procedure.run import tick_timers
from assistant.procedure.state import Inquiry, State
from assistant.procedure.turn import Turn
from assistant.procedure.wording import minutes
from assistant.recipe.not_computable import NotComputable

if TYPE_CHECKING:
    from collections.abc import Callable

    from assistant.recipe.what_now import WhatNow

SHORT_S = 20.0  # sooner than that no platen has cooled to speak of, and whoever was there would say so
COMMANDS: dict[str, e.Cause] = {
    "power_lost": "power",
    "pressure_lost": "pressure",
    "press_opened": "opened",
}
_HAPPENED = {
    "power": "The power was off",
    "pressure": "The pressure was lost",
    "opened": "The press was opened early",
}


def is_running(state: State) -> bool:
    """From heat on until the pressure is let out."""
    return state.heat_on_s is not None and state.vented_s is None and state.closed is None


def ask_meanwhile(turn: Turn, gap_s: float, *, unchecked: bool) -> None:
    """Asks what happened at the press while nobody counted; unchecked: the computer was off too."""
    if is_running(turn.state) and turn.state.inquiry is None and (gap_s >= SHORT_S or unchecked):
        turn.emit(e.Inquired(cause="", since_s=turn.now_s - gap_s))


def question(state: State, now_s: float) -> tuple[str, str, str]:
    """Key, text and short text of what is to be told now, while something is. Raises: ValueError where nothing is."""
    inquiry = state.inquiry
    if inquiry is None:
        raise ValueError("nothing is being asked about the press")
    if inquiry.waits:
        return "inquiry:back", "Tell me when the heat can go on: 'the power is back'.", ""
    if inquiry.cause == "":
        ago = minutes(now_s - inquiry.since_s)
        return (
            "inquiry:cause",
            f"What happened at the press in the last {ago}? Say 'it went on as it was', 'the power was off', 'the pressure "
            "was lost', 'it was opened', or 'I do not know'.",
            "What happened at the press? 'What can I say' tells the answers.",
        )
    what = {"power": "did the power go off", "pressure": "was the pressure lost", "opened": "was it opened"}
    return (
        "inquiry:when",
        f"How long ago {what[inquiry.cause]}? Say for instance 'two minutes', 'just now', or 'I do not know'.",
        "How long ago? Say it in minutes, or 'I do not know'.",
    )


def expects(inquiry: Inquiry) -> str | None:
    """The slot whose value is waited for; None while the supply is."""
    if inquiry.waits:
        return None
    return "what_happened" if inquiry.cause == "" else "how_long_ago"


def refused_here(state: State, slot: str, value: e.Value, now_s: float) -> str:
    """Why an answer cannot be; '' where it can."""
    if not is_running(state):
        return "That counts from heat on until the pressure is let out. Make a note of it."
    if slot == "how_long_ago":
        if state.inquiry is None or expects(state.inquiry) != slot:
            return "That is asked when something happened: it does not count before."
        if isinstance(value, float) and now_s - value < (state.heat_on_s or 0.0):
            return f"The heat went on {minutes(now_s - (state.heat_on_s or 0.0))} ago: before that nothing was welded."
    return ""


def take_answer(turn: Turn, slot: str, value: e.Value) -> None:
    """What was told and confirmed; the last answer brings the verdict."""
    state, now_s = turn.state, turn.now_s
    since_s = state.inquiry.since_s if state.inquiry is not None else _last_known_good_s(state, value)
    if slot == "what_happened":
        cause = next(c for c in ("went_on", "power", "pressure", "opened", "unknown") if c == value)
        turn.emit(e.Inquired(cause=cause, since_s=since_s))
        if cause == "went_on":
            turn.tell("Good: then it counts as it stands.")
            tick_timers(turn)
            turn.prompt_again = True
        elif cause == "unknown":
            _unknown(turn)
    elif state.inquiry is not None and isinstance(value, float):
        turn.emit(e.Inquired(cause=state.inquiry.cause, since_s=since_s, at_s=now_s - value))
        _judge(turn, now_s if state.inquiry.cause != "power" else None)


def at_longest_ago_s(state: State, now_s: float) -> float:
    """How long ago it happened if nobody knows: as early as can be."""
    since_s = state.inquiry.since_s if state.inquiry is not None else now_s
    return now_s - max(since_s, state.heat_on_s or 0.0)


def power_back(turn: Turn) -> None:
    """The supply is there again."""
    last = next((one for one in reversed(turn.state.interruptions) if one.cause == "power"), None)
    if turn.state.inquiry is not None and turn.state.inquiry.waits:
        _judge(turn, turn.now_s)
    elif last is not None and last.back_s is None:
        turn.emit(last.model_copy(update={"back_s": turn.now_s}))
        turn.tell("Noted. What was said of the weld stands.")
    else:
        turn.tell("I do not know that it was off. If it was, say 'the power went off'.")
    turn.prompt_again = True


def _last_known_good_s(state: State, cause: e.Value) -> float:
    """When a display last showed that it was right, else when the heat went on."""
    slots = TEMPERATURES if cause == "power" else {"pressure_reading"}
    good = [r.t_s for r in state.readings if r.slot in slots and r.plausible]
    return max([state.heat_on_s or 0.0, *good])


def _unknown(turn: Turn) -> None:
    """Nothing can be computed: what was not seen does not count, and the readings say how it stands."""
    again = turn.state.cool_on_s is None
    turn.emit(
        e.Interrupted(
            cause="unknown", at_s=turn.now_s, back_s=turn.now_s, heat_again=again, counts_anew=again
        )
    )
    to_be_judged(turn, "run_unwatched", "unknown", "Nobody knows what happened at the press for a time.")
    if again:
        _to_ramp(turn)
        turn.tell("Then nothing of before counts: the dwell begins anew. See that pressure and heat are on.")
    else:
        turn.tell(
            "Then keep the pressure on and let it cool. Judge the joint with care: it is in the record."
        )
    turn.tell("Read both platens and the gauge to me.")
    turn.prompt_again = True


def _judge(turn: Turn, back_s: float | None) -> None:
    """The verdict on what the inquiry holds, said and recorded, and the way on from it. back_s None: not back yet."""
    inquiry, before = turn.state.inquiry, turn.state
    assert inquiry is not None
    assert inquiry.at_s is not None
    stood = _as_it_stood(before)
    try:
        found = computed(turn, inquiry.cause, inquiry.at_s, turn.now_s)
    except NotComputable as refusal:
        turn.tell(f"That cannot be computed: {refusal}")
        found = None
    if found is None:
        turn.emit(e.Inquired(cause="unknown", since_s=inquiry.since_s))
        _unknown(turn)
        return
    again = found.decision in ("hold", "resume heat")
    waits, cooling, power = again and back_s is None, stood.cool_on_s is not None, inquiry.cause == "power"
    job = job_of(turn.rules, before)
    needs_supply = isinstance(job, Job) and job.press.cooling.needs_supply
    heat_off_s = inquiry.at_s if power and (not cooling or needs_supply) else None
    said = [to_do(turn, found, waits=waits), *found.sentences[1:]]
    turn.emit(
        e.Computed(topic="interrupted", inputs=_inputs(turn, inquiry, back_s), results=recorded(found, said))
    )
    turn.emit(
        e.Interrupted(
            cause=found.kind, at_s=inquiry.at_s, back_s=back_s, heat_again=again, waits=waits,
            heat_off_s=stood.cool_on_s if cooling and again else heat_off_s, cooled=cooling and again,
            counts_anew=again and (cooling or not power), at_set_s=stood.at_set_s, cool_on_s=stood.cool_on_s,
        )
    )  # fmt: skip
    turn.tell(" ".join(said), "alarm")
    _note_finding(turn, found)
    if again and inquiry.cause == "opened":
        _close_again(turn)
    elif again:
        _to_ramp(turn)
        if inquiry.cause == "pressure":
            _do_again(turn, lambda act: act.slot == "pressure_reading")
    elif stood.cool_on_s is None:
        _to_cooling(turn)
    turn.prompt_again = True


def computed(turn: Turn, cause: str, at_s: float, back_s: float | None) -> WhatNow | None:
    """Where the weld stands, by the recipe's own model. None: there is no recipe to go by. Raises: NotComputable."""
    from assistant.recipe.outcome import Recipe
    from assistant.recipe.what_now import Kind, what_now

    rules, state = turn.rules, turn.state
    job, recipe, timeline = job_of(rules, state), recipe_of(rules, state), timeline_of(state)
    if timeline is None or not isinstance(job, Job) or not isinstance(recipe, Recipe):
        return None
    kind: Kind = "power" if cause == "power" else "pressure" if cause == "pressure" else "opened"
    earlier = tuple(cut for cut in timeline.cuts if cut.on_s is not None and cut.off_s < at_s)
    stood = _as_it_stood(state)
    at_set_s = stood.at_set_s
    if kind == "power" and at_set_s is not None and at_set_s > at_s:
        at_set_s = None  # told at set while it was already off: that says nothing of the ramp
    line = replace(timeline, cuts=earlier, at_set_s=at_set_s, cool_on_s=stood.cool_on_s)
    try:
        return what_now(job, recipe, line, kind, at_s, back_s)
    except NotComputable:
        # A ramp that this press cannot have had says nothing of its power.
        return what_now(job, recipe, replace(line, at_set_s=None, ramp_s=None), kind, at_s, back_s)


@dataclass(frozen=True)
class _Stood:
    """What had been told when it was broken off; while the supply is waited for, as it was before."""

    at_set_s: float | None
    cool_on_s: float | None


def _as_it_stood(state: State) -> _Stood:
    if state.inquiry is not None and state.inquiry.waits:
        last = state.interruptions[-1]
        return _Stood(last.at_set_s, last.cool_on_s)
    return _Stood(state.at_set_s, state.cool_on_s)


def to_do(turn: Turn, found: WhatNow, *, waits: bool) -> str:
    """What to do. The whole dwell is counted from the beginning, also where the model would be content with less."""
    dwell = turn.state.values.get("dwell")
    if found.decision == "cut out and redo":
        return f"{found.sentences[0]} First it cools down as usual; every safety question stands."
    if (found.kind, found.decision) == ("power", "hold") and isinstance(dwell, float):
        do = (
            "Keep the pressure on and do not cool: the heat in the platens keeps it above fusion for about "
            f"{minutes(found.stays_fused_s)} more."
            if waits
            else "Keep the pressure on and heat again at once to the set temperatures."
        )
        return f"{do} {_served(found)}I count the whole dwell of {minutes(dwell)} anew, because time without heat is no dwell."
    if found.decision == "hold" and _as_it_stood(turn.state).cool_on_s is not None:
        return f"Cooling off and heat on again. {found.sentences[0]}"
    if (found.kind, found.decision) == ("opened", "resume heat"):
        return f"Heat off and air out before anyone reaches in. {found.sentences[0]}"
    return found.sentences[0]


def _served(found: WhatNow) -> str:
    """What is left of the agreed dwell, where some of it still counts: never less, whatever the model says."""
    if found.served_s <= 0 or found.rest_s >= found.dwell_s:
        return ""
    return f"Of the agreed dwell {minutes(found.rest_s)} are left at least; "


def _inputs(turn: Turn, inquiry: Inquiry, back_s: float | None) -> dict[str, Any]:
    timeline = timeline_of(turn.state)
    return {
        "cause": inquiry.cause,
        "at_s": inquiry.at_s,
        "back_s": back_s,
        "timeline": None if timeline is None else asdict(timeline),
    }


def recorded(found: WhatNow, said: list[str]) -> dict[str, Any]:
    """For the log: SI with units in the keys, and what was said of it."""
    results = asdict(found)
    del results["sentences"]
    return {**{k: round(v, 4) if isinstance(v, float) else v for k, v in results.items()}, "said": said}


def _note_finding(turn: Turn, found: WhatNow) -> None:
    """What it can have done to the joint is among its findings; a power cut before anything fused did nothing."""
    if found.kind == "power" and found.fused_high_s == 0.0:
        return
    to_be_judged(
        turn,
        f"{found.kind}_of_the_run",
        found.decision,
        f"{_HAPPENED[found.kind]} in the run: '{found.decision}' by what was computed.",
        failed=found.decision == "cut out and redo",
    )


def _do_again(turn: Turn, pick: Callable[[Act], bool]) -> None:
    acts = tuple(act.id for _, act in turn.rules.acts() if act.id in turn.state.done and pick(act))
    if acts:
        turn.emit(e.WentBack(acts=acts, why="interrupted"))


def _to_ramp(turn: Turn) -> None:
    """Heat on; platens told at set, dwell, cooling and what followed are done again."""
    _end_timers(turn)
    beyond = _from_ramp_on(turn.rules)
    rearm_act(turn, lambda act: act.id in beyond, "it is heated again")
    _do_again(turn, lambda act: act.id in beyond)


def _from_ramp_on(rules: Rules) -> frozenset[str]:
    acts = [(stage, act) for stage, act in rules.acts() if stage.id in ("run", "release")]
    first = next((n for n, (_, act) in enumerate(acts) if act.timer == "ramp"), len(acts))
    return frozenset(act.id for _, act in acts[first:])


def _close_again(turn: Turn) -> None:
    """Opened before anything fused: close it, and run from the beginning; what guards the closing is asked again."""
    _end_timers(turn)
    close = [act for stage, act in turn.rules.acts() if stage.id == "close"]
    last = next((n for n, act in enumerate(close) if act.gate == "closed"), -1)
    again = {act.id for act in close[: last + 1]}
    again |= {act.id for stage, act in turn.rules.acts() if stage.id in ("run", "release")}
    rearm_act(turn, lambda act: act.id in again, "the press was opened")
    _do_again(turn, lambda act: act.id in again)


def _to_cooling(turn: Turn) -> None:
    """Straight to heaters off: what is left of ramp and dwell is not waited for any more."""
    _end_timers(turn)
    for stage, act in turn.rules.acts():
        left = act.timer in ("ramp", "dwell") or (
            act.kind == "reading" and act.slot in TEMPERATURES and stage.id == "run"
        )
        if left and act.id not in turn.state.done:
            turn.emit(e.ActDone(act=act.id, by="known"))


def _end_timers(turn: Turn) -> None:
    for timer in turn.state.timers:
        if timer.name == "preheat":  # how warm it still is nobody knows: it ends by the readings
            turn.emit(e.TimerStarted(name="preheat", deadline_s=None, total_s=timer.total_s))
        else:
            turn.emit(e.TimerEnded(name=timer.name))
