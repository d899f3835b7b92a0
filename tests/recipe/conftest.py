"""Jobs and lay-ups for the tests of heat and recipe: the made-up belts of an orchard packing co-operative."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from assistant.bench.belt import Belt, BeltLayer, DataSheet, Guide
from assistant.bench.job import Job, Supply
from assistant.bench.material import Material
from assistant.bench.press import Cooling, Platen, Press
from assistant.bench.template import Cloth, Punch, Template
from assistant.recipe.stack import ZERO_C_K, Layer, Stack

Source = "invented for the tests"
# Conductivity W/mK, density kg/m3, heat capacity J/kgK, fusion, damage, release degC, hold s.
MATERIALS: dict[str, tuple[float, float, float, float | None, float | None, float | None, float | None]] = {
    "pvc": (0.16, 1250, 1500, 160, 200, 70, 120),
    "tpu": (0.19, 1180, 1850, 165, 205, 60, 120),
    "ply_pvc": (0.183, 1328, 1313, 160, 200, 70, 120),
    "ply_tpu": (0.196, 1300, 1436, 165, 205, 60, 120),
    "silicone": (0.22, 1180, 1400, None, None, None, None),
    "ptfe_glass": (0.25, 2150, 1000, None, None, None, None),
    "aluminium": (170, 2700, 900, None, None, None, None),
    "steel": (50, 7850, 480, None, None, None, None),
}


def _material(key: str) -> Material:
    k, rho, cp, fusion, damage, release, hold = MATERIALS[key]
    return Material(
        key=key, name=key, conductivity_W_mK=k, density_kg_m3=rho, heat_capacity_J_kgK=cp, fusion_degC=fusion,
        damage_degC=damage, release_degC=release, hold_s=hold, source=Source,
    )  # fmt: skip


@pytest.fixture(scope="session")
def layer() -> Callable[..., Layer]:
    """layer('tpu', 2.0) is 2 mm of belt; fusion and damage in degC may be given."""

    def make(key: str, mm: float, fusion: float | None = None, damage: float | None = None) -> Layer:
        k, rho, cp, fuses, damaged, _, _ = MATERIALS[key]
        if fuses is None or damaged is None:
            return Layer(mm / 1e3, k, rho, cp, name=key)
        return Layer(
            mm / 1e3, k, rho, cp, True, (fusion or fuses) + ZERO_C_K, (damage or damaged) + ZERO_C_K, key
        )

    return make


@pytest.fixture(scope="session")
def stacks(layer: Callable[..., Layer]) -> dict[str, Stack]:
    """Three lay-ups: A thin TPU, B two-ply PVC, C guided TPU in a grooved template."""

    def tpu(mm: float, key: str = "tpu") -> Layer:
        return layer(key, mm, 160, 200)

    a = (
        layer("aluminium", 3), layer("ptfe_glass", 0.15), tpu(0.4), tpu(0.4, "ply_tpu"), tpu(0.4),
        layer("ptfe_glass", 0.15), layer("aluminium", 2),
    )  # fmt: skip
    b = (
        layer("steel", 2), layer("silicone", 0.3), layer("pvc", 0.8), layer("ply_pvc", 0.7), layer("pvc", 0.2),
        layer("ply_pvc", 0.7), layer("ptfe_glass", 0.15), layer("aluminium", 4),
    )  # fmt: skip
    c = (
        layer("aluminium", 3), layer("silicone", 0.5), layer("tpu", 0.6), layer("ply_tpu", 0.4), layer("tpu", 0.2),
        layer("ply_tpu", 0.4), layer("tpu", 0.4), layer("tpu", 3), layer("ptfe_glass", 0.15), layer("aluminium", 5),
    )  # fmt: skip
    dry = (1e-4,) * 3
    return {
        "A": Stack(a, (*dry, 0, 0, *dry)),
        "B": Stack(b, (*dry, 0, 0, 0, *dry)),
        "C": Stack(c, (*dry, 0, 0, 0, 0, 0, 2e-4, 2e-4, 1e-4)),
    }


@pytest.fixture(scope="session")
def make_job() -> Callable[..., Job]:
    """A job in the shop on an ordinary portable press; belt layers as (material, mm)."""

    def make(
        layers: tuple[tuple[str, float], ...] = (("tpu", 0.6), ("ply_tpu", 0.5), ("tpu", 0.7)),
        *,
        width_mm: float = 45.0,
        guide: Guide | None = None,
        sheet: DataSheet | None = None,
        cloth_above: tuple[str, float] = ("silicone", 0.3),
        cloth_below: tuple[str, float] = ("ptfe_glass", 0.15),
        floor_mm: float = 4.0,
        plate_mm: float = 3.0,
        shop_degC: float = 20.0,
        voltage_V: float = 230.0,
        cooling: Cooling | None = None,
        upper: dict[str, float] | None = None,
        lower: dict[str, float] | None = None,
        max_degC: float = 220.0,
        max_pressure_bar: float = 3.0,
        bag_area_mm2: float = 160.0 * 45.0,
    ) -> Job:
        platen = {"heat_capacity_J_m2K": 36450.0, "power_W_m2": 12000.0, "loss_W_m2K": 8.0}
        thickness = sum(mm for _, mm in layers)
        return Job(
            technician="Ines",
            job_kind="shop",
            belt=Belt(
                key="crate_strip", name="crate strip", width_mm=width_mm, guide=guide, sheet=sheet or DataSheet(),
                layers=tuple(BeltLayer(material=key, thickness_mm=mm) for key, mm in layers), source=Source,
            ),
            press=Press(
                key="small", name="small press", halves="hinged", fastening="two wheels", inner_lead=False,
                pressure_from="bag", heaviest_part_kg=9, platen_length_mm=220, platen_width_mm=120,
                bag_area_mm2=bag_area_mm2, max_pressure_bar=max_pressure_bar, max_degC=max_degC,
                upper=Platen(**{**platen, **(upper or {})}), lower=Platen(**{**platen, **(lower or {})}),
                cooling=cooling or Cooling(kind="air", coefficient_W_m2K=60, coolant_degC=25),
                voltage_V=230, phases=1, power_W=1000, fuse_A=10, source=Source,
            ),
            template=Template(
                key="narrow", name="narrow template", material="aluminium", floor_mm=floor_mm, channel_width_mm=45.4,
                channel_depth_mm=thickness * 0.95, plate_length_mm=160, plate_mm=plate_mm, plate_material="aluminium",
                groove_depth_mm=None if guide is None else guide.height_mm,
                groove_width_mm=None if guide is None else guide.width_mm, source=Source,
            ),
            punch=Punch(key="p", name="punch", pitch_mm=11.5, length_mm=35, width_mm=100, source=Source),
            cloth_above=Cloth(key="above", name="cloth", material=cloth_above[0], thickness_mm=cloth_above[1], source=Source),
            cloth_below=Cloth(key="below", name="cloth", material=cloth_below[0], thickness_mm=cloth_below[1], source=Source),
            supply=Supply(voltage_V=voltage_V, lead_length_m=10, lead_section_mm2=2.5),
            shop_degC=shop_degC, endless_length_mm=2400, elongation_percent=0.5, new_pair=False,
            materials={key: _material(key) for key in MATERIALS},
        )  # fmt: skip

    return make
