"""'What if': the job computed with another input, the differences said and recorded; nothing is changed."""

from __future__ import annotations

from collections.abc import Mapping
from math import isclose

from assistant.bench.job import Job
from assistant.bench.sheet import refusal, slots_for, with_defaults
from assistant.bench.sheet_file import YES_NO
from assistant.bench.slots import OTHER
from assistant.bench.slots import SLOTS as SHEET
from assistant.procedure import as_planned
from assistant.procedure import events as e
from assistant.procedure.as_planned import AS_PLANNED
from assistant.procedure.events import Value
from assistant.procedure.otherwise import PLATENS, Otherwise, otherwise
from assistant.procedure.rules import SHEET_SLOTS, job_of, recipe_of
from assistant.procedure.slots import RECIPE_SLOTS
from assistant.procedure.turn import Turn
from assistant.procedure.wording import shown
from intents.meaning import Choice, Meaning, QuantityKind

TOPIC = "what_if"
INTENTS = frozenset(("what_if", "what_if_by", "what_if_off", "what_if_times", "what_if_other"))
NOT_WHOLE = "The job sheet is not whole yet, and it is computed from that."
UNCHANGED = "Nothing has been changed."
MOST_NAMED = 4  # choices, in a question
MOST_EITHER_WAY = 2  # differences said of each, where two are compared
BOTH_PLATENS = ("upper_temperature", "lower_temperature")


def what_if(turn: Turn, meaning: Meaning) -> str:
    """The answer, with its event; '' where it is asked back which one is meant."""
    job, recipe = job_of(turn.rules, turn.state), recipe_of(turn.rules, turn.state)
    slot = str(meaning.slot)
    if not isinstance(job, Job) or recipe is None:
        return NOT_WHOLE
    if meaning.intent == "what_if_other":
        return _the_other(turn, slot)
    if meaning.value is None:
        return NOT_WHOLE
    if meaning.intent == "what_if":
        return _answered(turn, ({slot: meaning.value},))
    known, by = _now(turn), float(meaning.value)
    here = {s: held for s in _each({slot: by}) if isinstance(held := known.get(s), float)}
    if not here:
        return f"There is no {_label(slot)} to change yet."
    if meaning.intent == "what_if_times":
        return _answered(turn, ({s: value * by for s, value in here.items()},))
    signs = (1,) if meaning.intent == "what_if_by" else (1, -1)
    return _answered(turn, tuple({s: value + sign * by for s, value in here.items()} for sign in signs))


def _now(turn: Turn) -> dict[str, Value]:
    """Every input as it stands, SI or keys."""
    recipe = recipe_of(turn.rules, turn.state)
    known: dict[str, Value] = {v.slot: v.value_si for v in getattr(recipe, "values", ())}
    known |= dict.fromkeys(AS_PLANNED, 1.0)
    return known | with_defaults(turn.state.values, turn.rules.catalogue)[0]


def _each(changes: Mapping[str, Value]) -> dict[str, Value]:
    """Both platens one by one."""
    return {s: v for slot, v in changes.items() for s in (BOTH_PLATENS if slot == PLATENS else (slot,))}


def _the_other(turn: Turn, slot: str) -> str:
    """Whichever other there is: what fits, if only one does; asked where there are several."""
    values = turn.state.values
    info = next((i for i in slots_for(values, turn.rules.catalogue) if i.slot == slot), None)
    others = [c for c in info.choices if c.key not in (OTHER, values.get(slot))] if info else []
    fitting = [c for c in others if refusal(slot, c.key, values, turn.rules.catalogue) is None]
    if not others:
        return f"There is no other {_label(slot)} on the bench."
    if not fitting and len(others) > MOST_NAMED:
        return f"No other {_label(slot)} fits here. Say which one, and I tell why."
    others = fitting or others
    if len(others) == 1:
        return _answered(turn, ({slot: others[0].key},))
    options = tuple(e.Option(intent=TOPIC, slot=slot, value=c.key, said=c.sayings[0]) for c in others)
    turn.emit(e.AskedBack(question=f"Which one: {' or '.join(o.said for o in options)}?", options=options))
    turn.prompt_again = True
    return ""


