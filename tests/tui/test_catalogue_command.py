"""`loopwright catalogue`: sources and ranges for every value; a works' own data checked fault by fault and used."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.bench.catalogue import MODELS, PACKAGED, faults, load_catalogue, ohm_per_km
from assistant.bench.material import Material, Sources
from assistant.bench.sourced import Sourced
from assistant.recipe.supply import CLASS_5_OHM_PER_KM
from tui.commands.catalogue import KINDS
from tui.main import run

CATALOGUE = load_catalogue()
SHORE = """schema_version = 1
key = "soft_tpu"
name = "soft polyurethane"
conductivity_W_mK = 0.21
density_kg_m3 = 1120.0
heat_capacity_J_kgK = 1800.0
fusion_degC = 150.0
damage_degC = 195.0
hold_s = 100.0
source = "the works' own supplier"

[ranges]
conductivity_W_mK = [0.19, 0.23]

[sources]
conductivity_W_mK = "data sheet of the supplier"
"""
BELT = """schema_version = 1
key = "pear_belt"
name = "pear belt"
width_mm = 45.0
source = "the works"

[[layers]]
material = "soft_tpu"
thickness_mm = 2.0
"""


@pytest.fixture
def told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Any]:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def play(*arguments: object) -> tuple[int, str]:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out + shown.err

    return play


def own_bench(folder: Path) -> Path:
    for kind, key, text in (("materials", "soft_tpu", SHORE), ("belts", "pear_belt", BELT)):
        (folder / kind).mkdir(parents=True)
        (folder / kind / f"{key}.toml").write_text(text)
    return folder


def test_every_thermal_value_of_a_weldable_material_has_its_own_source() -> None:
    named = set(Sources.model_fields)
    for material in CATALOGUE.materials.values():
        if material.fusion_degC is None:
            continue
        given = {name for name in named if getattr(material, name) is not None}
        sourced = {name for name, source in material.sources if source}
        assert not given - sourced, material.key


@pytest.mark.parametrize("kind", ["presses", "templates", "punches", "cloths", "leads"])
def test_every_value_of_the_things_on_the_bench_has_its_own_source_and_measured_ones_a_range(
    kind: str,
) -> None:
    about = {"schema_version", "key", "name", "sayings", "source", "learned"}

    def look(item: Sourced, where: str) -> None:
        values = {name: getattr(item, name) for name in item.model_fields_set - about - {"ranges", "sources"}}
        for name, value in values.items():
            if isinstance(value, Sourced):
                look(value, f"{where}.{name}")
            else:
                assert name in item.sources, f"{where}.{name}"
        assert item.ranges or kind == "leads", where  # what is printed of a lead is the largest it may have

    for key, item in getattr(CATALOGUE, kind).items():
        look(item, key)


def test_a_press_is_listed_with_source_and_range_of_each_value_of_its_platens(
    told: Callable[..., Any],
) -> None:
    lines = told("catalogue", "presses", "hinged")[1].splitlines()
    power = next(line for line in lines if line.startswith("upper.power_W_m2"))
    assert "14000.0  (9800 to 18200)  [within the usual range" in power
    assert any(line.startswith("opening_mm") and "24.0" in line for line in lines)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (
            "power_W_m2 = [20000.0, 30000.0]",
            "power_W_m2 is 14000.0 and its range in [ranges] is 20000 to 30000",
        ),
        (
            "power_W_m2 = [18200.0, 9800.0]",
            "power_W_m2 in [ranges] must be the lower and then the higher end",
        ),
        ("power_W_m2 = [0.0, 18200.0]", "both above 0"),
        ("power_W_m3 = [9800.0, 18200.0]", "power_W_m3 in [ranges] or [sources] is no value of this table"),
    ],
)
def test_a_wrong_range_of_a_platen_is_refused_with_line_and_key(
    tmp_path: Path, wrong: str, said: str
) -> None:
    shutil.copytree(PACKAGED / "presses", tmp_path / "presses")
    file = tmp_path / "presses" / "hinged.toml"
    text = file.read_text()
    right = "power_W_m2 = [9800.0, 18200.0]"
    assert right in text
    file.write_text(text.replace(right, wrong, 1))
    (found,) = faults(tmp_path)
    assert said in found
    assert "hinged.toml', line " in found


def test_a_material_is_added_in_one_file_and_used(told: Callable[..., Any], tmp_path: Path) -> None:
    own_bench(tmp_path / "loopwright" / "bench")
    job = tmp_path / "job.toml"
    flat = (PACKAGED / "jobs" / "flat_in_the_shop.toml").read_text()
    job.write_text(flat.replace('belt = "packing_line"', 'belt = "pear_belt"'))
    code, out = told("recipe", job, "--json")
    assert code == 0
    found = json.loads(out)
    assert next(item["seconds_s"] for item in found["items"] if item["label"] == "holding time") == 100.0
    assert "soft_tpu" in told("catalogue", "materials")[1]
    assert "(0.19 to 0.23)  [data sheet of the" in told("catalogue", "materials", "soft_tpu")[1]


def test_a_works_folder_named_by_the_option_is_seen_by_every_command_that_reads_a_job(
    told: Callable[..., Any], tmp_path: Path
) -> None:
    own = own_bench(tmp_path / "on a stick")
    job = tmp_path / "job.toml"
    flat = (PACKAGED / "jobs" / "flat_in_the_shop.toml").read_text()
    job.write_text(flat.replace('belt = "packing_line"', 'belt = "pear_belt"'))
    readings = PACKAGED / "examples" / "readings.toml"
    for arguments in (
        ("recipe", job), ("interrupted", job, "--kind", "power", "--at", 300), ("readings", job, readings),
        ("length", job), ("fingers", job), ("pressure", job), ("supply", job),
        ("fit", "--belt", "pear_belt", "--press", "hinged", "--punch", "fine"), ("catalogue", "belts", "pear_belt"),
    ):  # fmt: skip
        code, out = told(*arguments)
        assert code == 2, arguments
        assert "no belt 'pear_belt'" in out or "no 'pear_belt' in belts" in out
        code, out = told(*arguments, "--bench", own)
        assert code in (0, 1), out
    assert "conductivity of soft polyurethane (to 0.19)" in " ".join(
        told("recipe", job, "--bench", own)[1].split()
    )


def test_all_faults_of_a_folder_are_told_with_line_and_key(told: Callable[..., Any], tmp_path: Path) -> None:
    folder = own_bench(tmp_path / "bench")
    code, out = told("catalogue", "--check", folder)
    assert code == 0
    assert "can be used" in out
    material, belt = folder / "materials" / "soft_tpu.toml", folder / "belts" / "pear_belt.toml"
    material.write_text(SHORE.replace("density_kg_m3 = 1120.0", "density_kg_m3 = -1.0"))
    belt.write_text(BELT.replace("width_mm", "breadth_mm"))
    code, out = told("catalogue", "--check", folder, "--json")
    found = json.loads(out)
    assert (code, found["usable"], len(found["faults"])) == (1, False, 2)
    assert any("line 5" in fault and "density_kg_m3" in fault for fault in found["faults"])
    assert any("breadth_mm" in fault or "width_mm" in fault for fault in found["faults"])
    belt.write_text(BELT)
    material.write_text(SHORE.replace("[0.19, 0.23]", "[0.22, 0.23]"))
    assert "line 4: conductivity_W_mK is 0.21 and its range" in faults(folder)[0]
    material.write_text(SHORE.replace("[0.19, 0.23]", "[0.23, 0.19]"))
    assert "lower and then the higher" in faults(folder)[0]
    material.unlink()
    assert "pear_belt.toml', line 8, layers.0.material: there is no material 'soft_tpu'" in faults(folder)[0]
    assert faults(tmp_path / "nowhere")


def test_every_fault_of_one_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "materials").mkdir()
    wrong = SHORE.replace("1120.0", '"x"').replace("hold_s = 100.0", "hold_s = -1.0")
    (tmp_path / "materials" / "soft.toml").write_text(wrong, encoding="utf-8")
    first, second = faults(tmp_path)
    assert "density_kg_m3" in first
    assert "line 5" in first
    assert "hold_s" in second


def test_everything_is_listed(told: Callable[..., Any]) -> None:
    assert set(KINDS) == set(MODELS)
    found = json.loads(told("catalogue", "--json")[1])
    for kind in KINDS:
        assert set(found[kind]) == set(getattr(CATALOGUE, kind))
        assert all("source" in item for item in found[kind].values())
    text = told("catalogue")[1]
    assert all(key in text for kind in KINDS for key in getattr(CATALOGUE, kind))
    assert told("catalogue", "presses", "steam")[0] == 2


def test_leads_are_the_standard_s_and_a_works_own_counts_too(
    told: Callable[..., Any], tmp_path: Path
) -> None:
    # class: printed -- IEC 60228 class 5, plain copper, largest resistance at 20 degC, ohm/km
    assert ohm_per_km(CATALOGUE) == {1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91}
    assert ohm_per_km(CATALOGUE) == CLASS_5_OHM_PER_KM
    options = (
        "--power",
        "3000",
        "--voltage",
        "230",
        "--fuse",
        "16",
        "--length",
        "25",
        "--section",
        "16",
        "--json",
    )
    assert told("supply", *options)[0] == 2
    leads = tmp_path / "loopwright" / "bench" / "leads"
    leads.mkdir(parents=True)
    text = (PACKAGED / "leads" / "h10.toml").read_text()
    (leads / "h16.toml").write_text(
        text.replace("h10", "h16").replace("10.0", "16.0").replace("1.91", "1.21")
    )
    found = json.loads(told("supply", *options)[1])
    # class: analytic -- 2 I l R, copper at 70 degC
    assert found["drop_V"] == pytest.approx(2 * 3000 / 230 * 25 * 1.21e-3 * (1 + 0.00393 * 50))


def test_the_packaged_materials_are_read_back_from_a_copy(tmp_path: Path) -> None:
    shutil.copytree(PACKAGED / "materials", tmp_path / "materials")
    assert faults(tmp_path) == ()
    assert isinstance(load_catalogue(tmp_path).materials["pvc"], Material)


@pytest.mark.parametrize("kind", ["path", "readings", "material", "lead"])
def test_the_files_that_are_taken_are_told_with_a_whole_example(
    told: Callable[..., Any], tmp_path: Path, kind: str
) -> None:
    assert told("schema", kind)[0] == 0
    file = tmp_path / "example.toml"
    file.write_text(told("schema", kind, "--example")[1])
    flat = PACKAGED / "jobs" / "flat_in_the_shop.toml"
    match kind:
        case "path":
            found = json.loads(
                told("length", "--pulleys", file, "--neutral", "0", "--thickness", "0", "--json")[1]
            )
            # class: analytic -- circles of 50 and 30 mm, two of them outside
            assert found["path_m"] * 1e3 == pytest.approx(4458.32004, abs=1e-4)
        case "readings":
            found = json.loads(told("readings", flat, file, "--json")[1])
            assert found["weighed_causes"][0]["key"] in ("upper_heater_weak", "upper_sensor_loose")
        case _:
            place = tmp_path / "own" / MODELS_OF[kind]
            place.mkdir(parents=True)
            file.rename(place / "example.toml")
            assert faults(tmp_path / "own") == ()


MODELS_OF = {"material": "materials", "lead": "leads"}
