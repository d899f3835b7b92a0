"""A job as it is and as it would be: any input changed, every answer compared. Nothing is changed by it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.bench.sheet import build_job, conflicts, proposal, refusal, slots_for, with_defaults
from assistant.bench.sheet_file import YES_NO
from assistant.bench.slots import GUIDES, OTHER, SlotInfo, Value
from assistant.procedure.as_planned import AS_PLANNED, unlike, with_factors
from assistant.procedure.slots import RECIPE_SLOTS
from assistant.procedure.slots import SLOTS as PROCEDURE_SLOTS
from assistant.procedure.told import told
from assistant.procedure.wording import minutes, shown
from assistant.recipe.outcome import Given, Infeasible, Recipe
from assistant.recipe.pressure import belt_pressure
from intents.quantities import edge_value
from intents.units import edge_unit

if TYPE_CHECKING:
    from assistant.bench.catalogue import Catalogue

PLATENS = "platens"  # both set temperatures at once
OWN_TO_BELT = ("belt_thickness", "belt_width", "elongation")  # measured or chosen for the belt that was there
MOST_REPAIRS = 4
LEAD_m2 = 2.5e-6  # of a lead of which only the length is asked about
MOST_PLACES, ENOUGH = 2, 0.9  # decimals said of it, and how much of the way to it what is said must be
HALVINGS = 24  # to the nearest value that goes; finer than anything is measured


@dataclass(frozen=True)
class Unit:
    """How an answer is written: `per` SI a unit, from `zero`. more, less: of a difference."""

    key: str  # of the SI unit, for a machine
    name: str
    per: float = 1.0
    places: int = 0
    zero: float = 0.0
    more: str = "more"
    less: str = "less"

    def text(self, value: float) -> str:
        return self._written(value - self.zero)

    def apart(self, difference: float) -> str:
        """'5 °C hotter'; '' where it is too small to be written."""
        size = self._written(abs(difference))
        return "" if size == self._written(0.0) else f"{size} {self.more if difference > 0 else self.less}"

    def _written(self, value: float) -> str:
        if self.name == "s":
            return minutes(value)
        number = f"{value / self.per:.{self.places}f}"
        return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {self.name}".rstrip()


_K = Unit("K", "°C", zero=273.15, more="hotter", less="colder")
_S = Unit("s", "s", more="longer", less="shorter")
_BAR = Unit("Pa", "bar", 1e5, 2)
_MM = Unit("m", "mm", 1e-3, more="longer", less="shorter")


@dataclass(frozen=True)
class Answer:
    """One thing that follows from a job; value: SI."""

    name: str
    label: str
    value: float
    unit: Unit

    @property
    def key(self) -> str:
        """The name with the SI unit, for a machine."""
        return f"{self.name}_{self.unit.key}" if self.unit.key else self.name

    @property
    def text(self) -> str:
        return self.unit.text(self.value)


@dataclass(frozen=True)
class Difference:
    """before, after: None where there is no such answer (a preheat that goes away)."""

    label: str
    before: Answer | None
    after: Answer | None

    @property
    def apart(self) -> str:
        """'59 s longer'."""
        if self.before is None or self.after is None:
            return ""
        return self.after.unit.apart(self.after.value - self.before.value)

    @property
    def sentence(self) -> str:
        """'whole cycle 35 min 40 s, 59 s longer'."""
        if self.after is None:
            return f"no {self.label}"
        return f"{self.label} {self.after.text}, {self.apart or 'which there was not'}"


@dataclass(frozen=True)
class Otherwise:
    """What would be. refused: why not, '' if it can be; nearest: what would go in its place, '' if unknown.

    also: what else was taken otherwise so that it fits (slot, value), and `noted`, what was assumed for it.
    """

    changes: Mapping[str, Value]
    before: tuple[Answer, ...] = ()
    after: tuple[Answer, ...] = ()
    refused: str = ""
    nearest: str = ""
    also: Mapping[str, Value] = field(default_factory=dict)
    noted: tuple[str, ...] = ()
    found: Recipe | Infeasible | None = None

    @property
    def differences(self) -> tuple[Difference, ...]:
        return tuple(d for d in compared(self.before, self.after) if d.apart or not (d.before and d.after))


def otherwise(
    values: Mapping[str, Value],
    given: Mapping[str, float],
    changes: Mapping[str, Value],
    catalogue: Catalogue,
    before: tuple[Job, Recipe | Infeasible] | None = None,
) -> Otherwise:
    """The job of `values` and `given` (recipe values fixed by a person), and the same with `changes`.

    changes: slots of the sheet or of the recipe, SI or keys; 'platens' for both set temperatures.
    before: job and recipe as they are, where they are known already.
    """
    if before is None:
        job = build_job(values, catalogue)
        if isinstance(job, tuple):
            return Otherwise(changes, refused=" ".join(job))
        before = job, _recipe(job, given)
    answers = answers_of(*before)
    sheet, fixed = parted(changes)
    fit = fitted(values, sheet, catalogue)
    if isinstance(fit, str):
        return Otherwise(changes, answers, refused=fit, nearest=nearest(values, sheet, catalogue))
    if cannot := beyond(fixed) or unlike(changes):
        return Otherwise(changes, answers, refused=cannot)
    job, also, noted = fit
    job = with_factors(job, changes)
    found = _recipe(job, {**given, **fixed})
    result = Otherwise(changes, answers, answers_of(job, found), also=also, noted=noted, found=found)
    if isinstance(found, Infeasible):
        return replace(result, refused=found.reason, nearest=found.nearest_change)
    return result


def parted(changes: Mapping[str, Value]) -> tuple[dict[str, Value], dict[str, float]]:
    """Changes of the sheet, and values of the recipe that are fixed; what is planned is neither."""
    sheet = {
        k: v for k, v in changes.items() if k not in RECIPE_SLOTS and k not in AS_PLANNED and k != PLATENS
    }
    fixed = {k: float(v) for k, v in changes.items() if k in RECIPE_SLOTS}
    if PLATENS in changes:
        fixed |= dict.fromkeys(("upper_temperature", "lower_temperature"), float(changes[PLATENS]))
    return sheet, fixed


def beyond(fixed: Mapping[str, float]) -> str:
    """Why a fixed value can be set on no press, with what can be; '' where all may be asked of the recipe."""
    for name, value in fixed.items():
        slot = PROCEDURE_SLOTS[name]
        if not slot.low <= value <= slot.high:
            low, high, asked = (shown(v, slot.quantity) for v in (slot.low, slot.high, value))
            return f"The {slot.label} cannot be {asked}: it lies between {low} and {high}."
    return ""


def _recipe(job: Job, given: Mapping[str, float]) -> Recipe | Infeasible:
    from assistant.recipe.recipe import compute_recipe  # numpy behind it

    return compute_recipe(job, Given(**given))


def answers_of(job: Job, recipe: Recipe | Infeasible) -> tuple[Answer, ...]:
    """Everything that a job answers, what is agreed and set first; without a recipe only the rest."""
    found: list[Answer] = []
    if isinstance(recipe, Recipe):
        units = {"temperature": _K, "pressure": _BAR, "duration": _S}
        for value in recipe.values:
            slot = PROCEDURE_SLOTS[value.slot]
            found.append(Answer(value.slot, slot.label, value.value_si, units[str(slot.quantity)]))
        found += [
            Answer("cycle", "whole cycle", recipe.cycle_s, _S),
            Answer("ramp", "heating", recipe.ramp_s, _S),
            Answer("cooling", "cooling", recipe.cooling_s, _S),
            Answer("peak", "hottest in the belt", recipe.peak_K, _K),
            Answer("healing", "healed by the model", recipe.healing.degree, Unit("", "", places=2)),
            Answer("on_belt", "pressure on the belt", _on_belt_Pa(job, recipe), _BAR),
        ]
    cut, power, pull = (told(topic, job) for topic in ("cut", "supply", "tension"))
    for results, key, label, unit in (
        (cut, "cut_m", "cut length", _MM),
        (cut, "notches", "notches", Unit("", "", less="fewer")),
        (power, "power_W", "heating power", Unit("W", "W")),
        (power, "current_A", "current", Unit("A", "A", places=1)),
        (power, "drop_ratio", "lost in the lead", Unit("", "%", 1e-2, 1)),
        (pull, "marks_m", "marks apart", Unit("m", "mm", 1e-3, 1)),
        (pull, "pull_N", "pull", Unit("N", "N")),
    ):
        held = results.get(key)
        if held is not None:
            found.append(Answer(key.removesuffix(f"_{unit.key}"), label, float(held), unit))
    return tuple(found)


def _on_belt_Pa(job: Job, recipe: Recipe) -> float:
    long_m, wide_m = job.template.plate_length_mm / 1e3, job.belt.width_mm / 1e3
    plate_m2 = long_m * max(job.template.channel_width_mm / 1e3, wide_m)
    bag_m2 = job.press.bag_area_mm2 / 1e6
    return belt_pressure(recipe.value_si("pressure"), bag_m2, long_m * wide_m, plate_m2).belt_Pa


def compared(before: tuple[Answer, ...], after: tuple[Answer, ...]) -> tuple[Difference, ...]:
    """Answer by answer, in their order."""
    was, now = {a.key: a for a in before}, {a.key: a for a in after}
    labels = {a.key: a.label for a in (*before, *after)}
    return tuple(Difference(label, was.get(key), now.get(key)) for key, label in labels.items())


def fitted(
    values: Mapping[str, Value], sheet: Mapping[str, Value], catalogue: Catalogue
) -> tuple[Job, dict[str, Value], tuple[str, ...]] | str:
    """The job with these values, and what had to follow them; or the sentence why it cannot be."""
    changed, noted = _changed(values, sheet, catalogue)
    also: dict[str, Value] = {}
    reason = ""
    for _ in range(MOST_REPAIRS):
        filled, _told = with_defaults(changed, catalogue)
        problems = conflicts(filled, catalogue)
        slot = next(iter(problems), None)
        if slot is None:
            break
        reason = problems[slot]
        instead = None if slot in sheet else _fitting(slot, filled, catalogue)
        if instead is None:
            return reason
        changed[slot] = also[slot] = instead
    job = build_job(changed, catalogue)
    if isinstance(job, tuple):
        return " ".join(job)
    pitch_m = sheet.get("notch_pitch")
    if pitch_m is not None and values.get("belt") != OTHER:
        if job.belt.guide is None:
            return f"The {job.belt.name} has no guide and no notches."
        guide = job.belt.guide.model_copy(update={"notch_pitch_mm": float(pitch_m) * 1e3 or None})
        job = job.model_copy(update={"belt": job.belt.model_copy(update={"guide": guide})})
    return job, also, (*((reason,) if also else ()), *noted)


def _changed(
    values: Mapping[str, Value], sheet: Mapping[str, Value], catalogue: Catalogue
) -> tuple[dict[str, Value], tuple[str, ...]]:
    changed, noted = {**values, **sheet}, []
    if sheet.get("belt", values.get("belt")) != values.get("belt"):
        for slot in OWN_TO_BELT:
            changed.pop(slot, None)
            proposed = proposal(slot, changed, catalogue)
            if slot in sheet or proposed is not None:
                changed[slot] = sheet.get(slot, proposed[0] if proposed else 0.0)
        noted.append("Thickness, width and elongation are then as its data give them.")
    if changed.get("lead_length") and "lead_section" not in changed:
        changed["lead_section"] = LEAD_m2
        noted.append(f"The lead is taken as {LEAD_m2 * 1e6:g} mm².")
    if changed.get("belt_guide") in GUIDES and "notch_pitch" not in changed:
        changed["notch_pitch"] = 0.0
    return changed, tuple(noted)


def _fitting(slot: str, values: Mapping[str, Value], catalogue: Catalogue) -> Value | None:
    """What would stand for `slot` beside the other values: as proposed, else the first choice that does."""
    proposed = proposal(slot, values, catalogue)
    choices = next((info.choices for info in slots_for(values, catalogue) if info.slot == slot), ())
    keys = [choice.key for choice in choices if choice.key != OTHER]
    tried: list[Value] = [proposed[0], *keys] if proposed else [*keys]
    for value in tried:
        if value != values.get(slot) and refusal(slot, value, values, catalogue) is None:
            return value
    return None


def nearest(values: Mapping[str, Value], sheet: Mapping[str, Value], catalogue: Catalogue) -> str:
    """The value nearest to the one asked for that the sheet would take, of a choice those that do; for one change.
    '' where none is known."""
    slot, asked = next(iter(sheet.items())) if len(sheet) == 1 else ("", "")
    here = values.get(slot)
    info = next((i for i in slots_for(values, catalogue) if i.slot == slot), None)
    if info is not None and info.choices:
        return "" if slot in YES_NO else _that_fit(info, values, catalogue)
    if not (isinstance(asked, float) and isinstance(here, float) and info is not None):
        return ""
    goes, not_so = here, asked
    for _ in range(HALVINGS):
        middle = (goes + not_so) / 2
        if isinstance(fitted(values, {slot: middle}, catalogue), str):
            not_so = middle
        else:
            goes = middle
    told = _as_told(goes, here, info, lambda v: not isinstance(fitted(values, {slot: v}, catalogue), str))
    return "" if told is None else f"The nearest that goes is {told}."


def _that_fit(info: SlotInfo, values: Mapping[str, Value], catalogue: Catalogue) -> str:
    """The choices that need nothing else changed, by their first names."""
    fitting = [
        choice.sayings[0]
        for choice in info.choices
        if choice.key != OTHER and not isinstance(fitted(values, {info.slot: choice.key}, catalogue), str)
    ]
    return f"What goes for the {info.label}: {' or '.join(fitting)}." if fitting else ""


def _as_told(goes: float, here: float, info: SlotInfo, fits: Callable[[float], bool]) -> str | None:
    """`goes` (SI) as it is said, as short as may be, so that what is said fits too; None if it is nearly `here`."""
    if info.quantity is None:
        return None
    unit = info.unit if info.unit == "m" else ""
    edge, said = edge_unit(info.quantity, unit), edge_value(goes, info.quantity, unit)
    for places in range(MOST_PLACES + 1):
        step = 10.0**-places if here > goes else -(10.0**-places)
        for rounded in (round(said, places), round(said + step, places)):
            value = edge.to_si(rounded)
            if abs(value - here) >= ENOUGH * abs(goes - here) and fits(value):
                return shown(value, info.quantity, unit=info.unit)
    return None
