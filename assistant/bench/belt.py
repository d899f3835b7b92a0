"""A belt: its layers, its guide, what its data sheet allows."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from assistant.bench.strict import Strict


class BeltLayer(Strict):
    """One layer, listed from the carrying side down to the running side."""

    material: str  # key of a material
    thickness_mm: float = Field(gt=0, le=30)


class Guide(Strict):
    """A profile welded under the belt. Sections after ISO 4184 (from memory): Z 10x6, A 13x8, B 17x11 mm."""

    material: str
    width_mm: float = Field(gt=0, le=60)
    height_mm: float = Field(gt=0, le=30)
    notch_pitch_mm: float | None = Field(default=None, gt=2, le=200)  # None: not notched


class DataSheet(Strict):
    """What the supplier says. Whatever is given here overrules what is computed, and the difference is said."""

    upper_degC: float | None = Field(default=None, gt=60, lt=300)
    lower_degC: float | None = Field(default=None, gt=60, lt=300)
    dwell_s: float | None = Field(default=None, ge=0, lt=3600)
    pressure_bar: float | None = Field(default=None, gt=0, lt=10)
    release_degC: float | None = Field(default=None, gt=20, lt=120)
    max_degC: float | None = Field(default=None, gt=60, lt=300)
    max_pressure_bar: float | None = Field(default=None, gt=0, lt=20)
    k1_N_per_mm: float | None = Field(default=None, gt=0, lt=500)  # pull per mm width at 1 % (ISO 21181)
    elongation_min_percent: float = Field(default=0.2, ge=0, lt=10)
    elongation_max_percent: float = Field(default=1.0, gt=0, lt=15)
    smallest_pulley_mm: float | None = Field(default=None, gt=0, lt=2000)


class Belt(Strict):
    schema_version: Literal[1] = 1
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=1)
    sayings: tuple[str, ...] = ()
    layers: tuple[BeltLayer, ...] = Field(min_length=1)
    width_mm: float = Field(gt=0, le=4000)
    guide: Guide | None = None
    sheet: DataSheet = DataSheet()
    source: str = Field(min_length=4)

    @property
    def thickness_mm(self) -> float:
        """Without the guide."""
        return sum(layer.thickness_mm for layer in self.layers)

    @property
    def guided(self) -> bool:
        return self.guide is not None

    @property
    def notched(self) -> bool:
        return self.guide is not None and self.guide.notch_pitch_mm is not None
