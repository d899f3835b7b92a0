"""Templates and punches: what holds the ends in line, what cuts the fingers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from assistant.bench.sourced import Sourced


class Template(Sourced):
    """A plate with a channel of the belt's width and, for guided belts, a groove."""

    schema_version: Literal[1] = 1
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=1)
    sayings: tuple[str, ...] = ()
    material: str  # of the floor under the belt
    floor_mm: float = Field(gt=0)  # thickness under the belt (under the groove for guided ones)
    channel_width_mm: float = Field(gt=0)
    channel_depth_mm: float = Field(gt=0)  # height of the edge bars; a little lower than the belt
    groove_width_mm: float | None = Field(default=None, gt=0)
    groove_depth_mm: float | None = Field(default=None, gt=0)
    tooth_pitch_mm: float | None = Field(default=None, gt=0)
    plate_length_mm: float = Field(gt=0)  # pressure plate along the belt
    plate_mm: float = Field(gt=0)  # thickness of the pressure plate above
    plate_material: str
    source: str = Field(min_length=4)


class Punch(Sourced):
    schema_version: Literal[1] = 1
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=1)
    sayings: tuple[str, ...] = ()
    pitch_mm: float = Field(gt=0)
    length_mm: float = Field(gt=0)
    width_mm: float = Field(gt=0)  # widest belt it cuts
    source: str = Field(min_length=4)


class Cloth(Sourced):
    """Release cloth; its material gives the heat properties."""

    schema_version: Literal[1] = 1
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=1)
    sayings: tuple[str, ...] = ()
    material: str
    thickness_mm: float = Field(gt=0, le=5)
    source: str = Field(min_length=4)
