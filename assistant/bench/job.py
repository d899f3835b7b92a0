"""The whole job as the recipe and the procedure need it, every part present and fitting."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from assistant.bench.belt import Belt
from assistant.bench.material import Material
from assistant.bench.press import Press
from assistant.bench.strict import Strict
from assistant.bench.template import Cloth, Punch, Template


class Supply(Strict):
    voltage_V: float = Field(gt=0)
    lead_length_m: float = Field(ge=0)
    lead_section_mm2: float = Field(gt=0)
    coiled: bool = False
    lead_ohm_per_km: float | None = Field(default=None, gt=0)  # of one core at 20 degC; None: class 5 copper


class Job(Strict):
    """Built by `assistant.bench.sheet.build_job` only, after every check has passed."""

    technician: str
    job_kind: Literal["shop", "conveyor"]
    belt: Belt  # width and layers as measured, not only as catalogued
    press: Press
    template: Template
    punch: Punch
    cloth_above: Cloth
    cloth_below: Cloth
    supply: Supply
    shop_degC: float = Field(gt=-20, lt=50)
    endless_length_mm: float = Field(gt=0)  # path of the belt round its pulleys, at the neutral plane
    elongation_percent: float = Field(ge=0, lt=15)
    new_pair: bool  # belt or press not joined before: a trial joint first
    materials: dict[str, Material]  # by key: all that the stack names
    # Times as planned, for a 'what if' only: all contacts, and the belt's layers together.
    contact_factor: float = Field(default=1.0, gt=0)
    conductivity_factor: float = Field(default=1.0, gt=0)
    capacity_factor: float = Field(default=1.0, gt=0)
