"""What whoever learns the work asks: how to find a value out, what there is, what is meant, what is dangerous."""

from __future__ import annotations

from assistant.procedure.fill import fill
from assistant.procedure.model import Act
from assistant.procedure.rules import current, sheet_slots
from assistant.procedure.turn import Turn
from assistant.procedure.want import want_of
from assistant.procedure.wording import capital, shown
from intents.canonical import canonical
from intents.meaning import Choice

MOST_NAMED = 8  # in one breath
MANUAL = "Follow the press manual and the belt's data sheet."
WHO_KNOWS = "If you can't find it out, the supervisor knows."
_PLATE = "Read it off the plate or the label of it."
HOW_TO_FIND: dict[str, str] = {
    "technician": "Say your own name.",
    "job_kind": "Look where the belt lies: off the conveyor is in the shop, on it is on the conveyor.",
    "belt": "Read what is printed on the belt or on its job card.",
    "belt_material": "It stands in the supplier's data sheet; a belt of unknown covers is not welded.",
    "belt_plies": "Count the fabric layers at a clean cut edge.",
    "belt_guide": "Look at the underside: a profile along the middle is a guide.",
    "notch_pitch": "Measure over ten notches with a rule and divide by ten; zero if there are none.",
    "belt_thickness": "Measure with a caliper beside the guide, in three places, and say the middle one.",
    "belt_width": "Lay a steel rule square across the belt.",
    "press": _PLATE,
    "punch": _PLATE,
    "template": "Look at its colour, and read its label.",
    "cloth_above": "Look which release cloth lies ready for the upper side.",
    "cloth_below": "Look which release cloth lies ready for the lower side.",
    "elongation": "It stands in the belt supplier's data sheet.",
    "endless_length": "Lay a tape round the pulleys where the belt runs, or take it from the old belt.",
    "supply_voltage": "Read it off the socket or the board; only who is qualified measures it.",
    "lead_length": "Read it off the drum, or pace it out; zero if the press is plugged straight in.",
    "lead_section": "It is printed along the lead itself.",
    "lead_coiled": "Look at the drum: any turns left on it count as coiled.",
    "shop_temperature": "Look at a thermometer in the shade, near the press.",
    "new_pair": "If you have not joined this belt on this press before, it is new.",
}
"""By slot of the job sheet."""


def how_to_find(turn: Turn) -> str | None:
    """'I do not know' at what is asked; None where that is itself an answer."""
    if turn.state.inquiry is not None:
        return None
    act = _act(turn)
    if act is None:
        return "There is nothing left to find out."
    if act.kind == "gate":
        return "Then do not say it: go and look first. Nothing goes on before it is so."
    want = want_of(turn.rules, turn.state, act)
    if want is None:
        return f"{fill(turn.rules, turn.state, act.how or act.say)} {MANUAL}"
    tell = HOW_TO_FIND.get(want.slot) or fill(turn.rules, turn.state, act.how or act.say)
    usual, kind = want.expected.usual, want.expected.quantity
    about = ""
    if usual is not None and kind is not None:
        low, high = (shown(value, kind, unit=want.expected.unit) for value in usual)
        about = f"It nearly always lies between {low} and {high}."
    elif want.expected.choices:
        about = _named(want.label, want.expected.choices)
    knows = "" if want.slot == "technician" else WHO_KNOWS
    return " ".join(part for part in (tell, about, knows) if part)


def what_there_is(turn: Turn, question: str) -> str:
    """The choices of what the question names, else of what is asked now."""
    for info in sheet_slots(turn.rules, turn.state):
        if info.choices and _names(question, info.label):
            return _named(info.label, info.choices)
    act = _act(turn)
    want = want_of(turn.rules, turn.state, act) if act is not None else None
    if want is None:
        return "Nothing is to be chosen here."
    expected = want.expected
    if expected.choices:
        return _named(want.label, expected.choices)
    if expected.quantity is not None and expected.low > float("-inf") and expected.high < float("inf"):
        low, high = (shown(v, expected.quantity, unit=expected.unit) for v in (expected.low, expected.high))
        return f"{capital(want.label)}: a value between {low} and {high}."
    return f"{capital(want.label)}: any that is right."


def meant(turn: Turn) -> str:
    """The act in other words: how it is done, and why."""
    act = _act(turn)
    if act is None:
        return "There is nothing left to do."
    want = want_of(turn.rules, turn.state, act)
    if want is not None and want.slot in HOW_TO_FIND:
        return f"{want.question} {HOW_TO_FIND[want.slot]} {want.why}".strip()
    why = act.why or (turn.rules.gate(act).hazard + "." if act.kind == "gate" else "")
    return f"{fill(turn.rules, turn.state, act.how or act.say)} {why}".strip()


def cautions(turn: Turn, question: str) -> str:
    """What to mind: of the gate that speaks of what is asked about, else of the act that stands."""
    for gate in turn.rules.procedure.gates:
        told = f"{gate.hazard}. {' '.join(gate.cautions)}"
        if any(_names(question, word) for word in canonical(gate.hazard).split() if len(word) > len("the ")):
            return told
    act = _act(turn)
    if act is not None and act.kind == "gate":
        gate = turn.rules.gate(act)
        return f"{gate.hazard}. {' '.join(gate.cautions)}"
    if act is not None and act.cautions:
        return f"Mind: {' '.join(act.cautions)}"
    return f"I know of nothing special at this step. {MANUAL}"


def last_heard(turn: Turn) -> str:
    """'What did you hear': without its full stop."""
    said = turn.state.last_heard.rstrip(" .")
    return f"I heard: {said}" if said else "I have heard nothing before that"


def _act(turn: Turn) -> Act | None:
    here = current(turn.rules, turn.state)
    return here[1] if here else None


def _names(question: str, word: str) -> bool:
    """Whether the question holds the word, in the one or the many."""
    first = canonical(word).split()[0]
    return any(
        said in (first, f"{first}s", f"{first}es", f"{first[:-1]}ies") for said in canonical(question).split()
    )


def _named(label: str, choices: tuple[Choice, ...]) -> str:
    names = [choice.sayings[0] for choice in choices if choice.sayings]
    more = f", and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"{capital(label)}: {', '.join(names[:MOST_NAMED])}{more}."
