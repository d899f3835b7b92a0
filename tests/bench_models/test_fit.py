"""Belt, press, punch, template: what goes together. Margins are common practice, no published source."""

from dataclasses import replace

import pytest

from assistant.bench import fit
from assistant.bench.belt import Belt, BeltLayer, Guide
from assistant.bench.catalogue import load_catalogue

CATALOGUE = load_catalogue()
HINGED, LONG = CATALOGUE.presses["hinged"], CATALOGUE.punches["long"]


def belt(thickness_mm: float = 2.0, width_mm: float = 45.0, guide: Guide | None = None) -> Belt:
    layer = BeltLayer(material="tpu", thickness_mm=thickness_mm)
    return Belt(
        key="trial", name="trial belt", layers=(layer,), width_mm=width_mm, guide=guide, source="invented"
    )


def misfits(template: str, given: Belt) -> str:
    return " ".join(fit.template_misfits(CATALOGUE.templates[template], given, LONG, HINGED))


@pytest.mark.parametrize(
    ("thickness", "width", "words"),
    [
        (2.0, 45.0, ""),
        (1.95, 45.0, ""),  # class: common practice, no published source -- bars 0.1 mm lower
        (2.05, 45.0, ""),  # class: common practice, no published source -- bars 0.2 mm lower
        (1.89, 45.0, "rest on metal"),
        (2.2, 45.0, "squeezed out"),
        (2.0, 45.6, "does not go in"),
        (2.0, 44.4, "flow out sideways"),
    ],
)
def test_a_flat_template_fits_its_belt_only(thickness: float, width: float, words: str) -> None:
    found = misfits("green", belt(thickness, width))
    assert (words in found) if words else found == ""


@pytest.mark.parametrize(
    ("guide", "words"),
    [
        (Guide(material="tpu", width_mm=10, height_mm=6, notch_pitch_mm=20), ""),
        (
            Guide(material="tpu", width_mm=10, height_mm=6, notch_pitch_mm=25),
            "every 20 mm and the notches every 25 mm",
        ),
        (Guide(material="tpu", width_mm=10, height_mm=6), "no notches"),
        (Guide(material="tpu", width_mm=13, height_mm=6, notch_pitch_mm=20), "too narrow"),
        (Guide(material="tpu", width_mm=8, height_mm=6, notch_pitch_mm=20), "too wide"),
        (Guide(material="tpu", width_mm=10, height_mm=8, notch_pitch_mm=20), "lift the belt"),
        (Guide(material="tpu", width_mm=10, height_mm=5, notch_pitch_mm=20), "unsupported"),
        (None, "groove and the belt no guide"),
    ],
)
def test_a_groove_fits_its_guide_and_its_notches_only(guide: Guide | None, words: str) -> None:
    found = misfits("purple", belt(guide=guide))
    assert (words in found) if words else found == ""


def test_a_notched_belt_needs_teeth() -> None:
    given = belt(width_mm=50.0, guide=Guide(material="tpu", width_mm=10, height_mm=6, notch_pitch_mm=20))
    assert "no teeth" in misfits("brown", given)
    assert "no groove" in misfits("green", given)


def test_a_plate_longer_than_the_platens_does_not_go_in() -> None:
    assert "longer than the platens" in misfits("grey", belt(2.4, 120.0))
    narrow = HINGED.model_copy(update={"platen_width_mm": 100.0})
    assert any("wider than the platens" in reason for reason in fit.template_misfits(CATALOGUE.templates["grey"], belt(2.4, 120.0), LONG, narrow))  # fmt: skip


def test_a_punch_cuts_what_goes_through_it() -> None:
    assert fit.punch_misfits(LONG, belt(), HINGED) == []
    assert "cuts belts up to" in fit.punch_misfits(CATALOGUE.punches["fine"], belt(width_mm=80), HINGED)[0]
    assert "narrower than one finger pitch" in fit.punch_misfits(LONG, belt(width_mm=12), HINGED)[0]


def test_a_short_margin_and_weak_edges_are_told() -> None:
    long_fingers = LONG.model_copy(update={"length_mm": 120.0})
    told = fit.notes(CATALOGUE.templates["green"], belt(), long_fingers)
    # class: common practice, no published source -- 30 mm beyond the fingers, never under 10
    assert told == ["The plate reaches only 20 mm beyond the fingers each way, not 30: centre it well."]
    assert "curl" in fit.notes(CATALOGUE.templates["green"], belt(width_mm=48.0), LONG)[0]
    assert fit.notes(CATALOGUE.templates["green"], belt(), LONG) == []


def test_a_cloth_must_bear_the_heat_of_the_belt() -> None:
    assert fit.cloth_misfits(CATALOGUE.cloths["silicone"], belt(), CATALOGUE) == []
    weak = dict(CATALOGUE.materials)
    weak["silicone"] = weak["silicone"].model_copy(update={"damage_degC": 170.0})
    (reason,) = fit.cloth_misfits(CATALOGUE.cloths["silicone"], belt(), replace(CATALOGUE, materials=weak))
    assert "bears 170 °C, and the belt fuses only at 165 °C" in reason
    weak["silicone"] = weak["silicone"].model_copy(update={"damage_degC": None})
    (reason,) = fit.cloth_misfits(CATALOGUE.cloths["silicone"], belt(), replace(CATALOGUE, materials=weak))
    assert "not known" in reason


def test_thin_belts_of_common_practice_have_a_template() -> None:
    # class: common practice, no published source -- narrow belts of 1.5 to 2.5 mm
    for tenth in range(15, 26):
        assert fit.fitting_templates(belt(tenth / 10), LONG, HINGED, CATALOGUE), tenth
