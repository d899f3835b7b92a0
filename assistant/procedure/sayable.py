"""What can be said now: derived from the state, different at every step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from assistant.bench.job import Job
from assistant.bench.slots import SlotInfo
from assistant.procedure.amiss import TEMPERATURES
from assistant.procedure.asked import ASKED
from assistant.procedure.gate_table import RULES
from assistant.procedure.gate_wording import asked_now, asked_so_far
from assistant.procedure.inputs import inputs_of
from assistant.procedure.interrupted import COMMANDS, expects, is_running
from assistant.procedure.model import Act
from assistant.procedure.reconnected import can_be_reconnected
from assistant.procedure.rules import Rules, current, job_of, recipe_of, sheet_slots, timeline_of
from assistant.procedure.slots import RECIPE_SLOTS, SLOTS, slots_now
from assistant.procedure.state import Inquiry, Offered, State
from assistant.procedure.untimed import is_untimed
from assistant.procedure.want import Want, want_of
from assistant.recent import remembered
from intents.meaning import Expected, Meaning, Sayable, Topic

MOST_CHOICES = 5  # that a person keeps in mind
ALWAYS = frozenset(
    {"physics", "binding", "how_sure", "exact", "healed",
     "repeat", "slower", "faster", "louder", "quieter", "silence", "choices", "meant", "cautions", "what_heard", "not_known", "why", "how", "where", "next", "left", "until_cold", "recipe", "job", "help", "what_can_i_say",
     "time", "supervisor", "undo", "skip", "hold", "go_on", "hand_over", "stop_session", "deviation", "note", "brief",
     "explain_more", "not_meant", "what_now", "if_power_fails", "should_read", "readings_why", "danger", "false_alarm", "yes", "confirm", "no", "done", "back"}
)  # fmt: skip


def sayable(rules: Rules, state: State, now_s: float | None = None) -> Sayable:
    """Everything that means something in `state`. Only the open gate's sentence, as it has been asked, can close a gate.

    now_s: session seconds, the last event's if not given; readings are expected near the curve of that moment.
    """
    now_s = state.t_s if now_s is None else now_s
    here = current(rules, state)
    act = here[1] if here and state.inquiry is None else None
    commands = set(ALWAYS)
    if is_running(state):
        commands |= {*COMMANDS, "power_back"}
    if can_be_reconnected(rules, state):
        commands.add("reconnected")
    asked: tuple[str, ...] = ()
    expected: Expected | None = None
    if act is not None:
        expected = _expected(rules, state, act)
        if expected is not None and expected.slot in TEMPERATURES:
            expected = replace(expected, usual=_near_the_curve(rules, state, expected.slot, now_s))
        if act.kind == "gate":
            asked = asked_so_far(rules, state, act)
        if act.kind == "decide":
            commands |= {"accept", "accept_note", "redo"}
        if act.kind == "look":
            commands |= {"fine"}
        if act.marks in ("heat_on", "cool_on"):
            commands.add(act.marks)
        if act.kind == "timer" and act.timer == "ramp":
            commands.add("at_set")
        if act.slot == "edge_reading":
            commands.add("cannot")
        if act.kind == "keep":
            commands.add("keep_not")
    if state.inquiry is not None:
        expected = _expected_of_inquiry(rules, state, state.inquiry)
        commands.add("just_now")
    others = tuple(s for rule in RULES for s in rule.sentences if s not in asked)
    return Sayable(
        commands=frozenset(commands), sentence=asked[-1] if asked else None, sentences_before=asked[:-1],
        sentences_elsewhere=others, expected=expected,
        topics=_topics(rules, state, now_s), inputs=inputs_of(rules, state), callsign=rules.callsign, asked_s=state.put_s,
        asked_back=tuple(Meaning(o.intent, o.slot, o.value, o.said) for o in state.options),
        by_choice=act is not None and act.kind == "tell" and expected is None,
    )  # fmt: skip


def _expected_of_inquiry(rules: Rules, state: State, inquiry: Inquiry) -> Expected | None:
    if state.offered is not None:
        return _expected_offered(rules, state, state.offered)
    asked = expects(inquiry)
    if asked is None:
        return None
    slot = SLOTS[asked]
    return Expected(slot.slot, slot.kind, slot.quantity, slot.low, slot.high, slot.choices)


def _expected(rules: Rules, state: State, act: Act) -> Expected | None:
    if state.offered is not None:
        return _expected_offered(rules, state, state.offered)
    if act.kind == "agree" and act.slot is not None:
        slot = SLOTS[act.slot]
        return Expected(slot.slot, slot.kind, slot.quantity, slot.low, slot.high, slot.choices)
    want = want_of(rules, state, act)
    return want.expected if want is not None else None


def _expected_offered(rules: Rules, state: State, offered: Offered) -> Expected | None:
    from assistant.procedure.prompt import described

    if offered.slot in ("stop_session", "outcome"):
        return None
    if offered.slot in ("hand_over", "keep_name"):
        return Expected(offered.slot, "name")
    return described(rules, state, offered.slot)[1]


def _topics(rules: Rules, state: State, now_s: float) -> tuple[Topic, ...]:
    lasting = _lasting_topics(sheet_slots(rules, state), state.computed, compared(rules, state))
    near = {
        topic.slot: _near_the_curve(rules, state, topic.slot, now_s)
        for topic in lasting
        if topic.slot in TEMPERATURES
    }
    return tuple(replace(topic, usual=near[topic.slot]) if topic.slot in near else topic for topic in lasting)


@remembered(16)
def _lasting_topics(
    listed: tuple[SlotInfo, ...], computed: Mapping[str, Mapping[str, Any]], running: bool
) -> tuple[Topic, ...]:
    """All but where the readings should lie, which changes from moment to moment."""
    proposed = computed.get("recipe", {}).get("values", {})
    topics = []
    for info in listed:
        topics.append(
            Topic(
                info.slot, info.sayings, info.quantity, info.low, info.high, changeable=True, choices=info.choices,
                usual=info.usual, unit=info.unit,
            )
        )  # fmt: skip
    for slot in slots_now(running=running):
        changeable = slot.changeable and (slot.slot not in RECIPE_SLOTS or slot.slot in proposed)
        topics.append(
            Topic(
                slot.slot,
                slot.sayings,
                slot.quantity,
                slot.low,
                slot.high,
                changeable,
                slot.readable,
                slot.choices,
            )
        )
    taken = {saying for topic in topics for saying in topic.sayings}
    for name, (sayings, _) in ASKED.items():
        topics.append(Topic(name, tuple(saying for saying in sayings if saying not in taken)))
    return tuple(topics)


def _near_the_curve(rules: Rules, state: State, slot: str, now_s: float) -> tuple[float, float] | None:
    """Where a reading should lie now; None where there is nothing to expect it from."""
    from assistant.recipe.during import expected_reading
    from assistant.recipe.outcome import Recipe

    job, recipe, timeline = job_of(rules, state), recipe_of(rules, state), timeline_of(state)
    if not isinstance(job, Job) or not isinstance(recipe, Recipe) or timeline is None:
        return None
    band = expected_reading(job, recipe, timeline, slot, now_s)
    return band.low_K, band.high_K


def compared(rules: Rules, state: State) -> bool:
    """Whether the values on the press have been confirmed: from then on 'upper platen' is what it reads."""
    return _compared(rules, state.done)


@remembered(16)
def _compared(rules: Rules, done: frozenset[str]) -> bool:
    return any(a.gate == "values_agree" and a.id in done for _, a in rules.acts())


def _at_timer(state: State, act: Act) -> tuple[str, ...]:
    if act.timer == "ramp":
        return ("it is at temperature",)
    return ("i have done that",) if is_untimed(state, act.timer) else ("how long left",)


def _answers_to(want: Want) -> tuple[str, ...]:
    """What answers a question of the job sheet: a few of its choices, or what kind of thing is asked for."""
    if want.expected.choices:
        return tuple(c.sayings[0] for c in want.expected.choices[:MOST_CHOICES] if c.sayings)
    return ("your name",) if want.slot == "technician" else (f"the {want.label}",)


def _answers_to_inquiry(inquiry: Inquiry) -> tuple[str, ...]:
    asked = expects(inquiry)
    if asked is None:
        return ("the power is back", "what now", "stop the session")
    if asked == "how_long_ago":
        return ("how long ago", "just now", "i do not know")
    return tuple(choice.sayings[0] for choice in SLOTS[asked].choices)


def can_say(rules: Rules, state: State) -> tuple[str, ...]:
    """A short list for the screen and for 'what can I say'."""
    here = current(rules, state)
    general = ("why", "say again", "where are we", "hold", "go back")
    if state.held:
        return ("false alarm" if state.danger else "we can go on", "stop the session")
    if state.offered is not None:
        return ("that is correct", "the right value", "scratch that")
    if state.inquiry is not None:
        return _answers_to_inquiry(state.inquiry)
    if here is None:
        return ()
    act = here[1]
    want = want_of(rules, state, act)
    if act.kind == "tell" and want is not None:
        return _answers_to(want) + general
    own: dict[str, tuple[str, ...]] = {
        "gate": (asked_now(rules, state, act),) if act.gate else (),
        "step": ("i have done that",),
        "tell": ("that is correct", "change the thickness to ..."),
        "agree": ("that is correct", "the value to use", "what happens if i use ..."),
        "timer": _at_timer(state, act),
        "decide": ("i accept the joint", "accept with a note ...", "cut it out"),
        "look": ("it looks good", "what you see"),
        "keep": ("a name", "do not keep it"),
    }
    return own.get(act.kind, ("the value",)) + general
