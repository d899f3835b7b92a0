"""Changes written as SLOT=VALUE: read with any unit, and refused in one sentence."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.bench.bad_data import BadData
from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.sheet import read_sheet
from assistant.procedure.as_written import names, read_changes

CATALOGUE = load_catalogue()
SHEET = read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml", CATALOGUE)
UNITS: pint.UnitRegistry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize(
    ("pair", "slot", "number", "unit"),
    [
        ("shop_temperature=5", "shop_temperature", 5, "degC"),
        ("shop_degC=-5", "shop_temperature", -5, "degC"),
        ("upper_temperature=374 F", "upper_temperature", 374, "degF"),
        ("supply_voltage=210V", "supply_voltage", 210, "V"),
        ("belt_thickness=2.2 mm", "belt_thickness", 2.2, "mm"),
        ("belt_thickness_mm=2.2", "belt_thickness", 2.2, "mm"),
        ("belt_thickness=80 thou", "belt_thickness", 80, "thou"),
        ("lead_length=50", "lead_length", 50, "m"),
        ("lead_section=1.5", "lead_section", 1.5, "mm**2"),
        ("dwell=300", "dwell", 300, "s"),
        ("dwell=5 min", "dwell", 5, "min"),
        ("pressure=1.5", "pressure", 1.5, "bar"),
        ("pressure=29 psi", "pressure", 29, "psi"),
        ("platens=190", "platens", 190, "degC"),
    ],
)
def test_a_value_is_read_in_its_unit(pair: str, slot: str, number: float, unit: str) -> None:
    changes = read_changes([pair], SHEET, CATALOGUE)
    # class: peer library -- pint's own unit definitions
    assert changes == {slot: pytest.approx(UNITS.Quantity(number, unit).to_base_units().m, rel=1e-6)}


def test_percent_and_choices_are_read() -> None:
    changes = read_changes(
        ["elongation=0.7 %", "press=two_part", "template=the red template"], SHEET, CATALOGUE
    )
    # class: analytic -- a percent is a hundredth
    assert changes == {"elongation": pytest.approx(0.007), "press": "two_part", "template": "red"}


@pytest.mark.parametrize(
    ("pairs", "part"),
    [
        (["shp=5"], "shop_temperature"),
        (["shop_temperature"], "SLOT=VALUE"),
        (["shop_temperature="], "SLOT=VALUE"),
        (["press=other"], "two_part"),
        (["dwell=4 parsecs"], "not a duration"),
        (["belt_thickness=1e9"], "slip"),
        (["belt_thickness=2 mils"], "either"),
        (["shop_temperature=5", "shop_degC=6"], "twice"),
    ],
)
def test_what_cannot_be_understood_is_refused_in_a_sentence(pairs: list[str], part: str) -> None:
    with pytest.raises(BadData, match=part) as refused:
        read_changes(pairs, SHEET, CATALOGUE)
    assert "\n" not in str(refused.value)


def test_planning_values_are_read_as_times_what_is_planned() -> None:
    # class: analytic -- a dry joint is planned with 1e-4 m²K/W
    assert read_changes(["contact=2e-4"], SHEET, CATALOGUE) == {"contact": pytest.approx(2.0)}
    assert read_changes(["contact=200%"], SHEET, CATALOGUE) == {"contact": pytest.approx(2.0)}
    assert read_changes(["conductivity=85", "heat_capacity=120 %"], SHEET, CATALOGUE) == {
        "conductivity": pytest.approx(0.85), "heat_capacity": pytest.approx(1.2),
    }  # fmt: skip
    with pytest.raises(BadData, match="200%"):
        read_changes(["contact=2"], SHEET, CATALOGUE)


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    for name in ("shop_temperature", "press", "dwell"):
        try:
            changes = read_changes([f"{name}={text}"], SHEET, CATALOGUE)
        except BadData:
            continue
        assert list(changes) == [name]


def test_every_name_can_be_set_to_what_it_is() -> None:
    known = names(SHEET, CATALOGUE)
    assert {"belt", "press", "template", "shop_temperature", "lead_section", "dwell", "platens"} <= set(known)
    for slot, value in SHEET.items():
        if isinstance(value, str) and slot in known:
            assert read_changes([f"{slot}={value}"], SHEET, CATALOGUE) == {slot: value}
