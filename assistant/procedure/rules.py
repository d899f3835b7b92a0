"""What a session goes by: procedure and catalogue, and what follows from them in a given state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from assistant.bench.sheet import build_job, slots_for, traits
from assistant.bench.slots import SLOTS, SlotInfo
from assistant.procedure.evolve import RECIPE_SLOTS
from assistant.procedure.model import STAGE_ORDER, Act, Gate, Procedure, Stage
from assistant.procedure.state import State
from assistant.recent import remembered

if TYPE_CHECKING:
    from assistant.bench.catalogue import Catalogue
    from assistant.bench.job import Job
    from assistant.procedure.events import Value
    from assistant.recipe.during import Timeline
    from assistant.recipe.outcome import Infeasible, Recipe

SHEET_SLOTS = frozenset(info.slot for info in SLOTS)


@dataclass(frozen=True)
class KeptValues:
    """A recipe of the book: SI by slot; `belt` and `press` are keys, `day` is ISO 8601."""

    name: str
    belt: str
    press: str
    day: str
    values: Mapping[str, float]


@dataclass(frozen=True, eq=False)  # compared by identity: the memos below hang on one set of rules
class Rules:
    procedure: Procedure
    catalogue: Catalogue
    digests: Mapping[str, str] = field(default_factory=dict)
    callsign: str | None = None
    kept_recipes: tuple[KeptValues, ...] = ()  # newest first

    def acts(self) -> tuple[tuple[Stage, Act], ...]:
        """Every act of every stage, in order."""
        return _flat(self)

    def act(self, act_id: str) -> Act | None:
        return next((a for _, a in self.acts() if a.id == act_id), None)

    def gate(self, act: Act) -> Gate:
        if act.gate is None:
            raise ValueError(f"act '{act.id}' is no gate")
        return self.procedure.gate(act.gate)


@lru_cache(maxsize=8)
def _flat(rules: Rules) -> tuple[tuple[Stage, Act], ...]:
    return tuple((stage, act) for stage in rules.procedure.stages for act in stage.acts)


def job_of(rules: Rules, state: State) -> Job | tuple[str, ...]:
    """The job of the sheet's values, or the sentences that say why there is none."""
    return _job_of(rules, state.values)


@remembered(16)
def _job_of(rules: Rules, values: Mapping[str, Value]) -> Job | tuple[str, ...]:
    return _job(rules, tuple(sorted((k, v) for k, v in values.items() if k in SHEET_SLOTS)))


@lru_cache(maxsize=64)
def _job(rules: Rules, values: tuple[tuple[str, Value], ...]) -> Job | tuple[str, ...]:
    return build_job(dict(values), rules.catalogue)


def recipe_of(rules: Rules, state: State) -> Recipe | Infeasible | None:
    """The recipe for the sheet and what the person has overruled; None while the sheet is not whole."""
    return _recipe_of(rules, state.values, state.overruled)


@remembered(16)
def _recipe_of(
    rules: Rules, values: Mapping[str, Value], overruled: frozenset[str]
) -> Recipe | Infeasible | None:
    return _recipe_with(rules, values, {k: float(values[k]) for k in overruled if k in values})


def recipe_with(rules: Rules, state: State, given: Mapping[str, float]) -> Recipe | Infeasible | None:
    """The recipe for the sheet with these values in place of the computed ones, SI by slot."""
    return _recipe_with(rules, state.values, given)


def _recipe_with(
    rules: Rules, values: Mapping[str, Value], given: Mapping[str, float]
) -> Recipe | Infeasible | None:
    sheet = tuple(sorted((k, v) for k, v in values.items() if k in SHEET_SLOTS and k != "technician"))
    return _recipe(rules, (*sheet, ("technician", "-")), tuple(sorted(given.items())))


@lru_cache(maxsize=64)
def _recipe(
    rules: Rules, sheet: tuple[tuple[str, Value], ...], given: tuple[tuple[str, float], ...]
) -> Recipe | Infeasible | None:
    job = _job(rules, sheet)
    if isinstance(job, tuple):
        return None
    from assistant.recipe.outcome import Given
    from assistant.recipe.recipe import compute_recipe  # numpy behind it: only when a recipe is wanted

    return compute_recipe(job, Given(**dict(given)))


def sheet_slots(rules: Rules, state: State) -> tuple[SlotInfo, ...]:
    """The slots of the job sheet that apply to the values so far, in order, with what can be chosen."""
    return _sheet_slots(rules, state.values)


@remembered(16)
def _sheet_slots(rules: Rules, values: Mapping[str, Value]) -> tuple[SlotInfo, ...]:
    return slots_for(values, rules.catalogue)


def traits_of(rules: Rules, state: State) -> Mapping[str, str | bool]:
    """What chooses the steps. Traits that are not known yet are absent, and their acts do not apply."""
    return _traits_of(rules, state.values, state.computed)


@remembered(16)
def _traits_of(
    rules: Rules, values: Mapping[str, Value], computed: Mapping[str, Mapping[str, Any]]
) -> Mapping[str, str | bool]:
    recipe = computed.get("recipe", {}).get("values", {})
    sheet = {k: v for k, v in values.items() if k in SHEET_SLOTS}
    if not recipe:
        return traits(sheet, rules.catalogue)
    asymmetric = recipe.get("upper_temperature") != recipe.get("lower_temperature")
    return traits(sheet, rules.catalogue, "preheat_temperature" in recipe, asymmetric)


def applies(act: Act, known: Mapping[str, str | bool]) -> bool:
    return all(known.get(trait) == wanted for trait, wanted in act.when.items())


def current(rules: Rules, state: State) -> tuple[Stage, Act] | None:
    """The first act that applies and is not done. A gate whose act is not done lets nothing past it."""
    if state.closed is not None or state.outcome == "cut out and redo":
        return None
    return _first_open(rules, traits_of(rules, state), state.done)


@remembered(16)
def _first_open(
    rules: Rules, known: Mapping[str, str | bool], done: frozenset[str]
) -> tuple[Stage, Act] | None:
    for stage, act in rules.acts():
        if act.id not in done and applies(act, known):
            return stage, act
    return None


def stage_index(stage: Stage) -> int:
    return STAGE_ORDER.index(stage.id)


def timeline_of(state: State) -> Timeline | None:
    """When heat, set temperature and cooling began; None before heat."""
    if state.heat_on_s is None:
        return None
    from assistant.recipe.broken import Cut
    from assistant.recipe.during import Timeline

    of_this_heat = [one for one in state.interruptions if one.at_s >= state.heat_on_s]
    cuts = [Cut(one.heat_off_s, one.back_s, one.cooled) for one in of_this_heat if one.heat_off_s is not None]
    anew = [one.back_s for one in of_this_heat if one.counts_anew]
    counts_from_s = anew[-1] if anew else None
    first_set_s = of_this_heat[0].at_set_s if of_this_heat else None
    ramp_s = None if first_set_s is None else first_set_s - state.heat_on_s
    in_order = tuple(sorted(cuts, key=lambda cut: cut.off_s))
    return Timeline(state.heat_on_s, state.at_set_s, state.cool_on_s, in_order, counts_from_s, ramp_s)


__all__ = [
    "RECIPE_SLOTS",
    "SHEET_SLOTS",
    "Rules",
    "applies",
    "current",
    "job_of",
    "recipe_of",
    "recipe_with",
    "sheet_slots",
    "timeline_of",
    "traits_of",
]
