"""What changes in the recipe's times if something is otherwise than assumed."""

from __future__ import annotations

from dataclasses import replace

from assistant.recipe.case import CONTACT_FACTOR, THICKER_M, Case
from assistant.recipe.outcome import Change
from assistant.recipe.platen import PressModel
from assistant.recipe.spans import CAPACITY, CONDUCTIVITY

COLDER_PLATENS_K = 3.0
COLDER_SHOP_K = 10.0


def sensitivity_of(case: Case) -> tuple[Change, ...]:
    """One row for each assumption that may be wrong."""
    case = case.quick
    stack = case.body.stack
    others = (
        ("belt 0.2 mm thicker", case.with_stack(stack.changed(belt_thicker_m=THICKER_M))),
        ("contact twice as bad", case.with_stack(stack.changed(contact_factor=CONTACT_FACTOR))),
        ("contact half as bad", case.with_stack(stack.changed(contact_factor=1 / CONTACT_FACTOR))),
        (
            "belt conductivity 15 % less",
            case.with_stack(stack.changed(conductivity_factor=CONDUCTIVITY.low)),
        ),
        ("belt heat capacity 20 % more", case.with_stack(stack.changed(capacity_factor=CAPACITY.high))),
        ("platens 3 K colder than they read", case.with_platens(-COLDER_PLATENS_K, -COLDER_PLATENS_K)),
        ("shop 10 K colder", _colder_shop(case)),
    )
    return tuple(
        Change(
            label,
            _difference(other.hot_fusion_s, case.hot_fusion_s),
            _difference(other.set_s, case.set_s),
            _difference(other.fused_s, case.fused_s),
            _difference(other.cooling_s, case.cooling_s),
        )
        for label, other in others
    )


def _colder_shop(case: Case) -> Case:
    press = PressModel(
        replace(case.press.upper, around_K=case.press.upper.around_K - COLDER_SHOP_K),
        replace(case.press.lower, around_K=case.press.lower.around_K - COLDER_SHOP_K),
    )
    return Case(case.body, press, case.settings, case.start_K - COLDER_SHOP_K)


def _difference(there_s: float | None, here_s: float | None) -> float | None:
    return None if there_s is None or here_s is None else there_s - here_s
