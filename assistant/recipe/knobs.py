"""The least change that makes what is refused work, found by trying: one thing is turned at a time, as little as will do."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

HALVINGS = 8

Asked = TypeVar("Asked")


@dataclass(frozen=True)
class Knob(Generic[Asked]):
    """Something that may be changed: from what it is to what would be best. say: the change in words; step: how
    finely it can be set."""

    now: float
    best: float
    step: float
    say: Callable[[float], str]
    turned: Callable[[float], Asked]


def least(knobs: Iterable[Knob[Asked]], works: Callable[[Asked], bool]) -> str | None:
    """The first knob that helps, turned as little as will do, in words; each change said has been tried."""
    for knob in knobs:
        if not works(knob.turned(knob.best)):
            continue
        near, far = 0.0, 1.0  # share of the way to the best; near does not work, far does
        for _ in range(HALVINGS):
            if (far - near) * abs(knob.best - knob.now) < knob.step / 2:
                break
            middle = (near + far) / 2
            if works(knob.turned(knob.now + middle * (knob.best - knob.now))):
                far = middle
            else:
                near = middle
        exact = knob.now + far * (knob.best - knob.now)
        steps = exact / knob.step
        whole = knob.step * (round(steps + 0.499) if knob.best > knob.now else round(steps - 0.499))
        for value in (whole, exact):
            if works(knob.turned(value)):
                return knob.say(value)
    return None
