"""What a session that is stopped leaves behind at the press: heat, pressure, the supply."""

from __future__ import annotations

from assistant.procedure.model import STAGE_ORDER
from assistant.procedure.rules import Rules, current, stage_index
from assistant.procedure.state import State


def left_behind(rules: Rules, state: State) -> str:
    """'hot, under pressure and connected to its supply', as far as the steps that were done tell; '' for nothing."""
    done = [act for _, act in rules.acts() if act.id in state.done]
    here = current(rules, state)
    unfastened = here is None or stage_index(here[0]) > STAGE_ORDER.index("unfasten")
    parts = []
    if state.heat_on_s is not None and not unfastened:
        parts.append("hot" if state.cool_on_s is not None else "heating")
    if state.vented_s is None and any("air_or_heat" in act.hazards for act in done):
        parts.append("under pressure")
    if any("connect" in act.hazards for act in done) and "plug_out" not in state.done:
        parts.append("connected to its supply")
    return " and ".join(filter(None, (", ".join(parts[:-1]), *parts[-1:])))


def before_stopping(rules: Rules, state: State) -> str:
    """What to know before the session is stopped; '' where nothing is left behind."""
    left = left_behind(rules, state)
    return f"The press is still {left}, and my timers and call-outs end with the session." if left else ""


def when_stopped(rules: Rules, state: State) -> str:
    """What to mind once it is stopped; '' where nothing is left behind."""
    left = left_behind(rules, state)
    if not left:
        return ""
    return (
        f"The press is still {left}. My timers have ended: stay with it, and make it safe as its manual says."
    )
