"""The job sheet: what is asked, what is refused and why, and the job that comes of it."""

import re
from pathlib import Path

import pytest

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import (
    SLOTS,
    Value,
    build_job,
    conflicts,
    missing,
    proposal,
    read_sheet,
    refusal,
    slots_for,
    traits,
    with_defaults,
)

CATALOGUE = load_catalogue()
JOBS = {path.stem: path for path in sorted((PACKAGED / "jobs").glob("*.toml"))}


def flat() -> dict[str, Value]:
    return read_sheet(JOBS["flat_in_the_shop"], CATALOGUE)


def unlisted(**changes: Value) -> dict[str, Value]:
    values: dict[str, Value] = {
        **flat(), "belt": "other", "belt_material": "tpu", "belt_plies": 2.0, "belt_guide": "none",
    }  # fmt: skip
    return {**values, **changes}


@pytest.mark.parametrize("name", JOBS)
def test_each_example_gives_a_whole_job(name: str) -> None:
    values = read_sheet(JOBS[name], CATALOGUE)
    assert missing(values, CATALOGUE) == ()
    assert conflicts(values, CATALOGUE) == {}
    job = build_job(values, CATALOGUE)
    assert isinstance(job, Job)
    needed = {layer.material for layer in job.belt.layers} | {
        job.template.material,
        job.template.plate_material,
    }
    assert needed <= set(job.materials)


def test_the_three_examples_are_quite_different() -> None:
    found = {name: traits(read_sheet(path, CATALOGUE), CATALOGUE) for name, path in JOBS.items()}
    assert found["flat_in_the_shop"] == {
        "job_kind": "shop", "guided": False, "notched": False, "halves": "hinged", "inner_lead": False,
        "cooling": "air", "supply_until_vented": False, "heavy": False, "new_pair": False,
    }  # fmt: skip
    guided, solid = found["guided_on_the_conveyor"], found["solid_with_water"]
    assert (guided["job_kind"], guided["notched"], guided["halves"], guided["inner_lead"], guided["heavy"]) == (
        "conveyor", True, "loose", True, True,
    )  # fmt: skip
    assert (solid["cooling"], solid["supply_until_vented"]) == ("water", True)


def test_an_empty_sheet_asks_for_everything_in_order() -> None:
    asked = [info.slot for info in missing({}, CATALOGUE)]
    assert asked == [
        "technician", "job_kind", "belt", "belt_thickness", "belt_width", "press", "punch", "template",
        "endless_length", "supply_voltage", "lead_length", "lead_section", "shop_temperature", "new_pair",
    ]  # fmt: skip
    assert traits({}, CATALOGUE) == {}


def test_an_unlisted_belt_is_asked_about() -> None:
    asked = [info.slot for info in missing({"belt": "other"}, CATALOGUE)]
    assert asked[2:5] == ["belt_material", "belt_plies", "belt_guide"]
    assert "notch_pitch" not in asked
    guided = [info.slot for info in missing({"belt": "other", "belt_guide": "a"}, CATALOGUE)]
    assert "notch_pitch" in guided


def test_no_lead_needs_no_section() -> None:
    assert "lead_section" not in [info.slot for info in missing({"lead_length": 0.0}, CATALOGUE)]
    values = flat() | {"lead_length": 0.0}
    del values["lead_section"]
    job = build_job(values, CATALOGUE)
    assert isinstance(job, Job)
    assert job.supply.lead_length_m == 0


def test_every_slot_can_be_asked_aloud() -> None:
    for info in slots_for({"belt": "other", "belt_guide": "a"}, CATALOGUE):
        assert info.question.endswith(("?", "."))
        assert info.why.endswith(".")
        assert (info.kind == "choice") == bool(info.choices), info.slot
        assert (info.kind == "quantity") == (info.quantity is not None), info.slot
        for choice in info.choices:
            assert choice.sayings
    assert len({info.slot for info in SLOTS}) == len(SLOTS)


