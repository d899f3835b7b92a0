"""The path of a belt round its pulleys as a TOML file."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field

from assistant.bench.bad_data import parse_toml, read_bytes, validate
from assistant.bench.strict import Strict
from assistant.recipe.path import Pulley


class PulleyGiven(Strict):
    """One pulley. inside: the belt's running side touches it; outside: its carrying side does."""

    x_mm: float = Field(ge=-1e6, le=1e6)
    y_mm: float = Field(ge=-1e6, le=1e6)
    diameter_mm: float = Field(gt=0, le=5000)
    side: Literal["inside", "outside"] = "inside"


class PathFile(Strict):
    """Pulleys in running order, either way round. What is left out here may be given as an option."""

    schema_version: Literal[1] = 1
    thickness_mm: float | None = Field(default=None, ge=0, le=50, description="of the belt, without guide")
    neutral_mm: float | None = Field(
        default=None,
        ge=0,
        le=50,
        description="neutral plane above the running side; half the thickness if not given",
    )
    crossed: bool = Field(default=False, description="true where the belt is meant to cross itself")
    elongation_percent: float | None = Field(default=None, ge=0, le=20)
    elongation_range_percent: tuple[float, float] | None = Field(
        default=None, description="what the belt allows"
    )
    notch_pitch_mm: float | None = Field(default=None, gt=0, le=1000)
    finger_mm: float | None = Field(default=None, gt=0, le=1000, description="finger length")
    trim_mm: float | None = Field(default=None, ge=0, le=1000, description="taken off each end afterwards")
    tolerance_mm: float | None = Field(
        default=None, ge=0, le=1000, description="of the endless length, either way"
    )
    pulleys: tuple[PulleyGiven, ...] = Field(min_length=2, max_length=200)

    def in_metres(self) -> tuple[Pulley, ...]:
        return tuple(
            Pulley(one.x_mm / 1e3, one.y_mm / 1e3, one.diameter_mm / 1e3, 1 if one.side == "inside" else -1)
            for one in self.pulleys
        )


def read_path(path: Path) -> PathFile:
    """Raises: BadData, one sentence with file, line and key."""
    raw = read_bytes(path)
    return validate(PathFile, parse_toml(raw, path), raw, path)
