"""A material as the heat computation sees it. Defaults for planning: the supplier's data sheet overrules."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from assistant.bench.sourced import Range
from assistant.bench.strict import Strict


class Ranges(Strict):
    """What other sources and grades give for a value, from and to, where that is known."""

    conductivity_W_mK: Range | None = None
    density_kg_m3: Range | None = None
    heat_capacity_J_kgK: Range | None = None
    latent_heat_J_kg: Range | None = None
    fusion_degC: Range | None = None
    damage_degC: Range | None = None

    @model_validator(mode="after")
    def _lower_end_first(self) -> Self:
        for name, given in self:
            if given is not None and not given[0] <= given[1]:
                raise ValueError(f"{name} must be the lower and then the higher end")
        return self


class Sources(Strict):
    """Where a single value comes from, where that is told apart from the source of the whole."""

    conductivity_W_mK: str | None = None
    density_kg_m3: str | None = None
    heat_capacity_J_kgK: str | None = None
    latent_heat_J_kg: str | None = None
    fusion_degC: str | None = None
    damage_degC: str | None = None
    release_degC: str | None = None
    hold_s: str | None = None
    window_degC: str | None = None
    target_pressure_bar: str | None = None


class Material(Strict):
    """Thermal properties. Units are in the names; conductivity across the sheet."""

    schema_version: Literal[1] = 1
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=1)
    sayings: tuple[str, ...] = ()
    fabric: bool = False  # a ply of fibre in its matrix: keeps its thickness, its fibres do not melt
    conductivity_W_mK: float = Field(gt=0, lt=1000)
    density_kg_m3: float = Field(gt=0, lt=30000)
    heat_capacity_J_kgK: float = Field(gt=0, lt=10000)
    latent_heat_J_kg: float | None = Field(default=None, gt=0, lt=400e3)  # of melting, over the band below
    melting_degC: tuple[float, float] | None = None  # from and to
    fusion_degC: float | None = Field(default=None, gt=40, lt=300)
    damage_degC: float | None = Field(default=None, gt=60, lt=400)
    release_degC: float | None = Field(default=None, gt=20, lt=120)  # highest at which pressure may go
    hold_s: float | None = Field(default=None, gt=0, lt=1800)  # time above fusion at the coldest point
    window_degC: tuple[float, float] | None = None  # usual set temperatures
    target_pressure_bar: float | None = Field(default=None, gt=0, lt=10)  # on the belt, not at the gauge
    source: str = Field(min_length=4)
    cautions: tuple[str, ...] = ()
    ranges: Ranges = Ranges()
    sources: Sources = Sources()

    @model_validator(mode="after")
    def _fusion_lies_below_damage(self) -> Self:
        if (
            self.fusion_degC is not None
            and self.damage_degC is not None
            and self.fusion_degC >= self.damage_degC
        ):
            raise ValueError(
                f"fusion_degC: fusion {self.fusion_degC} °C must lie below damage {self.damage_degC} °C"
            )
        return self

    @model_validator(mode="after")
    def _latent_heat_has_its_band(self) -> Self:
        if (self.latent_heat_J_kg is None) != (self.melting_degC is None):
            raise ValueError("latent_heat_J_kg and melting_degC belong together: give both or neither")
        if self.melting_degC is not None and not self.melting_degC[0] < self.melting_degC[1]:
            raise ValueError("melting_degC must be the lower and then the higher end of the melting band")
        if (
            self.melting_degC is not None
            and self.fusion_degC is not None
            and self.melting_degC[1] > self.fusion_degC
        ):
            raise ValueError(
                f"melting_degC ends at {self.melting_degC[1]:g} °C, above fusion_degC {self.fusion_degC:g} °C: it does "
                "not fuse before it has melted"
            )
        return self

    @model_validator(mode="after")
    def _values_lie_in_their_ranges(self) -> Self:
        for name, span in self.ranges:
            value = getattr(self, name)
            if span is not None and (value is None or not span[0] <= value <= span[1]):
                raise ValueError(f"{name} is {value} and its range in [ranges] is {span[0]:g} to {span[1]:g}")
        return self