@pytest.mark.parametrize(
    ("slot", "value", "words"),
    [
        ("belt_width", 4.5, "4500 mm cannot be: the widest press here takes"),
        ("belt_width", 0.0, "zero or less"),
        ("belt_width", 0.055, "does not go with the packing line belt, which is 45 mm wide"),
        ("belt_thickness", 0.0, "zero or less cannot be"),
        ("belt_thickness", -0.001, "zero or less"),
        ("belt_thickness", 0.0024, "20 % off the 2 mm of the packing line belt"),
        ("belt_thickness", float("nan"), "must be a number"),
        ("belt_thickness", "thick", "must be a number"),
        ("belt", "conveyor_nine", "There is no belt 'conveyor_nine' on the bench"),
        ("belt", 3.0, "in words"),
        (
            "press",
            "steam",
            "There is no press 'steam' on the bench: there is hinged, two part or water cooled",
        ),
        ("template", "blue", "too low for a belt of 2 mm.*The green template fits"),
        ("template", "yellow", "rest on metal"),
        ("template", "gold", "flow out sideways"),
        ("template", "silver", "does not go in"),
        ("template", "purple", "groove and the belt no guide"),
        ("cloth_above", "felt", "There is no cloth 'felt'"),
        ("endless_length", 0.2, "cannot be"),
        ("endless_length", 900.0, "cannot be"),
        ("elongation", 0.02, "2 % is outside what the belt allows, 0.2 to 1 %"),
        ("supply_voltage", 110.0, "110 V does not suit the hinged press: its plate says 230 V"),
        ("supply_voltage", 0.0, "does not suit"),
        ("lead_length", -1.0, "cannot be"),
        ("lead_section", 1e-6, "not in the table"),
        ("lead_coiled", "yes", "unroll"),
        ("shop_temperature", 333.15, "60 °C cannot be worked in"),
        ("job_kind", "barn", "is no answer"),
        ("technician", "  ", "between one and 60 letters"),
        ("technician", "a\nb", "between one and 60 letters"),
    ],
)
def test_what_cannot_be_is_refused_with_the_reason(slot: str, value: Value, words: str) -> None:
    reason = refusal(slot, value, flat(), CATALOGUE)
    assert reason is not None
    assert re.search(words, reason), reason
    assert "\n" not in reason


def test_what_stands_on_the_sheet_is_not_refused() -> None:
    for path in JOBS.values():
        values = read_sheet(path)
        for slot, value in values.items():
            assert refusal(slot, value, values, CATALOGUE) is None


def test_fingers_longer_than_the_plate_are_refused(tmp_path: Path) -> None:
    for kind, key, old, new in (
        ("punches", "wide", "length_mm = 80.0", "length_mm = 170.0"),
        ("punches", "long", "length_mm = 60.0", "length_mm = 145.0"),
    ):
        (tmp_path / kind).mkdir(exist_ok=True)
        text = (PACKAGED / kind / f"{key}.toml").read_text()
        without_ranges = re.sub(r"\[ranges\]\n(?:.+\n)+", "", text)
        (tmp_path / kind / f"{key}.toml").write_text(without_ranges.replace(old, new))
    catalogue = load_catalogue(tmp_path)
    reason = refusal("punch", "wide", flat(), catalogue)
    assert reason is not None
    assert "Fingers of 170 mm need 230 mm of heated length" in reason
    assert refusal("punch", "long", flat(), catalogue) is None
    plate = refusal("template", "green", flat(), catalogue)
    assert plate is not None
    assert "160 mm long and must be 165 mm at least" in plate


def test_a_belt_wider_than_the_press_is_refused() -> None:
    values = unlisted(belt_width=0.180)
    reason = refusal("press", "hinged", values, CATALOGUE)
    assert reason == "The hinged press takes belts up to 140 mm wide, and this one has 180 mm."
    assert refusal("press", "two_part", values, CATALOGUE) is None


def test_a_lead_that_loses_too_much_is_refused_for_this_press() -> None:
    values = {**flat(), "press": "two_part", "lead_length": 50.0}
    reason = refusal("lead_section", 1.5e-6, values, CATALOGUE)
    assert reason is not None
    # class: analytic -- twice 25 m of 1.5 mm2 at 13.043 A
    assert "drop by 9.0 %" in reason
    assert refusal("lead_section", 6e-6, values, CATALOGUE) is None


def test_a_ply_in_a_material_whose_limit_is_unknown_is_refused() -> None:
    values: dict[str, Value] = {"belt": "other", "belt_material": "pe"}
    reason = refusal("belt_plies", 1.0, values, CATALOGUE)
    assert reason is not None
    assert "ply_pe" in reason
    assert refusal("belt_plies", 0.0, values, CATALOGUE) is None
    assert refusal("belt_plies", 1.5, values, CATALOGUE) is not None
    assert refusal("belt_plies", 4.0, values, CATALOGUE) is not None


