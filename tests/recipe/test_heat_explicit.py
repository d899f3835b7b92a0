"""A heating given in full: the worked lay-ups through the file's own models, refusals, and what a wrong file is told."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

import assistant.recipe
from assistant.bench.bad_data import BadData
from assistant.recipe.answer import Answer, answer
from assistant.recipe.explicit import HeatFile, load_heat, plan_of
from assistant.recipe.stack import ZERO_C_K

PROPERTIES = {
    "pvc": (0.16, 1250, 1500), "tpu": (0.19, 1180, 1850), "ply_pvc": (0.183, 1328, 1313), "ply_tpu": (0.196, 1300, 1436),
    "silicone": (0.22, 1180, 1400), "cloth": (0.25, 2150, 1000), "al": (170, 2700, 900), "steel": (50, 7850, 480),
}  # fmt: skip
STACKS: dict[str, str] = {
    "A": "al 3, cloth .15, *tpu .4, *ply_tpu .4, *tpu .4, cloth .15, al 2",
    "B": "steel 2, silicone .3, *pvc .8, *ply_pvc .7, *pvc .2, *ply_pvc .7, cloth .15, al 4",
    "C": "al 3, silicone .5, *tpu .6, *ply_tpu .4, *tpu .2, *ply_tpu .4, *tpu .4, *tpu 3, cloth .15, al 5",
    "solid": "al 2, cloth .15, *pvc 6, cloth .15, al 2",
}


def layers(text: str) -> tuple[dict[str, Any], ...]:
    found = []
    for part in text.split(","):
        key, mm = part.split()
        k, rho, cp = PROPERTIES[key.lstrip("*")]
        found.append(
            {
                "thickness_mm": float(mm),
                "conductivity_W_mK": k,
                "density_kg_m3": rho,
                "heat_capacity_J_kgK": cp,
                "belt": key.startswith("*"),
            }
        )
    return tuple(found)


LIMITS = {"A": (160, 200, 60), "B": (160, 200, 70), "C": (165, 205, 60), "solid": (160, 200, 70)}
SET = {"A": (175, 175, 25, 25), "B": (185, 175, 15, 12), "C": (185, 185, 12, 12)}
DWELL = {"A": (90, 120), "B": (240, 240), "C": (300, 420)}
AIR = {"A": (25, 420), "B": (25, 600), "C": (25, 720)}
WATER = {"A": (20, 60), "B": (20, 75), "C": (20, 90)}


def worked(name: str, kind: str, law: tuple[float, float], **more: Any) -> dict[str, Any]:
    fusion, damage, release = LIMITS[name]
    upper, lower, fast, slow = SET[name]
    ramp = kind == "ramp"
    given: dict[str, Any] = {
        "fusion_degC": fusion, "damage_degC": damage, "release_degC": release, "hold_s": 60, "dwell_s": DWELL[name][not ramp],
        "contact_m2K_W": 1e-4, "layers": layers(STACKS[name]), "cooling": {"coolant_degC": law[0], "tau_s": law[1]},
        "upper": {"kind": kind, "set_degC": upper, **({"rate_K_min": fast} if ramp else {})},
        "lower": {"kind": kind, "set_degC": lower, **({"rate_K_min": slow} if ramp else {})},
    }  # fmt: skip
    if name == "C":
        del given["contact_m2K_W"]
        given["contacts_m2K_W"] = (1e-4, 1e-4, 1e-4, 0, 0, 0, 0, 0, 2e-4, 2e-4, 1e-4)
    return given | more


def computed(given: dict[str, Any]) -> Answer:
    return answer(plan_of(HeatFile.model_validate(given)))


WORKED = [
    ("A", "ramp", 372.0, 339.86, 27.86, (168.3, 130.1), None, 2.370e6),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("B", "ramp", 775.0, 695.30, 0.0, (388.6, 330.4), None, 3.571e6),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("C", "ramp", 825.0, 771.48, 6.48, (457.5, 369.5), None, 5.156e6),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("A", "hot", 0.0, 7.490, 67.49, (158.6, 120.4), (615.1, 85.2), 2.370e6),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("B", "hot", 0.0, 21.216, 81.22, (287.7, 229.5), (762.0, 99.5), 3.571e6),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
    ("C", "hot", 0.0, 87.72, 147.72, (436.3, 348.3), (1141.7, 182.3), 5.156e6),  # class: peer library -- scikit-fem 12, second order, and transfer matrices
]  # fmt: skip


@pytest.mark.parametrize(("name", "kind", "set_s", "fused_s", "needed_s", "above", "cold", "stored"), WORKED)
def test_the_worked_lay_ups_come_out_through_the_file(
    name: str, kind: str, set_s: float, fused_s: float, needed_s: float,
    above: tuple[float, float], cold: tuple[float, float] | None, stored: float,
) -> None:  # fmt: skip
    for which, law in enumerate((AIR[name], WATER[name])):
        found = computed(worked(name, kind, law))
        assert not found.refused
        assert found.later_set_s == pytest.approx(set_s)
        assert found.fused_s == pytest.approx(fused_s, rel=0.002)
        assert found.needed_dwell_s == pytest.approx(needed_s, rel=0.01, abs=0.1)
        assert found.above_fusion_s == pytest.approx(above[which], rel=0.002)
        assert found.heat_stored_J_m2 == pytest.approx(stored, rel=0.002)
        if cold is not None:
            assert found.belt_cold_s == pytest.approx(cold[which], rel=0.002)
        assert found.numerical_error <= 0.002


def test_platens_with_power_and_mass_come_out_through_the_file() -> None:
    power = {"kind": "power", "capacity_J_m2K": 36450, "power_W_m2": 12000, "loss_W_m2K": 8}
    ends = {"upper": {**power, "set_degC": 185}, "lower": {**power, "set_degC": 175}}
    for cooling, above, cold in (
        ({"coolant_degC": 25, "coefficient_W_m2K": 60}, 426.1, 994.2),  # class: peer library -- two solvers
        ({"coolant_degC": 20, "coefficient_W_m2K": 500}, 342.6, 122.9),  # class: peer library -- two solvers
    ):
        found = computed(worked("B", "ramp", (20, 60), cooling=cooling, **ends))
        assert found.upper_set_s == pytest.approx(685.6, rel=0.002)  # class: peer library -- two solvers
        assert found.lower_set_s == pytest.approx(656.5, rel=0.002)  # class: peer library -- two solvers
        assert found.fused_s == pytest.approx(595.8, rel=0.002)  # class: peer library -- two solvers
        assert found.heat_delivered_J_m2 == pytest.approx(
            16.76e6, rel=0.002
        )  # class: peer library -- two solvers
        assert found.above_fusion_s == pytest.approx(above, rel=0.002)
        assert found.all_cold_s == pytest.approx(cold, rel=0.002)


def test_a_platen_of_its_own_kind_on_each_side() -> None:
    upper = {
        "kind": "power",
        "set_degC": 180,
        "capacity_J_m2K": 30000,
        "power_W_m2": 15000,
        "loss_W_m2K": 6,
        "start_degC": 120,
    }
    given = worked("B", "ramp", (20, 60), upper=upper, lower={"kind": "hot", "set_degC": 178}, dwell_s=None)
    found = computed({key: value for key, value in given.items() if value is not None})
    assert found.lower_set_s == 0.0
    assert found.upper_set_s is not None
    assert 60 < found.upper_set_s < 400
    assert found.later_set_s == found.upper_set_s


def test_the_healing_of_the_guided_belt_is_that_of_its_worst_point() -> None:
    given = worked("C", "hot", AIR["C"])
    del given["dwell_s"]
    healed = computed(given).healing_needed_dwell
    assert healed is not None
    assert healed.integral == pytest.approx(
        0.7735, rel=0.005
    )  # class: analytic -- quadrature of the computed curve
    assert healed.degree == pytest.approx(
        0.938, rel=0.005
    )  # class: analytic -- quadrature of the computed curve
    assert healed.depth_m == pytest.approx(
        2.4e-3, abs=0.1e-3
    )  # class: analytic -- quadrature of the computed curve


REFUSED = [
    (worked("B", "hot", AIR["B"], lower={"kind": "hot", "set_degC": 20}), "settles at 168.0 °C on the belt's upper face and 29.2 °C", "lower platen above"),  # class: analytic -- resistances in series
    (worked("B", "hot", AIR["B"], upper={"kind": "hot", "set_degC": 150}, lower={"kind": "hot", "set_degC": 155}), "not above the fusion temperature", "both platens above 160.0"),
    (worked("B", "hot", AIR["B"], dwell_s=60), "60 s is too short: 81.2", "at least 81.2"),  # class: peer library -- two solvers
    (worked("B", "hot", AIR["B"], release_degC=161), "not below fusion", "100.0 °C or colder"),
    (worked("B", "hot", AIR["B"], release_degC=25), "never reached", "above 25.0 °C"),
]  # fmt: skip


@pytest.mark.parametrize(("given", "reason", "change"), REFUSED)
def test_what_cannot_be_is_refused_with_reason_and_nearest_change(
    given: dict[str, Any], reason: str, change: str
) -> None:
    found = computed(given)
    assert len(found.refused) == 1
    assert reason in found.refused[0].reason
    assert change in found.refused[0].nearest_change


def solid(degC: float) -> dict[str, Any]:
    end = {"kind": "hot", "set_degC": degC}
    return {
        "fusion_degC": 160,
        "damage_degC": 200,
        "contact_m2K_W": 1e-4,
        "layers": layers(STACKS["solid"]),
        "upper": end,
        "lower": end,
    }


def test_a_thick_solid_belt_burns_first_and_is_offered_what_does_not() -> None:
    found = computed(solid(210))
    assert found.passes_damage_s == pytest.approx(27.7, rel=0.005)  # class: peer library -- two solvers
    assert found.fused_s == pytest.approx(74.7, rel=0.002)  # class: peer library -- two solvers
    assert [no.reason[:14] for no in found.refused] == ["A belt point p"]
    assert "At 199.0 °C" in found.refused[0].nearest_change
    allowed = computed(solid(185) | {"hold_s": 600})
    assert not allowed.refused
    assert allowed.fused_s == pytest.approx(100.6, rel=0.002)  # class: peer library -- two solvers
    assert allowed.peak_surface_K - ZERO_C_K == pytest.approx(
        185.0, abs=0.1
    )  # class: analytic -- maximum principle


def test_the_nearest_change_to_a_cold_platen_is_the_least_that_fuses() -> None:
    found = computed(worked("B", "hot", AIR["B"], lower={"kind": "hot", "set_degC": 20}))
    least = float(found.refused[0].nearest_change.split("above ")[1].split(" ")[0])
    for more, fuses in ((-0.2, False), (0.2, True)):
        tried = computed(worked("B", "hot", AIR["B"], lower={"kind": "hot", "set_degC": least + more}))
        assert (tried.fused_s is not None) is fuses


def test_a_weak_platen_is_told_how_far_it_gets() -> None:
    weak = {"kind": "power", "set_degC": 185, "capacity_J_m2K": 36450, "power_W_m2": 1000, "loss_W_m2K": 8}
    given = worked("B", "ramp", AIR["B"], upper=weak, lower={**weak, "power_W_m2": 12000, "set_degC": 175})
    found = computed(given)
    assert "upper platen never reaches 185" in found.refused[0].reason
    alone = worked("B", "ramp", AIR["B"], upper=weak, lower={**weak, "set_degC": 175})
    # class: analytic -- both platens come to where power equals loss: 20 + 1000 / 8
    assert answer(plan_of(HeatFile.model_validate(alone))).settled.coldest_K - ZERO_C_K == pytest.approx(145)


EXAMPLE = Path(assistant.recipe.__file__).parent / "data" / "heat.toml"


def test_the_example_that_the_program_prints_is_read_and_computed() -> None:
    file, plan = load_heat(EXAMPLE)
    found = answer(plan, file.error)
    assert not found.refused
    assert len(found.curve) == len(file.times_s)


WRONG = [
    ("thickness_mm = 0.6", "thickness_mm = 0.0", ("line", "thickness_mm", "greater than 0")),
    ("thickness_mm = 0.6", 'thickness_mm = "0.6"', ("thickness_mm", "number")),
    ("hold_s = 120.0", "hold_x = 120.0", ("line 9", "hold_x", "not known")),
    ("set_degC = 185.0\n", "", ("set_degC", "missing")),
    ('kind = "power"', 'kind = "steam"', ("kind",)),
    ("loss_W_m2K = 8.0\n", "", ("needs the key 'loss_W_m2K'",)),
    ("fusion_degC = 165.0", "fusion_degC = 265.0", ("fusion must lie below damage",)),
    ("contact_m2K_W = 1e-4", "contacts_m2K_W = [1e-4, 1e-4]", ("lists 2 joints, but 6 layers have 7",)),
    ("damage_degC = 205.0", "", ("damage_degC", "missing")),
    ("belt = true", "belt = false", ("belt = true",)),
    ("coefficient_W_m2K = 60.0", "coefficient_W_m2K = 60.0, tau_s = 5.0", ("not both",)),
    ("release_degC = 60.0", "release_degC = nan", ("release_degC", "finite")),
]  # fmt: skip


@pytest.mark.parametrize(("find", "put", "words"), WRONG)
def test_a_wrong_file_is_told_in_one_sentence_with_its_key(
    tmp_path: Path, find: str, put: str, words: tuple[str, ...]
) -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    assert find in text
    path = tmp_path / "heat.toml"
    path.write_text(text.replace(find, put), encoding="utf-8")
    tomllib.loads(path.read_text(encoding="utf-8"))
    with pytest.raises(BadData) as refused:
        load_heat(path)
    told = str(refused.value)
    assert all(word in told for word in words), told
    assert "\n" not in told


PVC = {"thickness_mm": 40.0, "conductivity_W_mK": 0.16, "density_kg_m3": 1250, "heat_capacity_J_kgK": 1500, "belt": True}  # fmt: skip


def test_depths_and_heat_flow_of_a_thick_slab_are_those_of_the_error_function() -> None:
    hot = {"kind": "hot", "set_degC": 185}
    found = computed(
        {
            "layers": (PVC,),
            "contact_m2K_W": 0.0,
            "upper": hot,
            "lower": hot,
            "fusion_degC": 21,
            "damage_degC": 400,
        }
        | {"times_s": (0.0, 10.0), "points_mm": (0.0, 1.0)}
    )
    first, later = found.curve
    assert first.upper_flow_W_m2 is None
    assert first.points_K == pytest.approx((293.15, 293.15))
    assert later.points_K[0] - ZERO_C_K == pytest.approx(185.0)  # class: analytic -- the face is held
    assert later.points_K[1] - ZERO_C_K == pytest.approx(93.26, abs=0.05)  # class: analytic -- error function
    assert later.upper_flow_W_m2 == pytest.approx(16124, rel=0.002)  # class: analytic -- k dT / sqrt(pi a t)
    assert found.numerical_error_K <= 0.02


def test_the_heat_that_comes_in_is_stored_and_the_heaters_give_what_is_lost_besides() -> None:
    power = {"kind": "power", "capacity_J_m2K": 36450, "power_W_m2": 12000, "loss_W_m2K": 8}
    melting = {"latent_heat_J_kg": 6e4, "melting_degC": (100, 101)}
    stack = tuple(layer | melting if layer["belt"] else layer for layer in layers(STACKS["B"]))
    for lay_up in (layers(STACKS["B"]), stack):
        found = computed(
            worked("B", "ramp", AIR["B"], layers=lay_up, upper={**power, "set_degC": 185}, lower={"kind": "ramp", "set_degC": 175, "rate_K_min": 12})
        )  # fmt: skip
        assert found.heat_through_upper_J_m2 is not None
        assert found.heat_through_lower_J_m2 is not None
        assert found.heat_through_upper_J_m2 + found.heat_through_lower_J_m2 == pytest.approx(
            found.heat_stored_J_m2, rel=1e-3
        )  # class: analytic -- energy balance
        assert found.upper_heater_J_m2 is not None
        assert found.lower_heater_J_m2 is None
        assert found.heat_delivered_J_m2 is None
        # Up to the set temperature the heater gives its power, later what the platen loses and passes on.
        assert found.upper_set_s is not None
        assert found.upper_heater_J_m2 > 12000 * found.upper_set_s * 0.999


@pytest.mark.slow
def test_events_that_take_days_are_still_found() -> None:
    thick = tuple(PVC | {"thickness_mm": 100.0} for _ in range(4))
    hot = {"kind": "hot", "set_degC": 185}
    found = computed(
        {
            "layers": thick,
            "upper": hot,
            "lower": hot,
            "fusion_degC": 160,
            "damage_degC": 400,
            "release_degC": 60,
        }
        | {"cooling": {"coolant_degC": 20, "tau_s": 100}}
    )
    # class: analytic -- one term of the slab's series: Fo of a mid-plane at 140/165 of the way
    fourier = math.log(4 / math.pi / (25 / 165)) / (math.pi**2 / 4)
    assert found.fused_s == pytest.approx(fourier * 0.2**2 / (0.16 / 1250 / 1500), rel=2e-3)
    assert found.belt_cold_s is not None
    assert found.belt_cold_s > 1e5


def test_what_grows_hot_after_cool_down_has_begun_is_seen() -> None:
    """Pulled off the heat early behind thick plates: the belt goes on heating."""
    given = worked("C", "hot", (25, 2000), dwell_s=20, damage_degC=180)
    found = computed(given)
    assert found.at_end_of_dwell is not None
    assert found.peak_belt_K > found.at_end_of_dwell.hottest_K + 1
    assert found.passes_damage_s is None or found.passes_damage_s > 0
    assert found.above_fusion_s is not None
    assert found.above_fusion_s > 0


def test_a_depth_outside_the_lay_up_is_refused() -> None:
    with pytest.raises(ValueError, match=r"points_mm must lie between 0 and 13\.65"):
        HeatFile.model_validate(worked("C", "hot", AIR["C"], points_mm=(13.7,)))
