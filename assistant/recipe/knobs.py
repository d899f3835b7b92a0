"""The least change that makes what is refused work, found by trying: one thing is turned at a time, as little as will do."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import floor
from typing import Generic, TypeVar

ROUNDING = 1e-6  # of a step

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
        up = 1 if knob.best > knob.now else -1
        near = floor(up * knob.now / knob.step + ROUNDING)  # in whole steps towards the best: does not work
        far = floor(up * knob.best / knob.step + ROUNDING)
        if far <= near or not works(knob.turned(up * far * knob.step)):
            return knob.say(knob.best)
        while far - near > 1:
            middle = (near + far) // 2
            if works(knob.turned(up * middle * knob.step)):
                far = middle
            else:
                near = middle
        return knob.say(up * far * knob.step)
    return None
