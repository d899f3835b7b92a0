"""The packaged bench is whole, and a works' own folder adds to it or is refused in one sentence."""

import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.bench import fit
from assistant.bench.bad_data import BadData
from assistant.bench.catalogue import KINDS, PACKAGED, load_catalogue

CATALOGUE = load_catalogue()

# class: printed -- NETZSCH tables (pvc, tpu) and Crawford table 1.8 (tpo, pet), as far as each row's source says so
PROPERTIES = [
    ("pvc", 0.16, 1250, 1500, 160, 200),
    ("tpu", 0.19, 1180, 1850, 165, 205),
    ("tpo", 0.20, 900, 2000, 170, 230),
    ("pet", 0.20, 1380, 1200, None, 230),
    ("ptfe_glass", 0.25, 2150, 1000, None, 260),
    ("silicone", 0.22, 1180, 1400, None, 230),
    ("tpc", 0.20, 1180, 1900, 200, 240),  # class: from memory -- polyester elastomer, hard grade
    ("pe", 0.30, 930, 2300, 140, 220),  # class: from memory -- between two handbooks
    ("aluminium", 170, 2700, 900, None, None),  # class: from memory -- 6061 and 6082 at 20 °C
    ("steel", 50, 7850, 480, None, None),  # class: from memory -- EN 1993-1-2
    ("stainless", 14.9, 7900, 477, None, None),  # class: from memory -- Incropera table A.1
]


@pytest.mark.parametrize("row", PROPERTIES, ids=lambda row: row[0])
def test_a_packaged_material_has_the_properties_of_its_source(row) -> None:  # type: ignore[no-untyped-def]
    key, conductivity, density, heat_capacity, fusion, damage = row
    material = CATALOGUE.materials[key]
    assert (material.conductivity_W_mK, material.density_kg_m3, material.heat_capacity_J_kgK) == (
        conductivity,
        density,
        heat_capacity,
    )
    assert (material.fusion_degC, material.damage_degC) == (fusion, damage)


@pytest.mark.parametrize("matrix", ["pvc", "tpu", "tpc", "tpo"])
def test_a_ply_is_the_mixture_of_its_fibre_and_its_matrix(matrix: str) -> None:
    ply, fibre, around = (CATALOGUE.materials[key] for key in (f"ply_{matrix}", "pet", matrix))
    share = 0.6
    density = share * fibre.density_kg_m3 + (1 - share) * around.density_kg_m3
    stored = (
        share * fibre.density_kg_m3 * fibre.heat_capacity_J_kgK
        + (1 - share) * around.density_kg_m3 * around.heat_capacity_J_kgK
    )
    # class: analytic -- geometric mean of conductivities, volume shares of density and heat
    assert ply.conductivity_W_mK == pytest.approx(
        fibre.conductivity_W_mK**share * around.conductivity_W_mK ** (1 - share), rel=1e-3
    )
    assert ply.density_kg_m3 == pytest.approx(density, rel=1e-3)  # class: analytic -- volume shares
    assert ply.heat_capacity_J_kgK == pytest.approx(
        stored / density, rel=1e-3
    )  # class: analytic -- volume shares
    assert ply.fabric
    assert not around.fabric


def test_pressure_goes_off_colder_than_the_weld_fuses() -> None:
    for material in CATALOGUE.materials.values():
        if material.release_degC is not None and material.fusion_degC is not None:
            # class: common practice, no published source -- release 60 or 70 °C, never above fusion less 60
            assert material.release_degC in (60.0, 70.0)
            assert material.release_degC <= material.fusion_degC - 60


def test_every_material_that_gives_off_something_says_so() -> None:
    assert "hydrogen chloride" in CATALOGUE.materials["pvc"].cautions[0]
    assert any("isocyanates" in caution for caution in CATALOGUE.materials["tpu"].cautions)
    assert any("water" in caution for caution in CATALOGUE.materials["ply_tpu"].cautions)


