"""Readings of one cycle as a TOML file, to be judged or learned from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Self

from pydantic import Field, model_validator

from assistant.bench.bad_data import parse_toml, read_bytes, validate
from assistant.bench.strict import Strict

ZERO_C_K = 273.15


class ReadingGiven(Strict):
    """What one display, or a thermometer at the belt's edge, showed. Without a value: what should it show?"""

    sensor: Literal["upper", "lower", "edge"]
    t_s: float
    value_degC: float | None = Field(default=None, gt=-273.15, lt=1000)


class ReadingsFile(Strict):
    """All times in seconds on one clock. at_set_s: both platens told to be at set temperature.

    date: of the cycle, ISO; said with what is learned from it.
    """

    schema_version: Literal[1] = 1
    heat_on_s: float = 0.0
    at_set_s: float | None = None
    cool_on_s: float | None = None
    date: str = Field(default="undated", pattern=r"^(undated|\d{4}-\d{2}-\d{2})$")
    readings: tuple[ReadingGiven, ...] = Field(min_length=1, max_length=2000)

    @model_validator(mode="after")
    def _times_are_in_order(self) -> Self:
        for later, what in ((self.at_set_s, "at_set_s"), (self.cool_on_s, "cool_on_s")):
            if later is not None and later <= self.heat_on_s:
                raise ValueError(f"{what} must be later than heat_on_s")
        if self.at_set_s is not None and self.cool_on_s is not None and self.cool_on_s < self.at_set_s:
            raise ValueError("cool_on_s must not be earlier than at_set_s")
        for reading in self.readings:
            if reading.t_s < self.heat_on_s:
                raise ValueError(f"a reading at {reading.t_s:g} s is earlier than heat_on_s")
        return self


@dataclass(frozen=True)
class ReadOff:
    """A reading, K; `slot` as the procedure names it."""

    slot: str
    value: float
    t_s: float
    plausible: bool = True


def read_readings(path: Path) -> ReadingsFile:
    """Raises: BadData, one sentence with file, line and key."""
    raw = read_bytes(path)
    return validate(ReadingsFile, parse_toml(raw, path), raw, path)


def with_values(given: ReadingsFile) -> tuple[ReadOff, ...]:
    """The readings that have a value, in order of time, K."""
    found = [
        ReadOff(f"{one.sensor}_reading", one.value_degC + ZERO_C_K, one.t_s)
        for one in given.readings
        if one.value_degC is not None
    ]
    return tuple(sorted(found, key=lambda one: one.t_s))
