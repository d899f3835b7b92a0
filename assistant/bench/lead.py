"""A lead: its section and the resistance of its cores."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from assistant.bench.sourced import Sourced


class Lead(Sourced):
    schema_version: Literal[1] = 1
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=1)
    section_mm2: float = Field(gt=0, le=1000)
    ohm_per_km: float = Field(gt=0, lt=1000, description="largest resistance of one core at 20 degC")
    source: str = Field(min_length=4)
