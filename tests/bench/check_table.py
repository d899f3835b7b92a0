"""Every check value of heat, press stacks, healing and pressure beside the computed one: `python tests/bench/check_table.py`.

Expected values: the series of Carslaw & Jaeger and the error function (analytic), composite slabs by transfer
matrices, worked press stacks by finite volumes, transfer matrices and scikit-fem (peer library). The last
column is the error in per cent where the value has a scale of its own, else in its own unit.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from assistant.recipe.answer import Answer, answer
from assistant.recipe.conduction import Conduction, Follows
from assistant.recipe.explicit import HeatFile, plan_of
from assistant.recipe.healing import Reptation, degree
from assistant.recipe.plan import Plan, PlanRun, PlatenPlan
from assistant.recipe.plan_exact import fine_enough
from assistant.recipe.pressure import belt_pressure
from assistant.recipe.run import Run, first_time_ever
from assistant.recipe.stack import ZERO_C_K, Layer, Sheet, Stack, homogenise

PVC, TPU = (0.16, 1250, 1500), (0.19, 1180, 1850)
PROPERTIES = {
    "pvc": PVC, "tpu": TPU, "ply_pvc": (0.183, 1328, 1313), "ply_tpu": (0.196, 1300, 1436), "silicone": (0.22, 1180, 1400),
    "cloth": (0.25, 2150, 1000), "al": (170, 2700, 900), "steel": (50, 7850, 480),
}  # fmt: skip
FOURIER = (0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.5, 2.0)


@dataclass(frozen=True)
class Row:
    """absolute: the error is told in the value's own unit, since its zero means nothing or it is a share."""

    section: str
    what: str
    expected: float
    found: float
    absolute: bool = False

    def __str__(self) -> str:
        error = self.found - self.expected
        told = (
            f"{error:+.5f}"
            if self.absolute or self.expected == 0
            else f"{100 * error / self.expected:+.3f} %"
        )
        return f"{self.section:<4}{self.what:<74}{self.expected:>14.7g}{self.found:>14.7g}{told:>13}"


def belt(properties: tuple[float, float, float], mm: float, fusion: float = 160.0) -> Layer:
    return Layer(mm / 1e3, *properties, True, fusion + ZERO_C_K, 900.0 + ZERO_C_K)


def slab(properties: tuple[float, float, float], mm: float, contact: float = 0.0) -> Conduction:
    half = belt(properties, mm / 2)
    return Conduction(Stack((half, half), (contact, 0.0, contact)), 4.0)


def held(body: Conduction, start: float, upper: float, lower: float) -> Run:
    return Run(body).then(0.0, body.uniform(start), Follows(upper), Follows(lower))


def at_depth(run: Run, depth_m: float, t_s: float) -> float:
    return float(run.belt(t_s)[np.argmin(abs(run.body.depth_m - depth_m)), 0])


def properties() -> Iterator[Row]:
    for name, matrix, expected in (
        ("PET/PVC 0.6", Sheet(*PVC), (0.1829, 1328, 1313)),
        ("PET/TPU 0.6", Sheet(*TPU), (0.1960, 1300, 1436)),
    ):
        ply = homogenise(Sheet(0.20, 1380, 1200), matrix, 0.6)
        found = (ply.conductivity_W_mK, ply.density_kg_m3, ply.heat_capacity_J_kgK)
        for what, want, got in zip(("k W/mK", "rho kg/m3", "cp J/kgK"), expected, found, strict=True):
            yield Row("1", f"ply {name}, {what}", want, got)
    for mm, want in ((15, 36.45), (20, 48.6)):
        yield Row(
            "1",
            f"C'' of {mm} mm aluminium, kJ/m2K",
            want,
            Layer(mm / 1e3, 170, 2700, 900).heat_per_K_J_m2K / 1e3,
        )
    pe = Layer(2e-3, 0.30, 930, 2300, True, 423.15, 500.0, "pe", 100e3, 373.15, 398.15)
    for what, half, want in (("with melting", pe, 29.96), ("without", replace(pe, latent_J_kg=0.0), 22.14)):
        plan = Plan(
            Stack((half, half), (0, 0, 0)),
            PlatenPlan(453.15, 453.15),
            PlatenPlan(453.15, 453.15),
            293.15,
            0.0,
        )
        yield Row(
            "1", f"PE 4 mm {what}: mid-plane at 150 degC, s", want, fine_enough(plan, 0.002)[0].fused_s or 0.0
        )


