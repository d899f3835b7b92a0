"""The file of a heating given in full: layers, joints, platens, cooling, limits. Strict; units are in the keys.

`loopwright schema heat` prints it with these descriptions; `loopwright heat FILE` computes it.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Literal, Self

from pydantic import Field, model_validator

from assistant.bench.bad_data import BadData, parse_toml, read_bytes, validate
from assistant.bench.strict import Strict
from assistant.recipe.conduction import Driven
from assistant.recipe.healing import Reptation
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Cooling, Plan, PlatenPlan
from assistant.recipe.stack import DRY_JOINT_M2K_W, ZERO_C_K, Layer, Stack


class LayerInput(Strict):
    """One layer; the layers are listed from the upper platen to the lower."""

    name: str = Field(default="", max_length=80, description="for people")
    thickness_mm: float = Field(gt=0, le=200, description="thickness")
    conductivity_W_mK: float = Field(gt=0, le=5000, description="thermal conductivity across the layer")
    density_kg_m3: float = Field(gt=0, le=30000, description="density")
    heat_capacity_J_kgK: float = Field(gt=0, le=20000, description="specific heat capacity, without melting")
    latent_heat_J_kg: float = Field(
        default=0.0, ge=0, le=1e6, description="heat of melting; needs melting_degC"
    )
    melting_degC: tuple[float, float] | None = Field(
        default=None, description="band over which it melts, lower first"
    )
    belt: bool = Field(default=False, description="true for a layer of the belt: these are judged")
    fusion_degC: float | None = Field(
        default=None, gt=-273, lt=2000, description="this layer's own, in place of the common one"
    )
    damage_degC: float | None = Field(
        default=None, gt=-273, lt=2000, description="this layer's own, in place of the common one"
    )

    @model_validator(mode="after")
    def _latent_heat_has_its_band(self) -> Self:
        if (self.latent_heat_J_kg > 0) != (self.melting_degC is not None):
            raise ValueError("latent_heat_J_kg and melting_degC belong together: give both or neither")
        if self.melting_degC is not None and not -ZERO_C_K < self.melting_degC[0] < self.melting_degC[1]:
            raise ValueError("melting_degC must be the lower and then the higher end of the melting band")
        return self


class CoolingInput(Strict):
    """How a platen cools from the end of the dwell on: tau_s, or coefficient_W_m2K with a platen of kind power."""

    coolant_degC: float = Field(gt=-273, lt=2000, description="what it cools towards")
    tau_s: float | None = Field(default=None, gt=0, le=1e6, description="time constant of the platen's face")
    coefficient_W_m2K: float | None = Field(default=None, gt=0, le=1e6, description="loss to the coolant")

    @model_validator(mode="after")
    def _one_law(self) -> Self:
        if (self.tau_s is None) == (self.coefficient_W_m2K is None):
            raise ValueError("cooling needs either tau_s or coefficient_W_m2K, and not both")
        return self


class PlatenKind(Strict):
    """How a platen gets to its set temperature, and how it cools."""

    kind: Literal["ramp", "hot", "power"] = Field(description="how it gets to its set temperature")
    start_degC: float | None = Field(
        default=None, gt=-273, lt=2000, description="at the beginning; as the lay-up if not given"
    )
    rate_K_min: float | None = Field(default=None, gt=0, le=1e5, description="ramp only: kelvin a minute")
    capacity_J_m2K: float | None = Field(
        default=None, gt=0, le=1e9, description="power only: C'' of platen and what heats with it"
    )
    power_W_m2: float | None = Field(
        default=None, gt=0, le=1e7, description="power only: greatest heating power"
    )
    loss_W_m2K: float | None = Field(
        default=None, ge=0, le=1e5, description="power only: loss to the surroundings"
    )
    ambient_degC: float | None = Field(
        default=None,
        gt=-273,
        lt=2000,
        description="power only: surroundings; as the lay-up's start if not given",
    )
    cooling: CoolingInput | None = Field(default=None, description="its own, in place of the common one")

    @model_validator(mode="after")
    def _what_its_kind_needs(self) -> Self:
        needs = {
            "ramp": {"rate_K_min"},
            "hot": set[str](),
            "power": {"capacity_J_m2K", "power_W_m2", "loss_W_m2K"},
        }
        may = {"ramp": {"start_degC"}, "hot": set[str](), "power": {"start_degC", "ambient_degC"}}
        for key in ("start_degC", "rate_K_min", "capacity_J_m2K", "power_W_m2", "loss_W_m2K", "ambient_degC"):
            given = getattr(self, key) is not None
            if key in needs[self.kind] and not given:
                raise ValueError(f"a platen of kind '{self.kind}' needs the key '{key}'")
            if given and key not in needs[self.kind] | may[self.kind]:
                raise ValueError(f"a platen of kind '{self.kind}' has no key '{key}'")
        return self


class PlatenInput(PlatenKind):
    """One platen. ramp: its face rises at rate_K_min; hot: at set_degC when the lay-up is closed; power: its
    heater gives power_W_m2 until it is at set_degC, then whatever holds it."""

    set_degC: float = Field(gt=-273, lt=2000, description="set temperature")

    @model_validator(mode="after")
    def _starts_below(self) -> Self:
        if self.kind == "power" and self.start_degC is not None and self.start_degC > self.set_degC:
            raise ValueError("a heated platen cannot start above its set temperature; lower start_degC")
        return self


class HealingInput(Strict):
    """Constants of the healing model; illustrative unless measured for the belt."""

    t_ref_s: float = Field(default=60.0, gt=0, le=1e9, description="time to heal wholly at at_degC")
    at_degC: float = Field(default=180.0, gt=-200, lt=2000, description="reference temperature")
    activation_J_mol: float = Field(default=100e3, ge=0, le=1e6, description="activation energy")


class HeatFile(Strict):
    """A heating given in full. Common keys come first, then the tables."""

    schema_version: Literal[1] = Field(default=1, description="of this file's form")
    title: str = Field(default="", max_length=200, description="for people")
    start_degC: float = Field(default=20.0, gt=-273, lt=2000, description="lay-up at the beginning")
    contact_m2K_W: float | None = Field(
        default=None, ge=0, le=10,
        description=f"contact resistance of every joint but those between two belt layers, which have none; {DRY_JOINT_M2K_W:g} if neither this nor the next is given",
    )  # fmt: skip
    contacts_m2K_W: tuple[float, ...] | None = Field(
        default=None,
        description="or every joint for itself, one more than layers: platen to first layer, …, last layer to platen",
    )
    fusion_degC: float | None = Field(default=None, gt=-273, lt=2000, description="of all belt layers")
    damage_degC: float | None = Field(default=None, gt=-273, lt=2000, description="of all belt layers")
    release_degC: float | None = Field(
        default=None, gt=-273, lt=2000, description="to which everything is cooled; needs cooling"
    )
    hold_s: float = Field(
        default=0.0, ge=0, le=1e6, description="time the coldest belt point is to be above fusion"
    )
    dwell_s: float | None = Field(
        default=None,
        ge=0,
        le=1e6,
        description="from the later platen at set temperature on; as long as needed if not given",
    )
    times_s: tuple[float, ...] = Field(
        default=(), max_length=2000, description="from the beginning: when temperatures are wanted"
    )
    points_mm: tuple[float, ...] = Field(
        default=(),
        max_length=200,
        description="depths below the lay-up's upper face whose temperatures are wanted too; at a joint, that of the layer below it",
    )
    error: float = Field(
        default=0.002, ge=1e-5, le=0.1, description="greatest numerical error of the times, as a share"
    )
    layers: tuple[LayerInput, ...] = Field(
        min_length=1, max_length=60, description="from the upper platen to the lower"
    )
    upper: PlatenInput = Field(description="the upper platen")
    lower: PlatenInput = Field(description="the lower platen")
    cooling: CoolingInput | None = Field(
        default=None, description="of both platens, from the end of the dwell on"
    )
    healing: HealingInput = Field(default=HealingInput(), description="the healing model")

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if self.contact_m2K_W is not None and self.contacts_m2K_W is not None:
            raise ValueError("give contact_m2K_W for all joints or contacts_m2K_W for each, not both")
        if self.contacts_m2K_W is not None:
            if len(self.contacts_m2K_W) != len(self.layers) + 1:
                raise ValueError(
                    f"contacts_m2K_W lists {len(self.contacts_m2K_W)} joints, but {len(self.layers)} layers have {len(self.layers) + 1}, both platens included"
                )
            if any(not 0 <= joint <= 10 for joint in self.contacts_m2K_W):
                raise ValueError("each of contacts_m2K_W must lie between 0 and 10")
        if any(not 0 <= moment <= 1e7 for moment in self.times_s):
            raise ValueError("each of times_s must lie between 0 and 1e7")
        whole_mm = sum(layer.thickness_mm for layer in self.layers)
        if any(not 0 <= depth <= whole_mm * (1 + 1e-9) for depth in self.points_mm):
            raise ValueError(f"each of points_mm must lie between 0 and {whole_mm:g}, the lay-up's thickness")
        belt = [layer for layer in self.layers if layer.belt]
        if not belt:
            raise ValueError("no layer is marked 'belt = true', so there is nothing to weld")
        for key in ("fusion_degC", "damage_degC"):
            if getattr(self, key) is None and any(getattr(layer, key) is None for layer in belt):
                raise ValueError(
                    f"the key '{key}' is missing: give it for all belt layers or in each of them"
                )
        for name, platen in (("upper", self.upper), ("lower", self.lower)):
            law = platen.cooling or self.cooling
            if law is None and self.release_degC is not None:
                raise ValueError(f"release_degC is given but no cooling for the {name} platen")
            if law is not None and law.coefficient_W_m2K is not None and platen.kind != "power":
                raise ValueError(
                    f"coefficient_W_m2K cools a platen of known capacity only: the {name} one is of kind '{platen.kind}', so give tau_s"
                )
        return self


def load_heat(path: Path) -> tuple[HeatFile, Plan]:
    """The file, and what it plans, SI. Raises: BadData in one sentence with the line and the key."""
    raw = read_bytes(path)
    file = validate(HeatFile, parse_toml(raw, path), raw, path)
    try:
        return file, plan_of(file)
    except NotComputable as refusal:
        raise BadData(f"'{path}': {refusal}") from None


def plan_of(file: HeatFile) -> Plan:
    """SI of a file. Raises: NotComputable for layers that cannot be, such as fusion above damage."""
    layers = tuple(_layer(file, index, layer) for index, layer in enumerate(file.layers, start=1))
    contacts = file.contacts_m2K_W
    if contacts is None:
        dry = DRY_JOINT_M2K_W if file.contact_m2K_W is None else file.contact_m2K_W
        inside = [a.belt and b.belt for a, b in pairwise(file.layers)]
        contacts = (dry, *(0.0 if welded else dry for welded in inside), dry)
    return Plan(
        Stack(layers, contacts),
        _platen(file, file.upper),
        _platen(file, file.lower),
        file.start_degC + ZERO_C_K,
        file.hold_s,
        file.dwell_s,
        None if file.release_degC is None else file.release_degC + ZERO_C_K,
        file.times_s,
        tuple(depth / 1e3 for depth in file.points_mm),
        Reptation(file.healing.t_ref_s, file.healing.at_degC + ZERO_C_K, file.healing.activation_J_mol),
    )


def _layer(file: HeatFile, index: int, layer: LayerInput) -> Layer:
    def limit(own: float | None, common: float | None) -> float | None:
        found = common if own is None else own
        return found + ZERO_C_K if layer.belt and found is not None else None

    band = layer.melting_degC or (-ZERO_C_K, -ZERO_C_K)
    return Layer(
        layer.thickness_mm / 1e3, layer.conductivity_W_mK, layer.density_kg_m3, layer.heat_capacity_J_kgK, layer.belt,
        limit(layer.fusion_degC, file.fusion_degC), limit(layer.damage_degC, file.damage_degC),
        layer.name or f"layer {index}", layer.latent_heat_J_kg, band[0] + ZERO_C_K, band[1] + ZERO_C_K,
    )  # fmt: skip


def _platen(file: HeatFile, platen: PlatenInput) -> PlatenPlan:
    def kelvin(degC: float | None) -> float:
        return (file.start_degC if degC is None else degC) + ZERO_C_K

    law = platen.cooling or file.cooling
    driven = None
    if platen.kind == "power":
        assert platen.capacity_J_m2K is not None
        assert platen.power_W_m2 is not None
        assert platen.loss_W_m2K is not None
        driven = Driven(
            platen.capacity_J_m2K, platen.power_W_m2, platen.loss_W_m2K, kelvin(platen.ambient_degC)
        )
    return PlatenPlan(
        platen.set_degC + ZERO_C_K,
        platen.set_degC + ZERO_C_K if platen.kind == "hot" else kelvin(platen.start_degC),
        None if platen.rate_K_min is None else platen.rate_K_min / 60,
        driven,
        None if law is None else Cooling(law.coolant_degC + ZERO_C_K, law.tau_s, law.coefficient_W_m2K),
    )
