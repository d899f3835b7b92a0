"""The lay-up between the platens as the heat computation sees it: layers and the joints between them.

One dimension, from the upper platen down. Sideways conduction is left out: for a guide in its groove
that errs on the late side for fusion, and the thin belt beside it is looked at by `stack_beside`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.bench.job import Job
from assistant.bench.material import Material
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.spans import (
    CAPACITY,
    CONDUCTIVITY,
    LATENT,
    Span,
    capacity_span,
    conductivity_span,
    latent_span,
)

ZERO_C_K = 273.15
DRY_JOINT_M2K_W = 1e-4  # engineering judgement; most measured joints fall in 5e-6 to 5e-4
GROOVE_JOINT_M2K_W = 2e-4  # where a guide sits in a groove


@dataclass(frozen=True)
class Layer:
    """One layer; conductivity is that across the sheet. Fusion and damage are known for belt layers only.

    latent_J_kg: heat taken up on melting between `melts_from_K` and `melts_to_K`, evenly over that band, and
    given back on cooling over the same band; 0 where there is none or none is known.
    The spans say how far conductivity, heat capacity and latent heat may be off.
    Raises: NotComputable when a thickness or property is not positive, fusion is not below damage, or
    latent heat has no band.
    """

    thickness_m: float
    conductivity_W_mK: float
    density_kg_m3: float
    heat_capacity_J_kgK: float
    is_belt: bool = False
    fusion_K: float | None = None
    damage_K: float | None = None
    name: str = "layer"
    latent_J_kg: float = 0.0
    melts_from_K: float = 0.0
    melts_to_K: float = 0.0
    conductivity_span: Span = CONDUCTIVITY
    capacity_span: Span = CAPACITY
    latent_span: Span = LATENT

    def __post_init__(self) -> None:
        for what, value in (
            ("thickness", self.thickness_m),
            ("conductivity", self.conductivity_W_mK),
            ("density", self.density_kg_m3),
            ("heat capacity", self.heat_capacity_J_kgK),
        ):
            if not 0 < value < float("inf"):
                raise NotComputable(
                    f"The {what} of the {self.name} is {value:g}; it must be above zero. Correct it."
                )
        if self.fusion_K is not None and self.damage_K is not None and self.fusion_K >= self.damage_K:
            raise NotComputable(
                f"The {self.name} would fuse at {self.fusion_K - ZERO_C_K:.0f} °C but be damaged at "
                f"{self.damage_K - ZERO_C_K:.0f} °C; fusion must lie below damage. Correct the material."
            )
        if not 0 <= self.latent_J_kg < float("inf"):
            raise NotComputable(
                f"The latent heat of the {self.name} is {self.latent_J_kg:g} J/kg; give zero or more."
            )
        if self.latent_J_kg and not 0 < self.melts_from_K < self.melts_to_K:
            raise NotComputable(
                f"The {self.name} has latent heat, so it needs the two temperatures between which it melts, the lower first."
            )

    @property
    def heat_per_K_J_m2K(self) -> float:
        return self.density_kg_m3 * self.heat_capacity_J_kgK * self.thickness_m

    @property
    def diffusivity_m2_s(self) -> float:
        return self.conductivity_W_mK / (self.density_kg_m3 * self.heat_capacity_J_kgK)


@dataclass(frozen=True)
class Stack:
    """Layers from the upper platen to the lower, and the contact resistance above, between and below them."""

    layers: tuple[Layer, ...]
    contacts_m2K_W: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.layers or len(self.contacts_m2K_W) != len(self.layers) + 1:
            raise NotComputable(
                f"A lay-up of {len(self.layers)} layers needs {len(self.layers) + 1} joints, "
                f"not {len(self.contacts_m2K_W)}. List every joint, both platens included."
            )
        if any(not 0 <= resistance < float("inf") for resistance in self.contacts_m2K_W):
            raise NotComputable("A contact resistance is below zero; give zero or more.")

    @property
    def belt(self) -> tuple[Layer, ...]:
        return tuple(layer for layer in self.layers if layer.is_belt)

    @property
    def belt_thickness_m(self) -> float:
        return sum(layer.thickness_m for layer in self.belt)

    @property
    def heat_per_K_J_m2K(self) -> float:
        return sum(layer.heat_per_K_J_m2K for layer in self.layers)

    def mirrored(self) -> Stack:
        return Stack(self.layers[::-1], self.contacts_m2K_W[::-1])

    def changed(
        self,
        *,
        belt_thicker_m: float = 0.0,
        contact_factor: float = 1.0,
        conductivity_factor: float = 1.0,
        capacity_factor: float = 1.0,
    ) -> Stack:
        """The same lay-up with a belt that is thicker (all belt layers in proportion), or with other
        contact, belt conductivity or belt heat capacity."""
        grown = 1 + belt_thicker_m / self.belt_thickness_m
        layers = tuple(
            replace(
                layer,
                thickness_m=layer.thickness_m * grown,
                conductivity_W_mK=layer.conductivity_W_mK * conductivity_factor,
                heat_capacity_J_kgK=layer.heat_capacity_J_kgK * capacity_factor,
            )
            if layer.is_belt
            else layer
            for layer in self.layers
        )
        return Stack(layers, tuple(resistance * contact_factor for resistance in self.contacts_m2K_W))

    def off(self, *, conductivity: float = 0.0, capacity: float = 0.0) -> Stack:
        """The same lay-up with all belt layers off together, each by its own span.

        Args: times as far as the one in twenty is: conductivity downwards, heat capacity and latent heat upwards;
        below zero the other way.
        """
        layers = tuple(
            replace(
                layer,
                conductivity_W_mK=layer.conductivity_W_mK * layer.conductivity_span.at(-conductivity),
                heat_capacity_J_kgK=layer.heat_capacity_J_kgK * layer.capacity_span.at(capacity),
                latent_J_kg=layer.latent_J_kg * layer.latent_span.at(capacity),
            )
            if layer.is_belt
            else layer
            for layer in self.layers
        )
        return Stack(layers, self.contacts_m2K_W)


@dataclass(frozen=True)
class Sheet:
    """Conductivity, density and heat capacity of a sheet."""

    conductivity_W_mK: float
    density_kg_m3: float
    heat_capacity_J_kgK: float


def homogenise(fibre: Sheet, matrix: Sheet, fraction: float) -> Sheet:
    """A fabric ply filled with its matrix, as one sheet.

    Args: fraction: volume of fibre in the whole, 0 to 1.
    Raises: NotComputable outside that range.
    Source: mixture rule for density and heat; geometric mean for conductivity (judgement).
    """
    if not 0 <= fraction <= 1:
        raise NotComputable(f"The fibre fraction is {fraction:g}; it must lie between 0 and 1. Correct it.")
    rest = 1 - fraction
    density = fraction * fibre.density_kg_m3 + rest * matrix.density_kg_m3
    heat = (
        fraction * fibre.density_kg_m3 * fibre.heat_capacity_J_kgK
        + rest * matrix.density_kg_m3 * matrix.heat_capacity_J_kgK
    )
    return Sheet(fibre.conductivity_W_mK**fraction * matrix.conductivity_W_mK**rest, density, heat / density)


def stack_of(job: Job) -> Stack:
    """The line that heats last: through the guide, if the belt has one.

    Raises: NotComputable when the job names a material it does not bring, or a belt layer has no fusion
    or damage temperature.
    """
    belt = [_layer(job, layer.material, layer.thickness_mm, belt=True) for layer in job.belt.layers]
    if job.belt.guide is None:
        return _lay_up(job, belt, job.template.floor_mm, DRY_JOINT_M2K_W)
    guide = _layer(job, job.belt.guide.material, job.belt.guide.height_mm, belt=True)
    return _lay_up(job, [*belt, guide], job.template.floor_mm, GROOVE_JOINT_M2K_W)


def stack_beside(job: Job) -> Stack | None:
    """The thin belt beside the guide, which sits longest at heat; None for a belt without guide."""
    guide = job.belt.guide
    if guide is None:
        return None
    belt = [_layer(job, layer.material, layer.thickness_mm, belt=True) for layer in job.belt.layers]
    groove_mm = job.template.groove_depth_mm or guide.height_mm
    return _lay_up(job, belt, job.template.floor_mm + groove_mm, DRY_JOINT_M2K_W)


def _lay_up(job: Job, belt: list[Layer], floor_mm: float, lower_joint_m2K_W: float) -> Stack:
    template = job.template
    layers = (
        _layer(job, template.plate_material, template.plate_mm),
        _layer(job, job.cloth_above.material, job.cloth_above.thickness_mm),
        *belt,
        _layer(job, job.cloth_below.material, job.cloth_below.thickness_mm),
        _layer(job, template.material, floor_mm),
    )
    above = (DRY_JOINT_M2K_W,) * 3
    below = (lower_joint_m2K_W, lower_joint_m2K_W, DRY_JOINT_M2K_W)
    return Stack(layers, (*above, *(0.0,) * (len(belt) - 1), *below)).changed(
        contact_factor=job.contact_factor,
        conductivity_factor=job.conductivity_factor,
        capacity_factor=job.capacity_factor,
    )


def _layer(job: Job, key: str, thickness_mm: float, *, belt: bool = False) -> Layer:
    material = job.materials.get(key)
    if material is None:
        raise NotComputable(
            f"The job names the material '{key}' but brings no data for it. Add it to the materials."
        )
    if belt and (material.fusion_degC is None or material.damage_degC is None):
        raise NotComputable(
            f"The belt layer of {material.name} has no fusion or damage temperature. Ask the supplier and add both."
        )
    melts_from_degC, melts_to_degC = material.melting_degC or (-ZERO_C_K, -ZERO_C_K)
    return Layer(
        thickness_mm / 1000,
        material.conductivity_W_mK,
        material.density_kg_m3,
        material.heat_capacity_J_kgK,
        belt,
        _kelvin(material.fusion_degC) if belt else None,
        _kelvin(material.damage_degC) if belt else None,
        material.name,
        material.latent_heat_J_kg or 0.0,
        melts_from_degC + ZERO_C_K,
        melts_to_degC + ZERO_C_K,
        conductivity_span(material),
        capacity_span(material),
        latent_span(material),
    )


def belt_materials(job: Job) -> tuple[Material, ...]:
    """Materials of the belt's layers and guide, each once, in order. Raises: KeyError for an unknown one."""
    keys = [layer.material for layer in job.belt.layers]
    if job.belt.guide is not None:
        keys.append(job.belt.guide.material)
    return tuple(job.materials[key] for key in dict.fromkeys(keys))


def _kelvin(degC: float | None) -> float | None:
    return None if degC is None else degC + ZERO_C_K