def test_the_bench_has_what_the_work_needs() -> None:
    assert len(CATALOGUE.belts) >= 8
    presses = CATALOGUE.presses.values()
    assert {press.halves for press in presses} == {"hinged", "loose"}
    assert {press.cooling.kind for press in presses} >= {"air", "fan", "water"}
    assert {press.phases for press in presses} == {1, 3}
    assert any(press.cooling.needs_supply for press in presses)
    assert any(press.inner_lead and press.heaviest_part_kg > 15 for press in presses)
    assert any(belt.notched for belt in CATALOGUE.belts.values())
    assert any(belt.guided and not belt.notched for belt in CATALOGUE.belts.values())
    assert any(len(belt.layers) == 1 for belt in CATALOGUE.belts.values())


def test_every_belt_has_a_template_that_fits_and_several_that_do_not() -> None:
    for belt in CATALOGUE.belts.values():
        fitting = {
            template.key
            for press in CATALOGUE.presses.values()
            for punch in CATALOGUE.punches.values()
            if not fit.press_misfits(press, belt.width_mm) and not fit.punch_misfits(punch, belt, press)
            for template in fit.fitting_templates(belt, punch, press, CATALOGUE)
        }
        assert fitting, belt.key
        assert len(fitting) <= len(CATALOGUE.templates) - 5, belt.key


def test_heating_power_agrees_with_the_press_plate() -> None:
    for press in CATALOGUE.presses.values():
        area = press.platen_length_mm * press.platen_width_mm / 1e6
        heaters = (press.upper.power_W_m2 + press.lower.power_W_m2) * area
        # class: analytic -- both platens' power per area; the rest drives controller and valves
        assert 0.85 * press.power_W <= heaters <= press.power_W, press.key
        # class: common practice, no published source -- 8 to 20 kW/m2, losses 5 to 12 W/m2K
        assert 8e3 <= press.upper.power_W_m2 <= 20e3
        assert 5 <= press.upper.loss_W_m2K <= 12


def test_what_is_said_is_words_only_and_never_means_two_things() -> None:
    for kind in ("belts", "presses", "templates", "punches", "cloths"):
        said = [saying for item in getattr(CATALOGUE, kind).values() for saying in item.sayings]
        assert len(said) == len(set(said)), kind
        assert all(saying.replace(" ", "").isalpha() and saying == saying.lower() for saying in said), kind
        assert all(item.sayings for item in getattr(CATALOGUE, kind).values()), kind


def test_digests_are_of_the_bytes(tmp_path: Path) -> None:
    whole = hashlib.sha256()
    for path in sorted((PACKAGED / "cloths").glob("*.toml")):
        raw = path.read_bytes()
        whole.update(len(raw).to_bytes(8, "big") + raw)
    # class: peer library -- hashlib over the files themselves
    assert CATALOGUE.digests["cloths"] == whole.hexdigest()
    assert set(CATALOGUE.digests) == set(KINDS)
    own = _own(tmp_path, "cloths", "silicone")
    own.write_bytes(own.read_bytes() + b"# one more line\n")
    changed = load_catalogue(tmp_path)
    assert changed.digests["cloths"] != CATALOGUE.digests["cloths"]
    assert changed.digests["belts"] == CATALOGUE.digests["belts"]


def _own(folder: Path, kind: str, key: str) -> Path:
    (folder / kind).mkdir()
    path = folder / kind / f"{key}.toml"
    path.write_bytes((PACKAGED / kind / f"{key}.toml").read_bytes())
    return path


def test_the_works_own_file_takes_the_place_of_the_packaged_one(tmp_path: Path) -> None:
    own = _own(tmp_path, "belts", "tray_lift")
    own.write_text(own.read_text().replace("width_mm = 45.0", "width_mm = 50.0"))
    (tmp_path / "belts" / "readme.txt").write_text("not read")
    (tmp_path / "photos").mkdir()
    catalogue = load_catalogue(tmp_path)
    assert catalogue.belts["tray_lift"].width_mm == 50.0
    assert any("takes the place of the packaged 'tray_lift'" in note for note in catalogue.notes)
    assert any("photos" in note and "not read" in note for note in catalogue.notes)


