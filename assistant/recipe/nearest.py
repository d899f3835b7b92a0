"""The nearest change that makes a refused recipe work, found by trying and not by rule.

First what a person has fixed, one value at a time, as little as will do; then what the data sheet fixes;
then the press and its supply. Where none of these helps, what the refusal itself says stands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from math import ceil

from assistant.bench.job import Job
from assistant.recipe.decided import decide
from assistant.recipe.feasible import lay_up_mm
from assistant.recipe.knobs import Knob, least
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Given, Slot
from assistant.recipe.overrule import bar, degC, seconds
from assistant.recipe.refused import Refused

SLOTS: dict[Slot, tuple[str, Callable[[float], str], float]] = {
    "upper_temperature": ("the upper platen to", degC, 1.0),
    "lower_temperature": ("the lower platen to", degC, 1.0),
    "dwell": ("the dwell to", seconds, 1.0),
    "pressure": ("the pressure to", bar, 1e3),
    "release_temperature": ("the release temperature to", degC, 1.0),
    "preheat_temperature": ("the preheat to", degC, 1.0),
    "preheat_time": ("the preheat time to", seconds, 1.0),
}  # what is said, how it is shown, the step in which it is set (SI)


_Knob = Knob[tuple[Job, Given]]


def nearest_change(job: Job, given: Given, sure: float, refused: Refused) -> str:
    """One sentence. Every change said here has been computed to give a recipe."""

    fixed = given.upper_temperature is not None and given.lower_temperature is not None

    def works(changed: tuple[Job, Given]) -> bool:
        try:
            decide(*changed, sure, roughly=fixed)
        except (Refused, NotComputable, ValueError):
            return False
        return True

    knobs = (
        *_given(job, given, sure),
        *_together(job, given, sure),
        *_sheet(job, given),
        *_press(job, given),
    )
    return least(knobs, works) or refused.infeasible.nearest_change


def _given(job: Job, given: Given, sure: float) -> Iterator[_Knob]:
    """Each value that a person has fixed, towards what is computed without it."""
    for slot, (say, show, step) in SLOTS.items():
        now = given.value(slot)
        if now is None:
            continue
        without = replace(given, **{slot: None})
        best = _computed(job, without, sure, slot)
        if best is not None:
            yield _Knob(
                now, best, step,
                lambda x, say=say, show=show, best=best: f"Change {say} {show(x)}; computed is {show(best)}.",  # type: ignore[misc]
                lambda x, slot=slot: (job, replace(given, **{slot: x})),  # type: ignore[misc]
            )  # fmt: skip


def _together(job: Job, given: Given, sure: float) -> Iterator[_Knob]:
    """Both platens at once, where both were fixed."""
    upper, lower = given.upper_temperature, given.lower_temperature
    if upper is None or lower is None:
        return
    best = _computed(
        job, replace(given, upper_temperature=None, lower_temperature=None), sure, "upper_temperature"
    )
    if best is None:
        return
    yield _Knob(
        0.0, best - upper, 1.0,
        lambda by: f"Change the platens to {degC(upper + by)} above and {degC(lower + by)} below; computed is {degC(best)}.",
        lambda by: (job, replace(given, upper_temperature=upper + by, lower_temperature=lower + by)),
    )  # fmt: skip


def _sheet(job: Job, given: Given) -> Iterator[_Knob]:
    """What the data sheet fixes: without it, to show what it costs."""
    sheet = job.belt.sheet
    if sheet.max_degC is not None and sheet.max_degC < job.press.max_degC:
        yield _Knob(
            sheet.max_degC, job.press.max_degC, 1.0,
            lambda x: f"The data sheet would have to allow {x:.0f} °C: ask the belt's supplier.",
            lambda x: (_with_sheet(job, {"max_degC": x}), given),
        )  # fmt: skip
    fixed = {
        key: None
        for key in ("upper_degC", "lower_degC", "dwell_s", "pressure_bar", "release_degC")
        if getattr(sheet, key) is not None
    }
    if fixed:
        yield _Knob(
            0.0, 1.0, 1.0,
            lambda _x: "What the data sheet fixes does not fit this lay-up and press; the computed values do: ask the belt's supplier.",
            lambda x: (_with_sheet(job, fixed) if x >= 1 else job, given),
        )  # fmt: skip


def _with_sheet(job: Job, changes: Mapping[str, float | None]) -> Job:
    sheet = job.belt.sheet.model_copy(update=dict(changes))
    return job.model_copy(update={"belt": job.belt.model_copy(update={"sheet": sheet})})


def _press(job: Job, given: Given) -> Iterator[_Knob]:
    press, supply = job.press, job.supply

    def with_press(changes: dict[str, object]) -> tuple[Job, Given]:
        return job.model_copy(update={"press": press.model_copy(update=changes)}), given

    if supply.voltage_V < press.voltage_V:
        yield _Knob(
            supply.voltage_V, press.voltage_V, 1.0,
            lambda x: f"The supply would have to have {x:.0f} V at the press: take a shorter or thicker lead, or another socket.",
            lambda x: (job.model_copy(update={"supply": supply.model_copy(update={"voltage_V": x})}), given),
        )  # fmt: skip
    if press.opening_mm is not None:
        yield _Knob(
            press.opening_mm, lay_up_mm(job), 1.0,
            lambda x: f"Take a press that closes on {ceil(x)} mm; the {press.name} closes on {press.opening_mm:g} mm at most.",
            lambda x: with_press({"opening_mm": x}),
        )  # fmt: skip
    worst_K = max(press.upper.edge_deficit_K, press.lower.edge_deficit_K)
    if worst_K > 0:

        def evened(x: float) -> tuple[Job, Given]:
            return with_press(
                {
                    name: platen.model_copy(update={"edge_deficit_K": min(platen.edge_deficit_K, x)})
                    for name, platen in (("upper", press.upper), ("lower", press.lower))
                }
            )

        yield _Knob(
            worst_K, 0.0, 0.5,
            lambda x: f"Take a press whose edges are no more than {x:.3g} K colder than its middle; this one's are {worst_K:g} K.",
            evened,
        )  # fmt: skip
    yield _Knob(
        press.max_degC, press.max_degC + 60.0, 1.0,
        lambda x: f"Take a press that reaches {x:.0f} °C; this one goes to {press.max_degC:g} °C.",
        lambda x: with_press({"max_degC": x}),
    )  # fmt: skip
    yield _Knob(
        0.0, 1.0, 0.01,
        lambda x: f"Take a press with {100 * x:.0f} % more heating power.",
        lambda x: with_press(
            {
                name: platen.stronger(1 + x)
                for name, platen in (("upper", press.upper), ("lower", press.lower))
            }
        ),
    )  # fmt: skip


def _computed(job: Job, given: Given, sure: float, slot: Slot) -> float | None:
    try:
        taken = decide(job, given, sure).values.taken
    except (Refused, NotComputable):
        return None
    return next((value.value_si for value in taken if value.slot == slot), None)
