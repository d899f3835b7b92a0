"""What past joints taught about a press: a file beside the works' own data, and how it changes the press."""

from __future__ import annotations

import json
import math
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from assistant.bench.press import Platen, Press
from assistant.bench.strict import Strict

DAY_TO_DAY = (
    0.1  # share that supply, draught and coolant change a press's constants by; engineering judgement
)

WORTH_TELLING = 0.05  # share by which a constant differs from its planning value


class Constant(Strict):
    """A fitted value with its 95 % interval."""

    value: float = Field(gt=0)
    low: float = Field(gt=0)
    high: float = Field(gt=0)

    @model_validator(mode="after")
    def _lies_in_its_interval(self) -> Self:
        if not self.low <= self.value <= self.high:
            raise ValueError(f"the value {self.value:g} must lie between low and high")
        return self

    @property
    def day_to_day(self) -> tuple[float, float]:
        """From where to where it may be in one session: the interval, and what changes from day to day, as squares."""
        down, up = (math.hypot(math.log(self.value / end), DAY_TO_DAY) for end in (self.low, self.high))
        return self.value * math.exp(-down), self.value * math.exp(up)


class LearnedPlaten(Strict):
    power_W_m2: Constant
    loss_W_m2K: Constant
    cooling_W_m2K: Constant


class LearnedPress(Strict):
    """Written by `loopwright learn`; to go back to the planning values, take the file away."""

    schema_version: Literal[1]
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")  # of the press
    sessions: int = Field(ge=1)
    readings: int = Field(ge=1)
    residual_K: float = Field(ge=0)  # root mean square of what the fit leaves
    first: str  # dates of the oldest and the latest session, ISO
    last: str
    upper: LearnedPlaten
    lower: LearnedPlaten
    drift: tuple[str, ...] = ()
    source: str = Field(min_length=4)

    @property
    def words(self) -> str:
        """One sentence to be said where the press is used."""
        plural = "s" if self.sessions != 1 else ""
        told = f"constants learned from {self.sessions} session{plural}, the latest of {self.last}"
        return f"{told}. {' '.join(self.drift)}".strip() if self.drift else f"{told}."


def taught(press: Press, learned: LearnedPress) -> Press:
    """The press with the learned constants in place of the planning values, and saying so."""

    def platen(given: Platen, found: LearnedPlaten) -> Platen:
        ranges = given.ranges | {name: constant.day_to_day for name, constant in found}
        return given.model_copy(
            update={**{name: constant.value for name, constant in found}, "ranges": ranges}
        )

    return press.model_copy(
        update={
            "upper": platen(press.upper, learned.upper),
            "lower": platen(press.lower, learned.lower),
            "learned": f"{press.name[:1].upper()}{press.name[1:]}: {learned.words} {_compared(press, learned)}",
        }
    )


def _compared(press: Press, learned: LearnedPress) -> str:
    """What the learned constants differ in from the planning values, in a sentence."""
    told = []
    for side in ("upper", "lower"):
        planned, found = getattr(press, side), getattr(learned, side)
        cooling = planned.cooling_W_m2K or press.cooling.coefficient_W_m2K
        for what, value, now in (
            ("power", planned.power_W_m2, found.power_W_m2.value),
            ("losses", planned.loss_W_m2K, found.loss_W_m2K.value),
            ("cooling", cooling, found.cooling_W_m2K.value),
        ):
            if value and abs(change := now / value - 1) >= WORTH_TELLING:
                told.append(f"{side} {what} {abs(change) * 100:.0f} % {'more' if change > 0 else 'less'}")
    if not told:
        return f"They lie within {WORTH_TELLING * 100:.0f} % of the planning values."
    return f"Against the planning values: {', '.join(told)}."


def as_toml(learned: LearnedPress) -> str:
    """The text of the file; read back it gives the same values."""
    held = learned.model_dump()
    lines = ["# Fitted by 'loopwright learn'; take the file away to go back to the planning values."]
    lines += [f"{key} = {_toml(value)}" for key, value in held.items() if not isinstance(value, dict)]
    for side in ("upper", "lower"):
        lines.append(f"\n[{side}]")
        for key, constant in held[side].items():
            inner = ", ".join(
                f"{name} = {_toml(float(f'{number:.6g}'))}" for name, number in constant.items()
            )
            lines.append(f"{key} = {{ {inner} }}")
    return "\n".join(lines) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, float):
        return repr(value)
    return json.dumps(value, ensure_ascii=True)  # a TOML basic string, a whole number or a list of strings