def test_the_works_own_press_needs_no_code(tmp_path: Path) -> None:
    own = _own(tmp_path, "presses", "hinged")
    own.write_text(own.read_text().replace('key = "hinged"', 'key = "old_faithful"'))
    catalogue = load_catalogue(tmp_path)
    assert {"hinged", "old_faithful"} <= set(catalogue.presses)
    assert catalogue.notes == ()


@pytest.mark.parametrize(
    ("kind", "key", "old", "new", "words"),
    [
        ("belts", "tray_lift", "width_mm = 45.0", "width_mm = -3", r"line \d+: the key 'width_mm' is -3 but"),
        ("belts", "tray_lift", "width_mm", "wdith_mm", r"line \d+: the key 'wdith_mm' is not known|'width_mm' is missing"),
        ("belts", "tray_lift", 'material = "ply_tpu"', 'material = "wood"', r"line \d+, layers.1.material: there is no material 'wood'"),
        ("belts", "tray_lift", 'material = "ply_tpu"', 'material = "steel"', "no fusion and damage"),
        ("belts", "tray_lift", "thickness_mm = 0.5", 'thickness_mm = "thin"', r"line 15: .*'layers.1.thickness_mm' is 'thin'"),
        ("materials", "pvc", "fusion_degC = 160.0", "fusion_degC = 210.0", "fusion 210.0 °C must lie below damage"),
        ("materials", "pvc", "= 0.16", "= nan", "conductivity"),
        ("materials", "pvc", "heat_capacity_J_kgK = 1500.0", "heat_capcity_J_kgK = 1500.0", "line 7: the key 'heat_capcity_J_kgK' is not known here; write 'heat_capacity_J_kgK'"),
        ("materials", "pe", "[100.0, 130.0]", "[100.0, 150.0]", r"line \d+: melting_degC ends at 150 °C, above fusion_degC 140 °C"),
        ("presses", "hinged", "power_W_m2 = [9800.0, 18200.0]", "power_W_m2 = [1.0, 2.0]", r"line \d+: power_W_m2 is 14000.0 and its range"),
        ("materials", "pvc", "= 0.16", "= 0.16 0.17", r"line \d+: not TOML"),
        ("templates", "red", 'material = "aluminium"', 'material = "oak"', r"red.toml', line \d+, material: there is no material 'oak'"),
        ("cloths", "smooth", 'material = "ptfe_glass"', 'material = "felt"', r"smooth.toml', line 5, material: there is no material 'felt'"),
        ("presses", "hinged", "schema_version = 1", "schema_version = 2", "schema_version"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_used_is_refused_in_one_sentence(
    tmp_path: Path, kind: str, key: str, old: str, new: str, words: str
) -> None:
    own = _own(tmp_path, kind, key)
    assert old in own.read_text()
    own.write_text(own.read_text().replace(old, new))
    with pytest.raises(BadData, match=words) as refused:
        load_catalogue(tmp_path)
    assert "\n" not in str(refused.value)


def test_two_files_with_one_key_are_refused(tmp_path: Path) -> None:
    own = _own(tmp_path, "punches", "long")
    (own.parent / "again.toml").write_bytes(own.read_bytes())
    with pytest.raises(BadData, match=r"has the key 'long' that .* has already"):
        load_catalogue(tmp_path)


def test_a_folder_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadData, match="no folder"):
        load_catalogue(tmp_path / "nowhere")
    (tmp_path / "file").write_text("x")
    with pytest.raises(BadData, match="is a file"):
        load_catalogue(tmp_path / "file")
    (tmp_path / "empty").mkdir()
    with pytest.raises(BadData, match="holds none of"):
        load_catalogue(tmp_path / "empty")


def test_the_bench_is_read_without_anything_heavy() -> None:
    code = (
        "import sys; from assistant.bench.sheet import build_job; from assistant.bench.catalogue import load_catalogue;"
        "load_catalogue(); print([m for m in ('numpy', 'scipy', 'textual', 'faster_whisper', 'vosk') if m in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