MID = {
    1e12: (0.94931, 0.77231, 0.47449, 0.28971, 0.17687, 0.10798, 0.03144, 0.00916),
    100.0: (0.95209, 0.77936, 0.48374, 0.29825, 0.18386, 0.11334, 0.03382, 0.01009),
    10.0: (0.96842, 0.82926, 0.55743, 0.37071, 0.24643, 0.16382, 0.05902, 0.02127),
    1.0: (0.99311, 0.95064, 0.83095, 0.71768, 0.61903, 0.53386, 0.36872, 0.25467),
    0.1: (0.99922, 0.99400, 0.97717, 0.95874, 0.94041, 0.92239, 0.87883, 0.83733),
}


def slabs() -> Iterator[Row]:
    k, rho, cp = TPU
    half_m, a = 2e-3, k / (rho * cp)
    for biot, thetas in MID.items():
        run = held(slab(TPU, 4.0, half_m / (k * biot)), 1.0, 0.0, 0.0)
        for fourier, theta in zip(FOURIER, thetas, strict=True):
            name = "inf" if biot > 1e9 else f"{biot:g}"
            yield Row(
                "2",
                f"slab, Bi {name}, Fo {fourier}: theta",
                theta,
                at_depth(run, half_m, fourier * half_m**2 / a),
                True,
            )
    for biot, zeta, weight in (
        (0.1, 0.3111, 1.0161),
        (1.0, 0.8603, 1.1191),
        (10.0, 1.4289, 1.2620),
        (100.0, 1.5552, 1.2731),
    ):
        run = held(slab(TPU, 4.0, half_m / (k * biot)), 1.0, 0.0, 0.0)
        rate, late_s = float(run.body.decay_rates_1_s[0]), 1.5 * half_m**2 / a
        yield Row("2", f"slab, Bi {biot:g}: zeta 1", zeta, (rate * half_m**2 / a) ** 0.5)
        yield Row(
            "2",
            f"slab, Bi {biot:g}: C1",
            weight,
            at_depth(run, half_m, late_s) * float(np.exp(rate * late_s)),
        )
    for contact, want in ((0.0, 44.09), (2e-4, 45.51)):
        run = held(slab(PVC, 4.0, contact), 293.15, 453.15, 453.15)
        yield Row(
            "2",
            f"PVC 4 mm, R {contact:g}: mid-plane 160 degC, s",
            want,
            first_time_ever(run.coldest_over_fusion_K, 0.0) or 0.0,
        )
    deep = [belt(PVC, mm) for mm in (0.5, 0.5, 1.0, 2.0, 4.0, 12.0)]
    body = Conduction(Stack(tuple(deep), (0.0,) * 7), 4.0)
    run = held(body, 20.0, 185.0, 20.0)
    nodes = run.now(10.0)
    yield Row("2", "half-space PVC, 1 mm, 10 s, degC", 93.26, at_depth(run, 1e-3, 10.0), True)
    yield Row(
        "2",
        "half-space PVC, face flux at 10 s, W/m2",
        16124,
        float(body.conductance[0] * (nodes[0] - nodes[1])),
    )
    run = held(Conduction(Stack(tuple(deep), (1e-4, *(0.0,) * 6)), 4.0), 20.0, 185.0, 20.0)
    yield Row("2", "half-space PVC through R 1e-4, face at 1 s, degC", 179.91, at_depth(run, 0.0, 1.0), True)
    yield Row(
        "2", "half-space PVC through R 1e-4, 0.5 mm at 2 s, degC", 82.26, at_depth(run, 0.5e-3, 2.0), True
    )
    run = held(slab(PVC, 4.0), 20.0, 180.0, 150.0)
    for t_s, want in ((10, 56.48), (20, 100.58), (40, 142.52), (80, 162.26)):
        yield Row(
            "2", f"PVC 4 mm between 180 and 150, mid at {t_s} s, degC", want, at_depth(run, 2e-3, t_s), True
        )
    body = slab(TPU, 4.0)
    run = Run(body).then(0.0, body.uniform(0.0), Follows(0.0, 0.5), Follows(0.0, 0.5))
    for fourier, phi in zip(
        FOURIER, (0.001127, 0.014807, 0.092324, 0.217415, 0.371682, 0.543761, 1.012740, 1.503710), strict=True
    ):
        found = at_depth(run, half_m, fourier * half_m**2 / a) / (0.5 * half_m**2 / a)
        yield Row("2", f"ramping faces, Fo {fourier}: phi", phi, found, True)
    body = slab(PVC, 4.0)
    run = Run(body).then(0.0, body.uniform(20.0), Follows(20.0, 1 / 3), Follows(20.0, 1 / 3))
    for t_s, want in ((60, 32.53), (120, 52.20), (300, 112.19)):
        yield Row(
            "2", f"PVC 4 mm, faces 20 K/min, mid at {t_s} s, degC", want, at_depth(run, 2e-3, t_s), True
        )
    yield Row(
        "2", "PVC 4 mm, faces 20 K/min, lag in the end, K", 7.81, 20 + 2000 / 3 - at_depth(run, 2e-3, 2000.0)
    )


