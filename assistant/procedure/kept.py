"""Recipes that were kept for this belt on this press: told beside the computed values, never put in their place."""

from __future__ import annotations

from assistant.procedure.rules import KeptValues, Rules
from assistant.procedure.slots import RECIPE_SLOTS
from assistant.procedure.state import State
from assistant.procedure.wording import shown


def kept_for(rules: Rules, state: State) -> KeptValues | None:
    """The newest recipe kept for the sheet's belt and press; None where there is none."""
    belt, press = state.values.get("belt"), state.values.get("press")
    return next((kept for kept in rules.kept_recipes if (kept.belt, kept.press) == (belt, press)), None)


def kept_sentence(rules: Rules, state: State) -> str:
    """That there is one, and how to use it; '' where there is none."""
    kept = kept_for(rules, state)
    if kept is None:
        return ""
    return (
        f"A recipe for this belt on this press was kept as {kept.name} on {kept.day}. I tell its values beside the "
        "computed ones; say the value to use."
    )


def kept_beside(rules: Rules, state: State, slot: str, value: float) -> str:
    """What was kept for `slot`, beside the `value` that is proposed."""
    kept = kept_for(rules, state)
    if kept is None or slot not in kept.values:
        return ""
    before, now = (shown(v, RECIPE_SLOTS[slot].quantity) for v in (kept.values[slot], value))
    return f" The same was kept as {kept.name}." if before == now else f" Kept as {kept.name}: {before}."
