"""A press: limits, heating and cooling constants, and the traits that choose the steps of the procedure."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from assistant.bench.sourced import Sourced


class Platen(Sourced):
    """One platen and everything that is heated with it, per square metre of platen.

    Ranges of power, losses and cooling make the bands of ramp, cooling and readings; the others are for the reader.
    """

    heat_capacity_J_m2K: float = Field(gt=0)  # C'' of platen, heater, half the insulation
    power_W_m2: float = Field(gt=0)
    loss_W_m2K: float = Field(ge=0)
    cooling_W_m2K: float | None = Field(default=None, gt=0)  # its own; None: the press's coefficient
    edge_deficit_K: float = Field(default=4.0, ge=0, le=40)  # edges colder than the middle at set temperature
    sensor_lag_s: float = Field(default=15.0, ge=0, le=300)
    sensor_error_K: float = Field(default=3.0, ge=0, le=30)  # one standard deviation

    def stronger(self, factor: float) -> Platen:
        """The same with so many times the power, and its range with it."""
        ranges = {
            key: (low * factor, high * factor) if key == "power_W_m2" else (low, high)
            for key, (low, high) in self.ranges.items()
        }
        return self.model_copy(update={"power_W_m2": self.power_W_m2 * factor, "ranges": ranges})


class Cooling(Sourced):
    kind: Literal["none", "fan", "air", "water"]
    coefficient_W_m2K: float = Field(gt=0)
    coolant_degC: float = Field(ge=0, le=60)
    needs_supply: bool = False  # supply stays on until the hose is vented


class Press(Sourced):
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
    opening_mm: float | None = Field(
        default=None,
        gt=0,
        le=500,
        description="thickest lay-up it closes on: belt, template, plate and cloths",
    )
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