def composites() -> Iterator[Row]:
    two = [belt(PVC, 1.0), belt(PROPERTIES["ply_pvc"], 0.8)]
    half = belt(TPU, 1.0)
    three = [belt(PROPERTIES["silicone"], 0.3), half, half, belt(PROPERTIES["cloth"], 0.15)]
    times = (2, 5, 10, 20)
    for name, layers, contacts, rates, curves in (
        ("PVC + ply, R 0", two, (0, 0, 0), (0.28560, 1.13219, 2.56646), {"joint": (1, (64.53, 123.98, 157.62, 167.62))}),
        ("PVC + ply, R 1e-4", two, (1e-4, 0, 1e-4), (0.27509, 1.09072, 2.47244), {"joint": (1, (62.33, 121.58, 156.46, 167.51))}),
        ("cloths + TPU, R 0", three, (0,) * 5, (0.15266, 0.61194, 1.38051), {"TPU top": (1, (126.53, 147.86, 163.93, 174.80)), "TPU mid": (2, (33.57, 80.99, 128.14, 160.43)), "TPU bottom": (3, (138.38, 147.60, 154.72, 159.60))}),
        ("cloths + TPU, R 1e-4", three, (1e-4, 1e-4, 0, 1e-4, 1e-4), (0.14370, 0.57967, 1.31734), {"silicone at TPU": (-1, (124.03, 145.56, 162.14, 174.03)), "TPU mid": (2, (32.00, 77.32, 124.46, 158.73)), "cloth at TPU": (3, (135.11, 145.39, 153.43, 159.26))}),
    ):  # fmt: skip
        body = Conduction(Stack(tuple(layers), tuple(float(r) for r in contacts)), 4.0)
        run = held(body, 20.0, 180.0, 160.0)
        for i, rate in enumerate(rates):
            yield Row("2", f"{name}: lambda {i + 1}, 1/s", rate, float(body.decay_rates_1_s[i]))
        first = _first_rows(body)
        for where, (index, curve) in curves.items():
            row = first[1] - 1 if index == -1 else first[index]
            for t_s, want in zip(times, curve, strict=True):
                yield Row(
                    "2", f"{name}: {where} at {t_s} s, degC", want, float(run.belt(float(t_s))[row, 0]), True
                )


def _first_rows(body: Conduction) -> list[int]:
    """The row of each layer's upper face among the belt's points."""
    from assistant.recipe.conduction import cell_sizes

    rows = [0]
    for layer in body.stack.layers:
        rows.append(rows[-1] + len(cell_sizes(layer, body.fineness)) + 2)
    return rows


