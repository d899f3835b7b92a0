"""What the recipe rests on, said: physics against practice, what binds, how sure, how exact, how far healed."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.bench.slots import SLOTS as SHEET
from assistant.procedure import events as e
from assistant.procedure.as_planned import AS_PLANNED
from assistant.procedure.otherwise import PLATENS
from assistant.procedure.rules import job_of, recipe_of, timeline_of
from assistant.procedure.turn import Turn
from assistant.procedure.wording import capital, minutes
from assistant.recipe.dwell import GIVEN, ROUNDING
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Change, Infeasible, Item, Recipe

NO_RECIPE = "There is no recipe yet: the job sheet comes first."
MOST_DOUBTS = 3
SHORTEST_TOLD_S = 0.5
_WHY: dict[str, str] = {
    "physical minimum": "to fuse after the platens arrive",
    "healing by the model": "to heal by the model",
    "holding time beyond the model": "of holding time beyond the model",
    "the ramp is not counted": "because the ramp is not counted",
    "colder platen edges": "for colder platen edges",
    "sensor lag": "for sensor lag",
    ROUNDING: "rounding up",
}
_NOT_EXACT = "for what is not known exactly of belt, contact and sensors"


def grounds(turn: Turn, intent: str) -> str:
    """The answer to 'physics', 'binding', 'how_sure', 'exact' or 'healed'."""
    recipe = recipe_of(turn.rules, turn.state)
    if isinstance(recipe, Infeasible):
        return f"There is no recipe: {recipe.reason} {recipe.nearest_change}"
    if recipe is None:
        return NO_RECIPE
    brief = turn.state.manner == "brief"
    match intent:
        case "physics":
            return _physics(recipe, brief)
        case "binding":
            return recipe.binding.partition(":")[0].rstrip(".") + "." if brief else recipe.binding
        case "how_sure":
            return _sure(recipe, brief)
        case "exact":
            return (
                f"The arithmetic is within {100 * recipe.numerical_error:.2f} % of the times. "
                f"{'' if brief else 'What is not known of the belt counts for more. '}{_sure(recipe, True)}"
            )
        case "healed":
            return _healed(turn, recipe)
    raise KeyError(intent)


def why_value(turn: Turn, slot: str) -> str:
    """Why a value of the recipe, or a question of the sheet, is as it is."""
    recipe = recipe_of(turn.rules, turn.state)
    slot = "upper_temperature" if slot == PLATENS else slot
    value = recipe.value(slot) if isinstance(recipe, Recipe) else None  # type: ignore[arg-type]
    if value is None or not isinstance(recipe, Recipe):
        if slot in AS_PLANNED:
            return AS_PLANNED[slot].why
        return next((info.why for info in SHEET if info.slot == slot), NO_RECIPE)
    if slot == "dwell":
        return why_dwell(recipe, turn.state.manner == "brief")
    binds = recipe.binding if slot == "lower_temperature" else ""
    return f"{value.reason} {binds}".strip()


def why_dwell(recipe: Recipe, brief: bool) -> str:
    """Physics against practice, item by item, to the dwell that is recommended."""
    made_of = [item for item in recipe.account if item.label != GIVEN]
    items = [i for i in made_of if i.seconds >= SHORTEST_TOLD_S]
    total_s = sum(item.seconds for item in made_of)
    if brief:
        return (
            f"{minutes(total_s)}: {_holding(recipe)} s of holding time, the rest to be sure that it is fused."
        )
    known = [f"{i.seconds:.0f} s {_WHY[i.label]}" for i in items if i.label in _WHY]
    doubt_s = sum(item.seconds for item in made_of if item.label not in _WHY)
    if doubt_s >= SHORTEST_TOLD_S:
        known.insert(-1 if len(known) > 1 else len(known), f"{doubt_s:.0f} s {_NOT_EXACT}")
    dwell = recipe.value("dwell")
    source = (
        f" It was set to {minutes(dwell.value_si)} instead ({dwell.source})."
        if dwell and dwell.source != "computed" and dwell.value_si != dwell.computed_si
        else ""
    )
    return f"{minutes(total_s)} of dwell are: {', '.join(known)}.{source}"


def _holding(recipe: Recipe) -> str:
    return f"{next((i.seconds for i in recipe.items if i.label == 'holding time'), 0.0):.0f}"


def _physics(recipe: Recipe, brief: bool) -> str:
    least, healing = _item(recipe, "physical minimum"), _item(recipe, "healing by the model")
    short = (
        f"Physics needs {minutes(least.seconds)} of dwell to fuse it from a cold press, and by the model {minutes(healing.seconds)} to heal; "
        f"practice holds {minutes(recipe.dwell_s)}."
    )
    return short if brief else f"{short} {least.reason} {why_dwell(recipe, brief=False)}"


def _item(recipe: Recipe, label: str) -> Item:
    return next(item for item in recipe.account if item.label == label)


def _sure(recipe: Recipe, brief: bool) -> str:
    covers = f"The dwell covers {round(100 * recipe.covered, 1):g} of 100 joints."
    if brief:
        return covers
    worst = sorted(recipe.sensitivity, key=lambda change: -_slower_s(change))[:MOST_DOUBTS]
    doubts = ", ".join(
        f"{change.label} never fuses"
        if change.hot_fusion_s is None
        else f"{change.label} {change.hot_fusion_s:+.0f} s"
        for change in worst
    )
    return (
        f"{covers} To fuse takes otherwise: {doubts}; the allowances are there for that. "
        "Material values are planning values: the data sheet, a trial joint and your readings tell more."
    )


def _slower_s(change: Change) -> float:
    return float("inf") if change.hot_fusion_s is None else change.hot_fusion_s


def _healed(turn: Turn, recipe: Recipe) -> str:
    from assistant.recipe.healing_now import healing_now

    state, timeline = turn.state, timeline_of(turn.state)
    job = job_of(turn.rules, state)
    planned = recipe.healing
    at_the_end = f"at the end of the dwell it would be {planned.degree:.2f}"
    if timeline is None or not isinstance(job, Job):
        return f"The heat is not on yet; {at_the_end} at the worst point, 1 being wholly ({planned.label})."
    t_s = turn.now_s if state.vented_s is None else min(turn.now_s, state.vented_s)
    try:
        found = healing_now(job, recipe, timeline, t_s)
    except NotComputable as refusal:
        return capital(str(refusal))
    since_s = t_s - timeline.heat_on_s
    said = (
        f"By the model it has healed {found.degree:.2f} at the worst point, 1 being wholly ({found.label})."
    )
    turn.emit(
        e.Computed(
            topic="healing",
            inputs={"since_heat_s": since_s},
            results={"degree": found.degree, "integral": found.integral, "depth_m": found.depth_m, "said": [said]},
        )
    )  # fmt: skip
    if state.cool_on_s is None:
        said += f" The hold is not shortened by it; {at_the_end}."
    return said
