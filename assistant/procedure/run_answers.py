"""Questions about the run: how the weld stands, what the press should read now, what its readings say.

Answered at any moment; nothing moves by it, and no gate is touched. What is computed for it is recorded.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.procedure import events as e
from assistant.procedure.cold import cold_reasons, inside_upper
from assistant.procedure.interrupted import computed, is_running, question, recorded, to_do
from assistant.procedure.rules import job_of, recipe_of, timeline_of
from assistant.procedure.turn import Turn
from assistant.procedure.wording import capital, degrees
from assistant.recipe.not_computable import NotComputable

if TYPE_CHECKING:
    from assistant.recipe.causes_of_readings import Weighed
    from assistant.recipe.during import Timeline
    from assistant.recipe.outcome import Recipe

NO_SINGLE_CAUSE = "no_single_cause"
_NAMES = {"upper_reading": "upper platen", "lower_reading": "lower platen", "edge_reading": "belt's edge"}


def of_the_run(turn: Turn, intent: str) -> str:
    """The answer to 'what_now', 'if_power_fails', 'should_read' or 'readings_why'."""
    if intent == "if_power_fails":
        return _if_power_fails(turn)
    if intent == "what_now":
        return _what_now(turn)
    return _should_read(turn) if intent == "should_read" else _readings_why(turn)


def _what_now(turn: Turn) -> str:
    state = turn.state
    if state.heat_on_s is None:
        return "Nothing has been heated yet: nothing is lost. Go on with the step that stands."
    before = " ".join(state.computed.get("interrupted", {}).get("said", ()))
    if not is_running(state):
        doubts = [finding.sentence for finding in state.findings if finding.severity != "pass"]
        return " ".join(filter(None, (before, *doubts, "Now the inspection decides, not what is computed.")))
    if state.inquiry is not None and not state.inquiry.waits:
        return f"First tell me what happened. {question(state, turn.now_s)[1]}"
    if state.cool_on_s is not None:
        return " ".join(filter(None, (before, _while_cooling(turn))))
    last = state.interruptions[-1] if state.interruptions else None
    off = last is not None and last.cause == "power" and last.back_s is None
    at_s = last.at_s if last is not None and off else turn.now_s
    try:
        found = computed(turn, "power", at_s, turn.now_s)
    except NotComputable as refusal:
        return f"That cannot be computed: {refusal}"
    if found is None:
        return "There is no recipe to compute it from."
    do = "Go on as it stands: heat, hold, and cool under pressure."
    if state.inquiry is not None:
        do = "Wait for the supply, with the pressure on."
    elif last is not None and (state.at_set_s is None or not last.heat_again):
        do = state.computed.get("interrupted", {}).get("said", (do,))[0]
    said = [do, found.sentences[1]]
    turn.emit(
        e.Computed(
            topic="what_now", inputs={"at_s": at_s, "now_s": turn.now_s}, results=recorded(found, said)
        )
    )
    return " ".join(said)


def _if_power_fails(turn: Turn) -> str:
    """What would have to be done if it went this moment. Nothing is noted as having happened."""
    state = turn.state
    if state.heat_on_s is None:
        return "Nothing has been heated yet: nothing would be lost. Wait for the supply and go on with the step that stands."
    if not is_running(state):
        return "The heating is over: the weld would not suffer by it."
    if state.inquiry is not None:
        return _what_now(turn)
    try:
        found = computed(turn, "power", turn.now_s, None)
    except NotComputable as refusal:
        return f"That cannot be computed: {refusal}"
    if found is None:
        return "There is no recipe to compute it from."
    again = found.decision in ("hold", "resume heat")
    said = [
        f"If the power failed now: {to_do(turn, found, waits=again)}", *found.sentences[1:],
        "If it does fail, say 'the power went off'.",
    ]  # fmt: skip
    turn.emit(e.Computed(topic="if_power_fails", inputs={"at_s": turn.now_s}, results=recorded(found, said)))
    return " ".join(said)


def _while_cooling(turn: Turn) -> str:
    hottest_K = inside_upper(turn.rules, turn.state, turn.now_s)
    inside = "" if hottest_K is None else f"Inside the belt it may be up to {degrees(hottest_K)}."
    why_not = cold_reasons(turn.rules, turn.state, turn.now_s)
    return f"Keep the pressure on while it cools. {inside} {why_not[0] if why_not else 'By readings and by what is computed it is cold; the safety question decides.'}"


def _running(turn: Turn) -> tuple[Job, Recipe, Timeline] | None:
    from assistant.recipe.outcome import Recipe

    job, recipe, timeline = (
        job_of(turn.rules, turn.state), recipe_of(turn.rules, turn.state), timeline_of(turn.state),
    )  # fmt: skip
    if not isinstance(job, Job) or not isinstance(recipe, Recipe) or timeline is None:
        return None
    return job, recipe, timeline


def _should_read(turn: Turn) -> str:
    from assistant.recipe.during import expected_reading

    known = _running(turn)
    if known is None or not is_running(turn.state):
        return "There is something to expect from heat on until the pressure is let out."
    said = []
    for slot, name in _NAMES.items():
        band = expected_reading(*known, slot, turn.now_s)
        said.append(
            f"{name} about {degrees(band.mean_K)}, between {degrees(band.low_K)} and {degrees(band.high_K)}"
        )
    return f"{capital('; '.join(said))}."


def _readings_why(turn: Turn) -> str:
    """What all readings of the cycle together say, by the simulated causes."""
    from assistant.recipe.causes_of_readings import weigh

    known = _running(turn)
    if known is None:
        return "The heat is not on: there are no readings to judge."
    told = [r for r in turn.state.readings if r.slot in _NAMES and r.t_s >= known[2].heat_on_s]
    if not told:
        return "You have told me no reading yet. Read both platens to me."
    outside = [r for r in told if not r.plausible]
    try:
        weighed = weigh(*known, told)
    except NotComputable as refusal:
        return f"That cannot be computed: {refusal}"
    if not outside and not weighed.causes and weighed.consistent:
        agree = "the one reading agrees" if len(told) == 1 else f"all {len(told)} readings agree"
        said = f"As expected: {agree} with a press in order."
    else:
        said = (
            weighed.sentence
            or "No cause that I know fits better than a press in order. Read it again, with a second thermometer."
        )
    record_weighed(turn, weighed, said)
    return said


def speak_up(turn: Turn) -> str:
    """What all readings together say of a press that can hardly be in order; once for each cause in one heating.

    Nothing is stopped and nothing opened by it; '' while a press in order may well show all of this.
    """
    from assistant.recipe.during import weighed_quickly

    known = _running(turn)
    if known is None:
        return ""
    told = tuple(r for r in turn.state.readings if r.t_s >= known[2].heat_on_s)
    try:
        weighed = weighed_quickly(*known, told)
    except NotComputable:
        return ""  # asked for, it says why
    likeliest = weighed.causes[0].key if weighed.causes else NO_SINGLE_CAUSE
    if weighed.consistent or likeliest in _volunteered(turn):
        return ""
    said = f"Taken together, the readings do not suit a press in order. {weighed.sentence}"
    record_weighed(turn, weighed, said, volunteered=likeliest)
    return said


def _volunteered(turn: Turn) -> tuple[str, ...]:
    """Causes spoken up about in this heating."""
    before = turn.state.computed.get("readings", {})
    return tuple(before.get("volunteered", ())) if before.get("heat_on_s") == turn.state.heat_on_s else ()


def record_weighed(turn: Turn, weighed: Weighed, said: str, volunteered: str = "") -> None:
    """What the readings say, for the log. volunteered: the cause it was said unasked about."""
    timeline = timeline_of(turn.state)
    spoken = [*_volunteered(turn), *([volunteered] if volunteered else [])]
    turn.emit(
        e.Computed(
            topic="readings",
            inputs={"readings": weighed.readings, "timeline": None if timeline is None else asdict(timeline)},
            results={
                **asdict(weighed),
                "causes": [asdict(c) for c in weighed.causes],
                "consistent": weighed.consistent,
                "heat_on_s": turn.state.heat_on_s,
                "volunteered": spoken,
                "said": [said],
            },
        )
    )