STACKS = {
    "A": "al 3, cloth .15, *tpu .4, *ply_tpu .4, *tpu .4, cloth .15, al 2",
    "B": "steel 2, silicone .3, *pvc .8, *ply_pvc .7, *pvc .2, *ply_pvc .7, cloth .15, al 4",
    "C": "al 3, silicone .5, *tpu .6, *ply_tpu .4, *tpu .2, *ply_tpu .4, *tpu .4, *tpu 3, cloth .15, al 5",
    "solid": "al 2, cloth .15, *pvc 6, cloth .15, al 2",
}
# fusion, damage, release; set upper, lower; rates K/min; dwell ramp, hot; air, water (degC, s)
CASES = {
    "A": ((160, 200, 60), (175, 175), (25, 25), (90, 120), (25, 420), (20, 60)),
    "B": ((160, 200, 70), (185, 175), (15, 12), (240, 240), (25, 600), (20, 75)),
    "C": ((165, 205, 60), (185, 185), (12, 12), (300, 420), (25, 720), (20, 90)),
}


def file_of(name: str, kind: str, by: str = "air", **more: object) -> HeatFile:
    (fusion, damage, release), (upper, lower), (fast, slow), dwell, air, water = CASES[name]
    law = air if by == "air" else water
    layers = []
    for part in STACKS[name].split(","):
        key, mm = part.split()
        k, rho, cp = PROPERTIES[key.lstrip("*")]
        layers.append(
            {
                "thickness_mm": float(mm),
                "conductivity_W_mK": k,
                "density_kg_m3": rho,
                "heat_capacity_J_kgK": cp,
                "belt": "*" in key,
            }
        )
    given: dict[str, object] = {
        "fusion_degC": fusion, "damage_degC": damage, "release_degC": release, "hold_s": 60, "layers": tuple(layers),
        "dwell_s": dwell[0 if kind == "ramp" else 1], "cooling": {"coolant_degC": law[0], "tau_s": law[1]},
        "upper": {"kind": kind, "set_degC": upper, **({"rate_K_min": fast} if kind == "ramp" else {})},
        "lower": {"kind": kind, "set_degC": lower, **({"rate_K_min": slow} if kind == "ramp" else {})},
    }  # fmt: skip
    if name == "C":
        given["contacts_m2K_W"] = (1e-4, 1e-4, 1e-4, 0, 0, 0, 0, 0, 2e-4, 2e-4, 1e-4)
    return HeatFile.model_validate(given | more)


def computed(name: str, kind: str, by: str = "air", **more: object) -> Answer:
    file = file_of(name, kind, by, **more)
    return answer(plan_of(file), file.error)


