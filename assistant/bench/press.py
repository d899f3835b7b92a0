"""A press: limits, heating and cooling constants, and the traits that choose the steps of the procedure."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from assistant.bench.strict import Strict

Range = tuple[float, float]


class PlatenRanges(Strict):
    """From where to where a constant may lie from one day to another; the planning value's own where not given."""

    power_W_m2: Range | None = None
    loss_W_m2K: Range | None = None
    cooling_W_m2K: Range | None = None

    @model_validator(mode="after")
    def _above_zero_and_lower_end_first(self) -> Self:
        for name, given in self:
            if given is not None and not 0 < given[0] <= given[1]:
                raise ValueError(f"{name} must be the lower and then the higher end, both above zero")
        return self


class Platen(Strict):
    """One platen and everything that is heated with it, per square metre of platen."""

    heat_capacity_J_m2K: float = Field(gt=0)  # C'' of platen, heater, half the insulation
    power_W_m2: float = Field(gt=0)
    loss_W_m2K: float = Field(ge=0)
    cooling_W_m2K: float | None = Field(default=None, gt=0)  # its own; None: the press's coefficient
    edge_deficit_K: float = Field(default=4.0, ge=0, le=40)  # edges colder than the middle at set temperature
    sensor_lag_s: float = Field(default=15.0, ge=0, le=300)
    sensor_error_K: float = Field(default=3.0, ge=0, le=30)  # one standard deviation
    ranges: PlatenRanges = PlatenRanges()

    @model_validator(mode="after")
    def _values_lie_in_their_ranges(self) -> Self:
        for name, span in self.ranges:
            value = getattr(self, name)
            if span is not None and value is not None and not span[0] <= value <= span[1]:
                raise ValueError(
                    f"{name} is {value:g} and its range in [ranges] is {span[0]:g} to {span[1]:g}"
                )
        return self


class Cooling(Strict):
    kind: Literal["none", "fan", "air", "water"]
    coefficient_W_m2K: float = Field(gt=0)
    coolant_degC: float = Field(ge=0, le=60)
    needs_supply: bool = False  # supply stays on until the hose is vented


class Press(Strict):
    """`bag_area_mm2`: effective area of the bag or hose as its maker states it, pressed on by the air.

    All of that force goes through the pressure plate into the belt (the edge bars are lower than the
    belt), so pressure on the belt = gauge pressure x bag area / (belt width x plate length).
    """

    schema_version: Literal[1] = 1
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=1)
    sayings: tuple[str, ...] = ()
    halves: Literal["hinged", "loose"]
    fastening: str = Field(min_length=3)  # 'two hand wheels', said in the step
    inner_lead: bool  # a second lead joins the halves
    pressure_from: Literal["bag", "hose"]
    heaviest_part_kg: float = Field(gt=0, le=500)
    platen_length_mm: float = Field(gt=0)  # along the belt
    platen_width_mm: float = Field(gt=0)  # across the belt
    bag_area_mm2: float = Field(gt=0)
    max_pressure_bar: float = Field(gt=0, le=10)
    max_degC: float = Field(gt=60, le=300)
    temperature_step_K: float = Field(default=1.0, gt=0)
    upper: Platen
    lower: Platen
    cooling: Cooling
    voltage_V: float = Field(gt=0)
    phases: Literal[1, 3]
    power_W: float = Field(gt=0)
    fuse_A: float = Field(gt=0)
    learned: str = ""  # said where the press is used: that its constants are not the planning values
    source: str = Field(min_length=4)