def _answered(turn: Turn, ways: tuple[Mapping[str, Value], ...]) -> str:
    """Computes each of the ways, records it, and says what is otherwise."""
    state, rules = turn.state, turn.rules
    job, recipe = job_of(rules, state), recipe_of(rules, state)
    before = (job, recipe) if isinstance(job, Job) and recipe is not None else None
    given = {k: float(state.values[k]) for k in state.overruled if k in state.values}
    sheet = {k: v for k, v in state.values.items() if k in SHEET_SLOTS}
    most = 1 if state.manner == "brief" else MOST_EITHER_WAY if len(ways) > 1 else None
    known = _now(turn)
    if all(_same(known.get(slot), value) for changes in ways for slot, value in _each(changes).items()):
        return f"That is how it is: {_named(turn, ways[0])}."
    told = []
    for changes in ways:
        found = otherwise(sheet, given, changes, rules.catalogue, before)
        text = _said(turn, found, most)
        turn.emit(_event(found, text))
        told.append(text)
    return f"{' '.join(told)} {UNCHANGED}"


def _event(found: Otherwise, text: str) -> e.Computed:
    results: dict[str, object] = {
        "before": {a.key: a.value for a in found.before},
        "after": {a.key: a.value for a in found.after},
        "said": [text],
    }
    if found.refused:
        results["would_be_refused"] = [s for s in (found.refused, found.nearest) if s]
    return e.Computed(
        topic=TOPIC, inputs={"changed": dict(found.changes), "also": dict(found.also)}, results=results
    )


def _said(turn: Turn, found: Otherwise, most: int | None) -> str:
    full = turn.state.manner != "brief"
    what = _named(turn, found.changes)
    if found.refused:
        also = f" {found.noted[0]}" if found.also and found.noted else ""
        return " ".join(f"With {what} it would be refused.{also} {found.refused} {found.nearest}".split())
    own = {_label(slot) for slot in _each(found.changes)}
    parts = [d.sentence for d in found.differences if d.label not in own]
    if found.also:
        what = f"{what}, and {_named(turn, found.also)} to fit"
    heard = f"With {what}: {'; '.join(parts[:most]) or 'every answer stays as it is'}."
    if full and most is None:
        heard = " ".join((heard, *found.noted, *_new_warnings(turn, found)))
    return heard


def _new_warnings(turn: Turn, found: Otherwise) -> tuple[str, ...]:
    before = getattr(recipe_of(turn.rules, turn.state), "warnings", ())
    return tuple(w for w in getattr(found.found, "warnings", ()) if w not in before)


def _same(one: Value | None, other: Value) -> bool:
    if not isinstance(one, float) or not isinstance(other, float):
        return one == other
    return isclose(one, other, rel_tol=1e-9)


def _named(turn: Turn, values: Mapping[str, Value]) -> str:
    """'shop temperature 5 °C', 'the hinged press'."""
    told = []
    for slot, value in values.items():
        if slot in AS_PLANNED:
            told.append(f"{_label(slot)} {as_planned.told(float(value))}")
            continue
        kind, choices, unit = _kind(turn, slot)
        text = shown(value, kind, choices, unit)
        told.append(f"{_label(slot)} {text}" if slot in YES_NO or not choices else text)
    return " and ".join(told)


def _kind(turn: Turn, slot: str) -> tuple[QuantityKind | None, tuple[Choice, ...], str]:
    if slot == PLATENS:
        return "temperature", (), ""
    if slot in RECIPE_SLOTS:
        return RECIPE_SLOTS[slot].quantity, (), ""
    if slot == "notch_pitch":
        return "length", (), "mm"
    info = next(
        i for i in slots_for({**turn.state.values, **_A_LEAD}, turn.rules.catalogue) if i.slot == slot
    )
    return info.quantity, info.choices, info.unit


_A_LEAD: Mapping[str, Value] = {"lead_length": 1.0}  # so that its section is among the slots


def _label(slot: str) -> str:
    if slot == PLATENS:
        return "both platens"
    if slot in RECIPE_SLOTS:
        return RECIPE_SLOTS[slot].label
    if slot in AS_PLANNED:
        return AS_PLANNED[slot].label
    return next(info.label for info in SHEET if info.slot == slot)