TIMES = {
    ("A", "ramp"): (372.0, 339.86, 27.86, (168.3, 130.1), None), ("B", "ramp"): (775.0, 695.30, 0.0, (388.6, 330.4), None),
    ("C", "ramp"): (825.0, 771.48, 6.48, (457.5, 369.5), None), ("A", "hot"): (0.0, 7.490, 67.49, (158.6, 120.4), (615.1, 85.2)),
    ("B", "hot"): (0.0, 21.216, 81.22, (287.7, 229.5), (762.0, 99.5)), ("C", "hot"): (0.0, 87.72, 147.72, (436.3, 348.3), (1141.7, 182.3)),
}  # fmt: skip
ENDS = {"A": (175.00, 175.00, 175.00), "B": (175.56, 183.97, 175.56), "C": (185.00, 185.00, 185.00)}
PEAK = {"A": 175.00, "B": 183.97, "C": 185.00}
STORED, RATE = {"A": 2.370, "B": 3.571, "C": 5.156}, {"A": 0.37987, "B": 0.11573, "C": 0.027122}
CURVES = {
    ("A", "ramp"): {60: (44.14, 43.39, 44.23), 180: (94.14, 93.39, 94.23), 300: (144.14, 143.39, 144.23), 540: (150.19, 150.13, 150.13), 720: (106.56, 106.51, 106.51), 1080: (59.61, 59.59, 59.59)},
    ("A", "hot"): {5: (160.45, 136.46, 161.28), 10: (172.86, 169.21, 172.92), 15: (174.68, 174.13, 174.69)},
    ("B", "ramp"): {120: (48.26, 43.47, 43.62), 300: (92.33, 80.12, 80.12), 480: (136.40, 116.63, 116.63), 660: (180.47, 153.13, 153.13), 720: (182.52, 164.67, 164.67), 1200: (142.73, 136.25, 136.25), 1560: (89.61, 86.05, 86.05)},
    ("B", "hot"): {5: (141.60, 53.54, 149.85), 10: (161.21, 107.72, 162.58), 20: (176.81, 157.05, 171.50), 30: (181.72, 172.13, 174.28), 60: (183.90, 175.52, 175.52)},
    ("C", "ramp"): {120: (41.12, 35.08, 42.45), 360: (89.02, 82.71, 90.40), 600: (137.02, 130.70, 138.40), 780: (173.02, 166.70, 174.40), 840: (183.30, 178.59, 184.22), 1200: (171.90, 170.66, 170.66), 1560: (114.34, 113.45, 113.45)},
    ("C", "hot"): {5: (114.70, 20.40, 145.31), 20: (151.64, 60.20, 169.57), 40: (165.78, 112.04, 176.24), 60: (173.82, 142.58, 179.92), 100: (181.22, 170.67, 183.28), 180: (184.57, 183.36, 184.80)},
}  # fmt: skip
SHIFTS = {
    ("A", "hot"): (1.79, 1.93, 0.66, 1.27, 0.54), ("B", "hot"): (2.91, 2.51, 2.49, 3.94, 1.29), ("C", "hot"): (6.20, 5.57, 11.73, 17.15, 5.32),
    ("B", "ramp"): (0.64, -0.71, 1.00, 0.31, 0.87), ("C", "ramp"): (3.25, 3.28, 6.19, 8.95, 0.0),
}  # fmt: skip


def press_stacks() -> Iterator[Row]:
    for (name, kind), (set_s, fused_s, needed_s, above, cold) in TIMES.items():
        curve = CURVES[name, kind]
        found = computed(name, kind, times_s=tuple(float(t) for t in curve))
        water = computed(name, kind, "water")
        yield Row("3", f"{name} {kind}: later set time, s", set_s, found.later_set_s or 0.0)
        yield Row("3", f"{name} {kind}: t_f, s", fused_s, found.fused_s or 0.0)
        yield Row("3", f"{name} {kind}: needed dwell, s", needed_s, found.needed_dwell_s or 0.0)
        for by, one, want in (("air", found, above[0]), ("water", water, above[1])):
            yield Row(
                "3", f"{name} {kind}, {by}: coldest point above fusion, s", want, one.above_fusion_s or 0.0
            )
        if cold is not None:
            for by, one, want in (("air", found, cold[0]), ("water", water, cold[1])):
                yield Row("3", f"{name} {kind}, {by}: belt at release after, s", want, one.belt_cold_s or 0.0)
        end = found.at_end_of_dwell
        if kind == "ramp" and end is not None:
            for what, want, got in zip(
                ("coldest", "top face", "bottom face"),
                ENDS[name],
                (end.coldest_K, end.top_face_K, end.bottom_face_K),
                strict=True,
            ):
                yield Row("3", f"{name} {kind}: end of dwell, {what}, degC", want, got - ZERO_C_K, True)
            yield Row(
                "3",
                f"{name} {kind}: peak belt surface, degC",
                PEAK[name],
                found.peak_surface_K - ZERO_C_K,
                True,
            )
            yield Row(
                "3", f"{name} {kind}: heat stored, MJ/m2", STORED[name], (found.heat_stored_J_m2 or 0.0) / 1e6
            )
        else:
            fine = fine_enough(plan_of(file_of(name, kind)), 0.0002)[0]
            yield Row("3", f"{name}: slowest lambda, 1/s", RATE[name], float(fine.body.decay_rates_1_s[0]))
        for at, wanted in zip(found.curve, curve.values(), strict=True):
            for what, want, got in zip(
                ("top face", "coldest", "bottom face"),
                wanted,
                (at.top_face_K, at.coldest_K, at.bottom_face_K),
                strict=True,
            ):
                yield Row("3", f"{name} {kind}: {what} at {at.t_s:g} s, degC", want, got - ZERO_C_K, True)
        if (name, kind) in SHIFTS:
            shifts = {shift.label: shift.fused_s or 0.0 for shift in found.sensitivity}
            labels = (
                "belt 0.2 mm thicker",
                "contact twice as bad",
                "belt conductivity 15 % less",
                "belt heat capacity 20 % more",
                "platens 3 K colder",
            )
            for label, want in zip(labels, SHIFTS[name, kind], strict=True):
                yield Row("3", f"{name} {kind}: t_f if {label}, s", want, shifts[label], True)


