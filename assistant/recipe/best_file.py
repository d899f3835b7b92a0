"""The file of a recipe asked for in full: a lay-up or two, platens with their limits, margins, what is not known exactly.

`loopwright schema recipe` prints it with these descriptions; `loopwright recipe FILE` finds the shortest cycle.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import inf
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import Field, ValidationError, model_validator

from assistant.bench.bad_data import BadData, parse_toml, read_bytes, validate
from assistant.bench.put import put
from assistant.bench.strict import Strict
from assistant.recipe.explicit import CoolingInput, HealingInput, HeatFile, LayerInput, PlatenKind, plan_of
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Plan, PlatenPlan
from assistant.recipe.problem import Column, Problem, Side, Uncertain
from assistant.recipe.spans import Span
from assistant.recipe.stack import DRY_JOINT_M2K_W, ZERO_C_K, Stack

MOST_SETTINGS = 1_000_000


class PlatenRange(PlatenKind):
    """One platen, as in a heating given in full, with the temperatures that may be set and how far it may differ from
    its display. Give set_degC to fix it, or lowest_degC and highest_degC, or all three."""

    set_degC: float | None = Field(default=None, gt=-273, lt=2000, description="fixed set temperature")
    lowest_degC: float | None = Field(default=None, gt=-273, lt=2000, description="lowest that may be set")
    highest_degC: float | None = Field(default=None, gt=-273, lt=2000, description="highest that may be set")
    sensor_error_K: float = Field(
        default=3.0, ge=0, le=50, description="one standard deviation of the display"
    )
    sensor_lag_s: float = Field(
        default=15.0, ge=0, le=600, description="of the display behind the platen's face"
    )
    edge_deficit_K: float = Field(
        default=4.0, ge=0, le=100, description="how much colder its edges are than the middle"
    )

    @model_validator(mode="after")
    def _fixed_or_a_range(self) -> Self:
        low, high = self.lowest_degC, self.highest_degC
        if self.set_degC is None and (low is None or high is None):
            raise ValueError("lowest_degC and highest_degC are both needed, or set_degC")
        if low is not None and high is not None and low > high:
            raise ValueError(
                f"lowest_degC is {low:g} and highest_degC is {high:g}: the lowest must not be the higher"
            )
        if self.set_degC is not None and not (low or -ZERO_C_K) <= self.set_degC <= (high or 2000.0):
            raise ValueError(
                f"set_degC is {self.set_degC:g}, beyond what may be set: choose it within lowest_degC and highest_degC"
            )
        low, high = self.range_degC
        if self.start_degC is not None and self.start_degC > self.range_degC[0] and self.kind == "power":
            raise ValueError(
                "a heated platen cannot start above the lowest set temperature; lower start_degC"
            )
        return self

    @property
    def range_degC(self) -> tuple[float, float]:
        if self.set_degC is not None:
            return self.set_degC, self.set_degC
        assert self.lowest_degC is not None
        assert self.highest_degC is not None
        return self.lowest_degC, self.highest_degC


class ColumnInput(Strict):
    """One line through the lay-up where there are several: the guide, and the thin belt beside it. Each is computed as
    if it covered the platens, and all must be right under the same settings."""

    name: str = Field(min_length=1, max_length=80, description="for people")
    contact_m2K_W: float | None = Field(
        default=None, ge=0, le=10, description="its own, in place of the common one"
    )
    contacts_m2K_W: tuple[float, ...] | None = Field(
        default=None, description="or every joint for itself, one more than layers"
    )
    layers: tuple[LayerInput, ...] = Field(
        min_length=1, max_length=60, description="from the upper platen to the lower"
    )


class UncertainInput(Strict):
    """How far the worst one joint in twenty is off, to the slower side."""

    thicker_mm: float = Field(default=0.2, ge=0, le=20, description="thickness of the belt")
    conductivity_share: float = Field(
        default=0.15, ge=0, lt=0.9, description="less belt conductivity, as a share of it"
    )
    heat_capacity_share: float = Field(
        default=0.2, ge=0, le=5, description="more belt heat capacity, as a share of it"
    )
    contact_factor: float = Field(
        default=2.0, ge=1, le=50, description="contact resistance so many times as large"
    )


class BestFile(Strict):
    """A recipe asked for in full: the shortest cycle is found for it. Common keys come first, then the tables."""

    schema_version: Literal[1] = Field(default=1, description="of this file's form")
    title: str = Field(default="", max_length=200, description="for people")
    start_degC: float = Field(default=20.0, gt=-273, lt=2000, description="lay-up at the beginning")
    contact_m2K_W: float | None = Field(
        default=None, ge=0, le=10,
        description=f"contact resistance of every joint but those between two belt layers, which have none; {DRY_JOINT_M2K_W:g} if neither this nor the next is given",
    )  # fmt: skip
    contacts_m2K_W: tuple[float, ...] | None = Field(
        default=None, description="or every joint for itself, one more than layers"
    )
    fusion_degC: float | None = Field(
        default=None, gt=-273, lt=2000, description="of all belt layers that give none"
    )
    damage_degC: float | None = Field(
        default=None, gt=-273, lt=2000, description="of all belt layers that give none"
    )
    release_degC: float = Field(
        gt=-273, lt=2000, description="to which the hottest belt point is cooled under pressure"
    )
    hold_s: float = Field(
        ge=0, le=1e5, description="time the coldest belt point is held above fusion and its margin"
    )
    dwell_s: float | None = Field(
        default=None,
        ge=0,
        le=1e5,
        description="fixed dwell, from the later platen at set temperature on; found if not given",
    )
    longest_dwell_s: float = Field(default=3600.0, gt=0, le=1e5, description="longest dwell allowed")
    above_fusion_K: float = Field(
        default=5.0,
        ge=0,
        le=200,
        description="margin of the coldest point: the hold begins so much above fusion, and it settles there even at the edges and with sensors that read high",
    )
    below_damage_K: float = Field(
        default=5.0,
        ge=0,
        le=200,
        description="margin of the hottest point, with overshoot and sensors that read low",
    )
    near_damage_K: float = Field(default=10.0, gt=0, le=200, description="what counts as near damage")
    longest_near_damage_s: float = Field(
        default=1200.0, ge=0, le=1e5, description="longest time that any belt point may be near damage"
    )
    sure: float = Field(
        default=0.95, ge=0.5, le=0.999, description="share of joints that the dwell has to cover"
    )
    step_K: float = Field(
        default=1.0, ge=0.1, le=50, description="steps in which temperatures are set, from the lowest on"
    )
    dwell_step_s: float = Field(default=1.0, ge=0.1, le=600, description="steps in which the dwell is set")
    ramp_counts: bool = Field(
        default=True,
        description="whether the dwell takes what the platens warm on their way; false: as laid cold between hot platens, like the joint after a joint",
    )
    same_on_both: bool = Field(default=False, description="both platens at one temperature")
    error: float = Field(
        default=0.002, ge=1e-5, le=0.1, description="greatest numerical error of the times, as a share"
    )
    uncertain: UncertainInput = Field(default=UncertainInput(), description="how far it may be off")
    layers: tuple[LayerInput, ...] = Field(
        default=(), max_length=60, description="from the upper platen to the lower; or give columns"
    )
    columns: tuple[ColumnInput, ...] = Field(
        default=(), max_length=4, description="several lines through the lay-up, in place of layers"
    )
    upper: PlatenRange = Field(description="the upper platen")
    lower: PlatenRange = Field(description="the lower platen")
    cooling: CoolingInput | None = Field(
        default=None, description="of both platens, from the end of the dwell on"
    )
    healing: HealingInput = Field(default=HealingInput(), description="the healing model")

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if bool(self.layers) == bool(self.columns):
            raise ValueError("layers or columns are needed, and not both")
        if self.columns and self.contacts_m2K_W is not None:
            raise ValueError("contacts_m2K_W belongs to each of the columns where there are several")
        if len({column.name for column in self.columns}) < len(self.columns):
            raise ValueError("columns need different names")
        settings = 1.0
        for platen in (self.upper, self.lower):
            low, high = platen.range_degC
            settings *= (high - low) / self.step_K + 1
        if settings > MOST_SETTINGS:
            raise ValueError(
                f"step_K is so small that there are {settings:.0f} pairs of settings: make it larger or the ranges narrower"
            )
        if self.same_on_both and self.upper.range_degC != self.lower.range_degC:
            raise ValueError("same_on_both needs the same range for both platens")
        for column in self.stacks:
            try:
                self.heat(column)
            except ValidationError as error:
                told = error.errors()[0]
                where = f" (column '{column.name}')" if self.columns else ""
                raise ValueError(f"{told.get('ctx', {}).get('error', told['msg'])}{where}") from None
        return self

    @property
    def stacks(self) -> tuple[ColumnInput, ...]:
        if self.columns:
            return self.columns
        return (
            ColumnInput(
                name="lay-up",
                contact_m2K_W=self.contact_m2K_W,
                contacts_m2K_W=self.contacts_m2K_W,
                layers=self.layers,
            ),
        )

    def heat(self, column: ColumnInput) -> HeatFile:
        """One column as a heating given in full, at the highest settings. Raises: ValidationError."""
        contact = column.contact_m2K_W
        if contact is None and column.contacts_m2K_W is None:
            contact = self.contact_m2K_W
        common = ("start_degC", "fusion_degC", "damage_degC", "release_degC", "hold_s", "cooling", "healing")
        return HeatFile.model_validate(
            {
                **{key: getattr(self, key) for key in common},
                "contact_m2K_W": contact,
                "contacts_m2K_W": column.contacts_m2K_W,
                "layers": column.layers,
                **{name: _platen(getattr(self, name)) for name in ("upper", "lower")},
            }
        )


def _platen(platen: PlatenRange) -> dict[str, Any]:
    kept = {key: getattr(platen, key) for key in PlatenKind.model_fields}
    return {**kept, "set_degC": platen.range_degC[1]}


def taken(file: BestFile) -> tuple[str, ...]:
    """What the file does not say of the platens and is taken by planning values, one sentence each."""
    found = []
    for name, platen in (("upper", file.upper), ("lower", file.lower)):
        missing = [
            f"{key} {getattr(platen, key):g}"
            for key in ("sensor_error_K", "sensor_lag_s", "edge_deficit_K")
            if key not in platen.model_fields_set
        ]
        if missing:
            found.append(
                f"The file does not say it of the {name} platen: {', '.join(missing)} by planning values (judgement)."
            )
    return tuple(found)


def is_best(table: Mapping[str, object]) -> bool:
    """Whether the tables of a file ask for a recipe in full, and not for a job of catalogue items."""
    return bool({"layers", "columns"} & table.keys())


def load_best(path: Path, changes: Iterable[str] = ()) -> tuple[BestFile, Problem]:
    """The file, with what is set otherwise ('hold_s=90', 'upper.set_degC=180', 'layers.2.thickness_mm=1.4'; layers
    and columns are counted from 1), and the problem it poses, SI.

    Raises: BadData in one sentence with the line and the key.
    """
    raw = read_bytes(path)
    table = parse_toml(raw, path)
    for change in changes:
        put(table, change)
    file = validate(BestFile, table, raw, path)
    try:
        return file, problem_of(file)
    except NotComputable as refusal:
        raise BadData(f"'{path}': {refusal}") from None


def problem_of(file: BestFile) -> Problem:
    """SI of a file. Raises: NotComputable for layers that cannot be."""
    plans = [(column, plan_of(file.heat(column))) for column in file.stacks]
    unsure = file.uncertain
    first = plans[0][1]
    return Problem(
        columns=tuple(Column(column.name, _spread(plan, unsure)) for column, plan in plans),
        upper=_side(file.upper, first.upper),
        lower=_side(file.lower, first.lower),
        start_K=first.start_K,
        release_K=file.release_degC + ZERO_C_K,
        hold_s=file.hold_s,
        above_fusion_K=file.above_fusion_K,
        below_damage_K=file.below_damage_K,
        near_damage_K=file.near_damage_K,
        longest_near_damage_s=file.longest_near_damage_s,
        longest_dwell_s=file.longest_dwell_s,
        dwell_s=file.dwell_s,
        uncertain=Uncertain(unsure.thicker_mm / 1e3, unsure.contact_factor),
        sure=file.sure,
        step_K=file.step_K,
        dwell_step_s=file.dwell_step_s,
        ramp_counts=file.ramp_counts,
        alike=file.same_on_both,
        error=file.error,
        healing=first.healing,
    )


def _spread(plan: Plan, unsure: UncertainInput) -> Stack:
    """The lay-up, its layers knowing how far they may be off."""
    less, more = 1 - unsure.conductivity_share, 1 + unsure.heat_capacity_share
    layers = tuple(
        replace(layer, conductivity_span=Span(less, 1 / less), capacity_span=Span(1 / more, more))
        for layer in plan.stack.layers
    )
    return Stack(layers, plan.stack.contacts_m2K_W)


def _side(platen: PlatenRange, plan: PlatenPlan) -> Side:
    low, high = platen.range_degC
    return Side(
        plan,
        low + ZERO_C_K,
        high + ZERO_C_K,
        platen.sensor_error_K,
        platen.sensor_lag_s,
        platen.edge_deficit_K,
        *(
            without if degC is None else degC + ZERO_C_K
            for degC, without in ((platen.lowest_degC, 0.0), (platen.highest_degC, inf))
        ),
    )