def test_a_notched_belt_that_would_leave_its_range_is_refused_with_both_numbers() -> None:
    values = read_sheet(JOBS["guided_on_the_conveyor"], CATALOGUE)
    reason = refusal("endless_length", 1.0124, values, CATALOGUE)
    assert reason is not None
    assert "39 give" in reason
    assert "41 give" in reason


def test_a_later_change_upsets_what_was_chosen_for_it() -> None:
    values = flat() | {"belt_thickness": 0.00182}
    assert list(conflicts(values, CATALOGUE)) == ["template"]
    (gap,) = missing(values, CATALOGUE)
    assert gap.slot == "template"
    assert "The blue template fits. Which template is it?" in gap.question
    problems = build_job(values, CATALOGUE)
    assert isinstance(problems, tuple)
    assert "rest on metal" in problems[0]
    assert isinstance(build_job(values | {"template": "blue"}, CATALOGUE), Job)


def test_the_covers_take_up_the_measured_thickness_and_the_plies_keep_theirs() -> None:
    job = build_job(flat() | {"belt_thickness": 0.0021}, CATALOGUE)
    assert isinstance(job, Job)
    listed = CATALOGUE.belts["packing_line"]
    assert job.belt.thickness_mm == pytest.approx(2.1)  # class: analytic -- as measured
    for measured, catalogued in zip(job.belt.layers, listed.layers, strict=True):
        # class: analytic -- covers 1.2 mm scaled to 1.3 mm, plies 0.4 mm unchanged
        factor = 1.0 if CATALOGUE.materials[catalogued.material].fabric else 1.3 / 1.2
        assert measured.thickness_mm == pytest.approx(catalogued.thickness_mm * factor)


def test_an_unlisted_belt_is_built_of_equal_layers() -> None:
    job = build_job(unlisted(), CATALOGUE)
    assert isinstance(job, Job)
    assert [layer.material for layer in job.belt.layers] == ["tpu", "ply_tpu", "tpu", "ply_tpu", "tpu"]
    assert job.belt.thickness_mm == pytest.approx(2.0)  # class: analytic -- five layers of 0.4 mm
    assert job.belt.guide is None


def test_an_unlisted_notched_belt_needs_the_template_with_its_teeth() -> None:
    values = unlisted(belt_guide="z", notch_pitch=0.020, template="purple", endless_length=6.43)
    job = build_job(values, CATALOGUE)
    assert isinstance(job, Job)
    assert job.belt.notched
    assert traits(values, CATALOGUE)["notched"] is True
    assert "no notches" in str(build_job({**values, "notch_pitch": 0.0}, CATALOGUE))
    assert "every 20 mm and the notches every 25 mm" in str(
        build_job({**values, "notch_pitch": 0.025}, CATALOGUE)
    )
    assert "no groove" in str(build_job({**values, "template": "green"}, CATALOGUE))


def test_what_is_told_about_an_unlisted_belt_does_not_touch_a_listed_one() -> None:
    values = flat() | {"belt_material": "tpu", "notch_pitch": 0.02}
    job = build_job(values, CATALOGUE)
    assert isinstance(job, Job)
    assert job.belt.layers[0].material == "pvc"


def test_defaults_are_filled_in_and_said() -> None:
    values = flat()
    for slot in ("cloth_above", "cloth_below", "elongation"):
        del values[slot]
    filled, told = with_defaults(values, CATALOGUE)
    assert (filled["cloth_above"], filled["cloth_below"]) == ("silicone", "silicone")
    # class: common practice, no published source -- 0.3 to 1 % stretch
    assert filled["elongation"] == pytest.approx(0.006)
    assert len(told) == 4  # the lead is taken as unrolled, too
    assert missing(values, CATALOGUE) == ()


def test_the_belt_data_are_proposed_for_what_is_measured() -> None:
    assert proposal("belt_thickness", {"belt": "packing_line"}, CATALOGUE) == (
        0.002, "the data of the packing line belt",
    )  # fmt: skip
    assert proposal("supply_voltage", {"press": "water_cooled"}, CATALOGUE) == (
        400.0, "the plate of the water cooled press",
    )  # fmt: skip
    assert proposal("belt_thickness", {"belt": "other"}, CATALOGUE) is None
    assert proposal("shop_temperature", {}, CATALOGUE) is None


def test_a_sheet_with_gaps_gives_sentences_and_no_job() -> None:
    problems = build_job({"belt": "packing_line"}, CATALOGUE)
    assert isinstance(problems, tuple)
    assert "The belt thickness is missing." in problems
    assert all(problem.endswith(".") for problem in problems)