def cooled_and_driven() -> Iterator[Row]:
    for by, platen_s, inside in (("water", 127.5, 90.7), ("air", 1094.0, 62.4)):
        plan = replace(plan_of(file_of("C", "hot", by)), start_K=458.15, dwell_s=0.0)
        run = PlanRun(plan, 2.0)
        reached = first_time_ever(lambda t, run=run: 333.15 - run.run.nodes(t)[0], 0.0) or 0.0  # type: ignore[misc]
        yield Row("3", f"C cooled by {by}: platens at 60 degC after, s", platen_s, reached)
        yield Row(
            "3",
            f"C cooled by {by}: hottest belt point then, degC",
            inside,
            float(run.run.hottest_K(platen_s)[0]) - ZERO_C_K,
            True,
        )
    power = {"kind": "power", "capacity_J_m2K": 36450, "power_W_m2": 12000, "loss_W_m2K": 8}
    ends = {"upper": {**power, "set_degC": 185}, "lower": {**power, "set_degC": 175}}
    for by, law, above, cold in (("air", (25, 60), 426.1, 994.2), ("water", (20, 500), 342.6, 122.9)):
        found = computed("B", "ramp", cooling={"coolant_degC": law[0], "coefficient_W_m2K": law[1]}, **ends)
        if by == "air":
            yield Row("3", "B driven: upper platen set, s", 685.6, found.upper_set_s or 0.0)
            yield Row("3", "B driven: lower platen set, s", 656.5, found.lower_set_s or 0.0)
            yield Row("3", "B driven: t_f, s", 595.8, found.fused_s or 0.0)
            yield Row("3", "B driven: cooling starts, s", 925.6, found.cool_on_s or 0.0)
            yield Row("3", "B driven: heat delivered, MJ/m2", 16.76, (found.heat_delivered_J_m2 or 0.0) / 1e6)
        yield Row("3", f"B driven, {by}: coldest point above fusion, s", above, found.above_fusion_s or 0.0)
        yield Row("3", f"B driven, {by}: everything at release after, s", cold, found.all_cold_s or 0.0)


