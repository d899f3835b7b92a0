"""State after an event. Never refuses: what was logged has happened."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, assert_never

from assistant.procedure import events as e
from assistant.procedure.changed import changed as replace
from assistant.procedure.state import Finding, GateQuestion, Inquiry, Offered, Put, Reading, State, Timer

RECIPE_SLOTS = frozenset(
    {
        "upper_temperature",
        "lower_temperature",
        "dwell",
        "pressure",
        "release_temperature",
        "preheat_temperature",
        "preheat_time",
    }
)


def _with(mapping: Mapping[str, Any], key: str, value: Any) -> Mapping[str, Any]:
    return MappingProxyType({**mapping, key: value})


def _without(mapping: Mapping[str, Any], keys: frozenset[str]) -> Mapping[str, Any]:
    return MappingProxyType({k: v for k, v in mapping.items() if k not in keys})


def evolve(state: State, event: e.Event, t_s: float) -> State:
    """The state after `event`, which was stamped `t_s` session seconds."""
    moved = _moved(state.moved, event)
    state = replace(state, t_s=max(state.t_s, t_s), count=state.count + 1, moved=moved)
    match event:
        case e.Opened():
            return replace(state, session=event.session, simulated=event.simulated)
        case e.HeardWords():
            missed = event.understood == "not sayable"
            passed_over = event.understood in ("what_heard", "no callsign", "nothing")
            return replace(
                state,
                last_heard=state.last_heard if passed_over else event.text,
                misses=state.misses + 1
                if missed
                else 0
                if event.understood not in ("no callsign", "nothing")
                else state.misses,
            )
        case e.Said():
            return replace(state, last_said=event.text) if event.rank != "alarm" else state
        case e.QuestionPut():
            gate = state.gate
            if gate is not None and event.question == f"gate:{gate.act}":
                shown_s = gate.shown_s if event.how == "said" else t_s
                said_s = gate.said_s if event.how == "shown" else t_s
                gate = replace(gate, shown_s=shown_s, said_s=said_s)
            return replace(state, put_s=t_s, gate=gate, put=_put(state.put, event, t_s))
        case e.ValueOffered():
            return replace(
                state,
                offered=Offered(event.slot, event.value, event.said, event.way),
                put=None,
                asking=None,
                options=(),
            )
        case e.ValueTaken():
            return _taken(state, event)
        case e.ValueRefused():
            return replace(
                state, offered=None if state.offered and state.offered.slot == event.slot else state.offered
            )
        case e.ValueDropped():
            return replace(
                state,
                offered=None if state.offered and state.offered.slot == event.slot else state.offered,
                values=_without(state.values, frozenset({event.slot})),
                agreed=state.agreed - {event.slot},
                overruled=state.overruled - {event.slot},
                shown=state.shown - {event.slot.removeprefix("shown_")},
            )
        case e.AskedBack():
            return replace(state, asking=event.question or None, options=event.options)
        case e.ActEntered():
            return replace(state, act=event.act, gate=None, asking=None, options=())
        case e.ActDone():
            return replace(state, done=state.done | {event.act}, trail=(*state.trail, event.act))
        case e.WentBack():
            again = frozenset(event.acts)
            return replace(
                state,
                done=state.done - again,
                trail=tuple(a for a in state.trail if a not in again),
                offered=None,
                gate=None,
            )
        case e.GateAsked():
            question = GateQuestion(
                event.gate, event.act, not_yet=bool(event.not_yet), wordings=(event.sentence,)
            )
            return replace(state, gate=question, offered=None, asking=None, options=())
        case e.GateClosed():
            return replace(state, gate=None, done=state.done | {event.act}, trail=(*state.trail, event.act))
        case e.GateRefused():
            gate = state.gate
            # Asked again: the next answer must begin after that question has been put.
            refused = replace(gate, shown_s=None, said_s=None) if gate else None
            if refused is not None and event.ask_next:
                asked = tuple(s for s in refused.wordings if s != event.ask_next)
                refused = replace(refused, wordings=(*asked, event.ask_next))
            return replace(state, gate=refused, gate_refusals=state.gate_refusals + 1)
        case e.GateRearmed():
            return replace(state, done=state.done - {event.act}, gate=None)
        case e.SkipRefused():
            return replace(state, skips=state.skips + 1)
        case e.Computed():
            return replace(state, computed=_with(state.computed, event.topic, event.results))
        case e.TimerStarted():
            timer = Timer(event.name, t_s, event.deadline_s, event.total_s)
            at_set_s = None if event.name == "ramp" else state.at_set_s  # heating up again: not there yet
            others = tuple(t for t in state.timers if t.name != event.name)
            return replace(state, timers=(*others, timer), at_set_s=at_set_s)
        case e.TimerCalled():
            return replace(
                state,
                timers=tuple(
                    replace(t, called=t.called | {event.mark_s}) if t.name == event.name else t
                    for t in state.timers
                ),
            )
        case e.TimerEnded():
            return replace(state, timers=tuple(t for t in state.timers if t.name != event.name))
        case e.RunMarked():
            state = replace(state, **{f"{event.mark}_s": t_s})  # type: ignore[arg-type]
            if event.mark == "vented":  # only what is heard from now on counts
                return replace(state, values=_without(state.values, frozenset({"vent_heard"})))
            return state
        case e.ReadingTaken():
            reading = Reading(event.slot, event.value, t_s, event.plausible, event.sentence)
            return replace(state, readings=(*state.readings, reading), offered=None)
        case e.Inspected():
            finding = Finding(event.item, event.finding, event.found, event.severity, event.sentence)
            doubted = [f for f in state.findings if f.item == event.item and f.severity != "pass"]
            told_again = tuple(
                replace(f, severity="cosmetic", sentence=f"{f.sentence} Told otherwise later.")
                for f in doubted
                if event.severity == "pass"
            )
            return replace(
                state,
                findings=(*(f for f in state.findings if f.item != event.item), finding),
                put_right=(*state.put_right, *told_again),
                offered=None,
            )
        case e.Decided():
            return replace(state, outcome=event.outcome, causes=event.causes, note=event.note, offered=None)
        case e.Kept():
            return replace(state, kept=event.name, offered=None)
        case e.Held():
            return replace(state, held=event.reason)
        case e.Released():
            return replace(state, held="", danger=False)
        case e.HandedOver():
            # The question was put to somebody else: it is put again.
            values = _with(state.values, "technician", event.taker)
            return replace(state, values=values, offered=None, gate=None, put=None)
        case e.Resumed():
            # What was being asked is asked again; nothing said before counts for it.
            gap = ((t_s - event.gap_s, t_s),) if event.unchecked else ()
            return replace(
                state, resumed=state.resumed + 1, gate=None, offered=None, put=None, asking=None, options=(),
                unchecked=(*state.unchecked, *gap),
            )  # fmt: skip
        case e.Inquired():
            inquiry = None if event.cause == "went_on" else Inquiry(event.cause, event.since_s, event.at_s)
            return replace(state, inquiry=inquiry, offered=None, gate=None, asking=None, options=())
        case e.Interrupted():
            return _interrupted(state, event)
        case e.Danger():
            before = state.held_before if state.danger else state.held
            return replace(state, danger=True, held=f"danger: {event.words}", held_before=before)
        case e.FalseAlarm():
            return replace(state, danger=False, held=state.held_before, held_before="")
        case e.Deviation():
            return replace(state, deviations=(*state.deviations, f"{event.person}: {event.reason}"))
        case e.Noted():
            return replace(state, notes=(*state.notes, event.text))
        case e.MannerSet():
            return replace(state, manner=event.manner)
        case e.Closed():
            return replace(state, closed=event.outcome)
        case e.ClockNoted() | e.TornTail() | e.Sealed():
            return state
    assert_never(event)


def _moved(before: str, event: e.Event) -> str:
    """What the last utterance for us has done so far."""
    match event:
        case e.HeardWords():
            return before if event.understood in ("no callsign", "nothing", "not_meant") else ""
        case e.ActDone() if event.by in ("voice", "typed", "key"):
            return f"act {event.act}"
        case e.AskedBack() if event.question:
            return "asked"
        case e.ValueOffered():
            return "offered"
        case e.GateClosed():
            return f"gate {event.act}"
        case e.ValueTaken() if event.way != "file":
            return f"value {event.slot}"
        case e.Held():
            return "held"
        case e.Noted() | e.Deviation() | e.HandedOver() | e.ReadingTaken() | e.Inspected() | e.Interrupted():
            return "stays"
    return before


def _interrupted(state: State, event: e.Interrupted) -> State:
    inquiry = state.inquiry
    if event.waits and inquiry is not None:
        inquiry = replace(inquiry, cause=event.cause, at_s=event.at_s, waits=True)
    others = tuple(other for other in state.interruptions if other.at_s != event.at_s)
    return replace(
        state,
        interruptions=(*others, event),
        inquiry=inquiry if event.waits else None,
        at_set_s=None if event.heat_again else state.at_set_s,
        cool_on_s=None if event.heat_again else state.cool_on_s,
        offered=None,
    )


def _put(put: Put | None, event: e.QuestionPut, t_s: float) -> Put | None:
    if event.question == e.ANSWERED:
        return put  # the question before it stands
    if put is None or put.question != event.question:
        put = Put(event.question)
    return Put(
        put.question,
        put.shown_s if event.how == "said" else t_s,
        put.said_s if event.how == "shown" else t_s,
    )


def _taken(state: State, event: e.ValueTaken) -> State:
    slot = event.slot
    agreed, shown, overruled = state.agreed, state.shown, state.overruled
    if slot.startswith("shown_"):
        shown = shown | {slot.removeprefix("shown_")}
    elif slot in RECIPE_SLOTS:
        agreed = agreed | {slot}
        if state.values.get(slot) != event.value:
            shown = shown - {slot}
        proposed = state.computed.get("recipe", {}).get("values", {}).get(slot)
        overruled = overruled | {slot} if event.value != proposed else overruled
    return replace(
        state,
        values=_with(state.values, slot, event.value),
        from_file=state.from_file | {slot} if event.way == "file" else state.from_file - {slot},
        offered=None,
        last_taken=slot,
        asking=None,
        options=(),
        agreed=agreed,
        overruled=overruled,
        shown=shown,
    )
