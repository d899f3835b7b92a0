"""A table of a data file whose single values can say where they come from and how far they may be off."""

from __future__ import annotations

from math import inf
from typing import Self

from pydantic import Field, model_validator

from assistant.bench.strict import Strict

Range = tuple[float, float]

_ABOUT_THE_ITEM = {"schema_version", "key", "name", "sayings", "source", "learned", "ranges", "sources"}


class Sourced(Strict):
    """`[ranges]` and `[sources]` name values of the table they stand in, by key."""

    ranges: dict[str, Range] = Field(
        default={},
        description="from where to where a value may lie, by its key: power_W_m2 = [9800.0, 18200.0]",
    )
    sources: dict[str, str] = Field(
        default={}, description="where a single value comes from, by its key; else the source of the whole"
    )

    @model_validator(mode="after")
    def _are_about_values_of_this_table(self) -> Self:
        fields = type(self).model_fields
        for key in (*self.ranges, *self.sources):
            if key not in fields or key in _ABOUT_THE_ITEM:
                raise ValueError(f"{key} in [ranges] or [sources] is no value of this table")
        for key, text in self.sources.items():
            if len(text) < 4:
                raise ValueError(f"{key} has no source in [sources]: write where it comes from")
        for key, (low, high) in self.ranges.items():
            value = getattr(self, key)
            least = max(
                (float(rule.gt) for rule in fields[key].metadata if hasattr(rule, "gt")), default=-inf
            )
            if not least < low <= high:
                above = f", both above {least:g}" if least > -inf else ""
                raise ValueError(f"{key} in [ranges] must be the lower and then the higher end{above}")
            if isinstance(value, str | bool | tuple) or (value is not None and not low <= value <= high):
                raise ValueError(f"{key} is {value} and its range in [ranges] is {low:g} to {high:g}")
        return self