def refusals() -> Iterator[Row]:
    found = computed("B", "hot", lower={"kind": "hot", "set_degC": 20})
    yield Row(
        "3",
        "(a) B, lower platen 20 degC: top face in the end, degC",
        168.0,
        found.settled.top_face_K - ZERO_C_K,
        True,
    )
    yield Row(
        "3",
        "(a) B, lower platen 20 degC: bottom face in the end, degC",
        29.2,
        found.settled.bottom_face_K - ZERO_C_K,
        True,
    )
    yield Row("3", "(a) refused, 1 = yes", 1, float(bool(found.refused)), True)
    CASES["solid"] = CASES["B"]
    for degC, refused, fused_s in ((210, 1, 74.7), (185, 0, 100.6)):
        end = {"kind": "hot", "set_degC": degC}
        found = computed("solid", "hot", upper=end, lower=end, dwell_s=600)
        yield Row("3", f"(b) PVC 6 mm at {degC}: t_f, s", fused_s, found.fused_s or 0.0)
        yield Row("3", f"(b) PVC 6 mm at {degC}: refused, 1 = yes", refused, float(bool(found.refused)), True)
        if refused:
            yield Row("3", "(b) PVC 6 mm at 210: surface at 200 degC, s", 27.7, found.passes_damage_s or 0.0)
        else:
            yield Row(
                "3", "(b) PVC 6 mm at 185: peak surface, degC", 185.0, found.peak_surface_K - ZERO_C_K, True
            )
    del CASES["solid"]
    for what, more in (
        (
            "(c) both platens below fusion",
            {"upper": {"kind": "hot", "set_degC": 150}, "lower": {"kind": "hot", "set_degC": 155}},
        ),
        ("(d) dwell shorter than needed", {"dwell_s": 60}),
        ("(e) release above fusion", {"release_degC": 161}),
        ("(e) release below the coolant", {"release_degC": 24}),
    ):
        yield Row(
            "3", f"{what}: refused, 1 = yes", 1, float(bool(computed("B", "hot", **more).refused)), True
        )


def healing() -> Iterator[Row]:
    model = Reptation()
    for degC, want in ((160, 204.35), (170, 109.21), (180, 60.0), (190, 33.83)):
        yield Row("4", f"t_r at {degC} degC, s", want, model.time_s(degC + ZERO_C_K))
    for seconds, degC, want in ((15, 180, 0.70711), (60, 170, 0.86094)):
        yield Row(
            "4", f"{seconds} s at {degC} degC: D_h", want, degree(seconds / model.time_s(degC + ZERO_C_K))
        )
    whole = model.of_ramp(423.15, 453.15, 1 / 3)
    yield Row("4", "ramp 150 to 180 at 20 K/min: integral", 0.68953, whole)
    yield Row("4", "ramp 150 to 180 at 20 K/min: D_h", 0.91125, degree(whole))
    yield Row("4", "the same above 170 only: integral", 0.37701, model.of_ramp(443.15, 453.15, 1 / 3))
    yield Row("4", "then 20 s at 180: D_h", 1.0, degree(whole + 20 / model.time_s(453.15)))
    file = file_of("C", "hot").model_copy(update={"dwell_s": None})
    healed = answer(plan_of(file), file.error).healing_needed_dwell
    if healed is not None:
        yield Row("4", "C hot, end of needed dwell: worst integral", 0.7735, healed.integral)
        yield Row("4", "C hot, end of needed dwell: worst D_h", 0.938, healed.degree)
        yield Row("4", "C hot, end of needed dwell: depth of the worst point, mm", 2.4, healed.depth_m * 1e3)


def pressure() -> Iterator[Row]:
    one = belt_pressure(2e5, 1.2 * 0.12, 0.6 * 0.1, 1.2 * 0.12)
    yield Row("6", "2 bar, bag 1200 x 120 mm: force, kN", 28.8, one.force_N / 1e3)
    yield Row("6", "2 bar, belt 600 x 100 mm: pressure on the belt, bar", 4.8, one.belt_Pa / 1e5)
    two = belt_pressure(2e5, 0.8 * 0.1, 0.8 * 0.1, 0.8 * 0.1, weight_N=150.0)
    yield Row("6", "2 bar, 800 x 100 mm both, plate 150 N, bar", 2.01875, two.belt_Pa / 1e5)


SECTIONS: tuple[Callable[[], Iterator[Row]], ...] = (
    properties, slabs, composites, press_stacks, cooled_and_driven, refusals, healing, pressure,
)  # fmt: skip


def main() -> None:
    print(f"{'':<4}{'value':<74}{'expected':>14}{'computed':>14}{'error':>13}")
    for section in SECTIONS:
        for row in section():
            print(row)


if __name__ == "__main__":
    try:
        main()
        sys.stdout.flush()
    except BrokenPipeError:  # the reader has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
