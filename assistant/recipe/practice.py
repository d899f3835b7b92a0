"""Physics against practice: why the trade holds for minutes what physics would weld in seconds, item by item."""

from __future__ import annotations

from assistant.recipe.case import Case
from assistant.recipe.conduction import Follows
from assistant.recipe.dwell import GIVEN, ROUNDING, Dwell
from assistant.recipe.healing import LABEL, healed_s
from assistant.recipe.outcome import Item
from assistant.recipe.run import Run


def laid_hot(case: Case) -> Run:
    """The belt laid in between platens that are at temperature already."""
    start = case.body.uniform(case.laid_in_K)
    return Run(case.body).then(0.0, start, Follows(case.settings.upper_K), Follows(case.settings.lower_K))


def account(case: Case, dwell: Dwell, hold_s: float) -> tuple[Item, ...]:
    """From the least that physics asks of the dwell to what is recommended; the seconds add up to it.

    Raises: KeyError when the dwell has no items because something never fuses.
    """
    items = {item.label: item for item in dwell.items}
    fused_s, set_s, hot_s = case.fused_s or 0.0, case.set_s or 0.0, case.hot_fusion_s or 0.0
    least_s = max(0.0, fused_s - set_s)
    when = f"{set_s - fused_s:.0f} s before" if fused_s < set_s else f"{fused_s - set_s:.0f} s after"
    found_s = healed_s(laid_hot(case), hot_s + hold_s, None)
    healing_s = hold_s if found_s is None else max(0.0, found_s - hot_s)
    enough = (
        "all of the hold would not heal it wholly" if found_s is None else f"{healing_s:.0f} s heal it wholly"
    )
    return (
        Item("physical minimum", least_s, f"From a cold press the coldest point between the middles of the platens fuses {when} the later platen is at set temperature; fused is joined, physics says."),
        Item("healing by the model", healing_s, f"Chains must cross the joint: after fusion {enough} at the worst point ({LABEL})."),
        Item("holding time beyond the model", hold_s - healing_s, f"The trade holds {hold_s:.0f} s above fusion whatever a model says; it is never shortened by one."),
        Item("the ramp is not counted", hot_s - least_s, "A press still warm from the last joint gives no ramp: the belt is counted as laid in between hot platens."),
        items["colder platen edges"],
        *dwell.parts,
        items["sensor lag"],
        items[ROUNDING],
        *([items[GIVEN]] if GIVEN in items else []),
    )  # fmt: skip
