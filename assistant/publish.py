"""From the state to the snapshot that screens draw. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.procedure.decide import DANGER
from assistant.procedure.fill import fill
from assistant.procedure.gate_wording import asked_now
from assistant.procedure.model import Act
from assistant.procedure.prompt import prompt
from assistant.procedure.rules import Rules, applies, current, traits_of
from assistant.procedure.sayable import can_say
from assistant.procedure.slots import RECIPE_SLOTS
from assistant.procedure.state import State
from assistant.procedure.wording import minutes, shown
from assistant.view import CurvePoint, GateView, Line, ReadingPoint, RecipeRow, StageView, TimerView, View

_TEMPERATURES = ("upper_reading", "lower_reading", "edge_reading")


def publish(rules: Rules, state: State, now_s: float, lines: tuple[Line, ...], log_path: str) -> View:
    """The snapshot at session time `now_s`. The session puts in what it knows of ears and disk."""
    here = current(rules, state)
    act = here[1] if here else None
    asked = prompt(rules, state, now_s)
    value, label = _value(state, act)
    gate = None
    if act is not None and act.kind == "gate" and not state.danger:
        data = rules.gate(act)
        gate = GateView(data.hazard, asked_now(rules, state, act), data.cautions)
    recipe = state.computed.get("recipe", {})
    return View(
        simulated=state.simulated,
        technician=state.technician,
        stages=_stages(rules, state, here[0].id if here else ""),
        act_title="use the press's own stop".upper()
        if state.danger
        else ("finished" if state.closed else fill(rules, state, act.title) if act else "").upper(),
        act_say=DANGER if state.danger else asked.text,
        value="" if state.danger else value,
        value_label="" if state.danger else label,
        timers=tuple(
            TimerView(t.name, t.name.upper(), now_s - t.started_s if t.deadline_s is None else t.deadline_s - now_s, t.total_s)
            for t in state.timers
        ),
        gate=gate,
        held=state.held,
        finished=state.closed or "",
        conversation=lines,
        recipe=_recipe_rows(state, recipe),
        curve=tuple(CurvePoint(*point) for point in recipe.get("curve", ())),
        readings=_readings(state),
        run_s=None if state.heat_on_s is None else now_s - state.heat_on_s,
        can_say=can_say(rules, state),
        log_path=log_path,
        pedal=act is not None and act.kind == "step" and not state.held and state.offered is None,
    )  # fmt: skip


def _value(state: State, act: Act | None) -> tuple[str, str]:
    if state.offered is not None:
        slot = state.offered.slot.removeprefix("shown_")
        kind = RECIPE_SLOTS[slot].quantity if slot in RECIPE_SLOTS else None
        value = state.offered.value
        return (shown(value, kind) if kind or isinstance(value, str) else ""), slot.replace("_", " ")
    if act is not None and act.slot in RECIPE_SLOTS:
        value = state.values.get(act.slot, state.computed.get("recipe", {}).get("values", {}).get(act.slot))
        if isinstance(value, float):
            return shown(value, RECIPE_SLOTS[act.slot].quantity), RECIPE_SLOTS[act.slot].label
    release = state.values.get("release_temperature")
    if state.cool_on_s is not None and state.vented_s is None and isinstance(release, float):
        return shown(release, "temperature"), "let go at"
    return "", ""


def _stages(rules: Rules, state: State, now_id: str) -> tuple[StageView, ...]:
    known = traits_of(rules, state)
    views = []
    for stage in rules.procedure.stages:
        acts = [a for a in stage.acts if applies(a, known)]
        if stage.id == now_id:
            status = "now"
        elif not acts and known:
            status = "not needed"
        elif acts and all(a.id in state.done for a in acts):
            status = "done"
        else:
            status = "to come"
        views.append(StageView(stage.title, status))  # type: ignore[arg-type]
    return tuple(views)


def _recipe_rows(state: State, recipe: Mapping[str, Any]) -> tuple[RecipeRow, ...]:
    rows = []
    for slot, value in recipe.get("values", {}).items():
        known = RECIPE_SLOTS[slot]
        stands = state.values.get(slot, value)
        if isinstance(stands, float):
            reason = str(recipe.get("reasons", {}).get(slot, ""))
            rows.append(RecipeRow(known.label, shown(stands, known.quantity), reason, slot in state.agreed))
    if "cycle_s" in recipe:
        rows.append(
            RecipeRow("whole cycle", minutes(recipe["cycle_s"]), "ramp, dwell and cooling as computed", True)
        )
    return tuple(rows)


def _readings(state: State) -> tuple[ReadingPoint, ...]:
    if state.heat_on_s is None:
        return ()
    return tuple(
        ReadingPoint(r.slot, r.t_s - state.heat_on_s, r.value - 273.15, r.plausible)  # type: ignore[arg-type]
        for r in state.readings
        if r.slot in _TEMPERATURES
    )
