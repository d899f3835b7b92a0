"""Judging the cold joint: tolerances, findings, what may then be decided, and why it happened."""

from __future__ import annotations

import pytest

from assistant.bench.catalogue import PACKAGED as BENCH
from assistant.bench.catalogue import load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.procedure.causes import FACTS, likely_causes
from assistant.procedure.inspection import (
    NOTHING,
    Judged,
    NotJudgeable,
    allowed_outcomes,
    item_choices,
    item_of,
    judge,
    load_defects,
    load_inspection,
    why_not,
)

CATALOGUE = load_catalogue()


def job(name: str) -> Job:
    built = build_job(read_sheet(BENCH / "jobs" / f"{name}.toml", CATALOGUE), CATALOGUE)
    assert isinstance(built, Job)
    return built


FLAT, GUIDED = job("flat_in_the_shop"), job("guided_on_the_conveyor")


def thickness(joint_mm: float, beside_mm: float) -> Judged:
    beside = {"beside_thickness_2": beside_mm / 1e3}
    return judge(item_of("joint_thickness_2"), joint_mm / 1e3, FLAT, beside)


@pytest.mark.parametrize(
    ("joint_mm", "beside_mm", "finding"),
    [
        # class: common practice, no published source -- thin belts plus or minus 0.1 mm
        (2.0, 2.0, NOTHING), (2.1, 2.0, NOTHING), (1.9, 2.0, NOTHING), (2.11, 2.0, "thick"), (1.89, 2.0, "thin"),
        (3.1, 3.0, NOTHING), (3.12, 3.0, "thick"),
        # class: common practice, no published source -- thick ones plus or minus 5 percent: 0.25 of 5 mm
        (5.25, 5.0, NOTHING), (4.75, 5.0, NOTHING), (5.26, 5.0, "thick"), (4.74, 5.0, "thin"),
    ],
)  # fmt: skip
def test_the_joint_is_as_thick_as_the_belt_beside_it(joint_mm: float, beside_mm: float, finding: str) -> None:
    judged = thickness(joint_mm, beside_mm)
    assert (judged.finding, judged.ok) == (finding, finding == NOTHING)
    assert judged.severity == ("pass" if judged.ok else "fail")
    assert f"{joint_mm:.2f} mm" in judged.sentence
    assert f"{beside_mm:.2f} mm" in judged.sentence


@pytest.mark.parametrize(
    ("slot", "value", "finding"),
    [
        # class: common practice, no published source -- 2 mm in a metre
        ("straightness", 0.002, NOTHING), ("straightness", 0.0021, "bent"), ("straightness", 0.0, NOTHING),
        # class: common practice, no published source -- ten bends
        ("flex_count", 10.0, NOTHING), ("flex_count", 9.0, "few_bends"),
    ],
)  # fmt: skip
def test_straightness_and_bends_have_their_limits(slot: str, value: float, finding: str) -> None:
    assert judge(item_of(slot), value, FLAT, {}).finding == finding


def test_width_is_compared_with_the_belt_on_the_sheet() -> None:
    width_m = FLAT.belt.width_mm / 1e3
    item = item_of("joint_width")
    assert judge(item, width_m, FLAT, {}).ok
    assert judge(item, width_m + 5e-4, FLAT, {}).ok
    assert judge(item, width_m * 1.03 + 1e-3, FLAT, {}).finding == "wide"
    assert judge(item, width_m * 0.97 - 1e-3, FLAT, {}).finding == "narrow"


def test_notches_carry_on_over_the_joint() -> None:
    assert GUIDED.belt.guide is not None
    pitch_mm = GUIDED.belt.guide.notch_pitch_mm
    assert pitch_mm is not None
    item = item_of("notch_spacing")
    assert judge(item, pitch_mm / 1e3, GUIDED, {}).ok
    assert judge(item, (pitch_mm + 1) / 1e3, GUIDED, {}).finding == "notch_gap"
    assert judge(item, (pitch_mm - 1) / 1e3, GUIDED, {}).finding == "notch_gap"
    with pytest.raises(NotJudgeable, match="no notches"):
        judge(item, 0.025, FLAT, {})


def test_a_belt_that_is_not_the_one_on_the_sheet_is_noticed() -> None:
    sheet_m = FLAT.belt.thickness_mm / 1e3
    assert judge(item_of("beside_thickness_1"), sheet_m * 1.1, FLAT, {}).ok
    assert judge(item_of("beside_thickness_1"), sheet_m * 1.5, FLAT, {}).finding == "wrong_belt"


@pytest.mark.parametrize(
    "item", [i for i in load_inspection().items if i.kind == "look"], ids=lambda i: i.slot
)
def test_every_look_knows_its_findings_and_nothing_else(item: object) -> None:
    slot = item.slot  # type: ignore[attr-defined]
    choices = item_choices(slot)
    assert next(iter(choices)) == NOTHING
    for key in choices:
        judged = judge(item_of(slot), key, FLAT, {})
        assert judged.ok == (key == NOTHING)
        assert judged.finding == key
    with pytest.raises(NotJudgeable):
        judge(item_of(slot), "gold", FLAT, {})
    with pytest.raises(NotJudgeable):
        judge(item_of(slot), 2.0, FLAT, {})


def test_no_two_findings_of_one_look_share_a_saying() -> None:
    for item in load_inspection().items:
        if item.kind == "look":
            said = [saying for sayings in item_choices(item.slot).values() for saying in sayings]
            assert len(said) == len(set(said)), item.slot


def test_a_thickness_cannot_be_judged_before_the_one_beside_it() -> None:
    with pytest.raises(NotJudgeable, match="beside"):
        judge(item_of("joint_thickness_1"), 0.002, FLAT, {})
    with pytest.raises(NotJudgeable, match="number"):
        judge(item_of("joint_thickness_1"), "two", FLAT, {})


def judged(*severities: str) -> list[Judged]:
    return [Judged(s == "pass", s, f"It is {s}.", NOTHING) for s in severities]  # type: ignore[arg-type]


def test_a_failed_item_leaves_only_the_redo() -> None:
    findings = judged("pass", "fail", "cosmetic")
    assert allowed_outcomes(findings) == {"cut out and redo"}
    for outcome in ("accepted", "accepted with a note"):
        assert "It is fail." in str(why_not(outcome, findings))  # type: ignore[arg-type]
    assert why_not("cut out and redo", findings) is None


def test_a_cosmetic_item_must_be_mentioned() -> None:
    findings = judged("pass", "cosmetic")
    assert allowed_outcomes(findings) == {"accepted with a note", "cut out and redo"}
    assert "only with a note: It is cosmetic." in str(why_not("accepted", findings))


def test_a_clean_joint_may_be_accepted_or_redone() -> None:
    assert allowed_outcomes(judged("pass", "pass")) == {
        "accepted",
        "accepted with a note",
        "cut out and redo",
    }


def test_a_severity_nobody_knows_is_not_accepted() -> None:
    assert allowed_outcomes(judged("odd")) == {"cut out and redo"}


def test_every_finding_has_causes_whose_facts_the_log_knows() -> None:
    defects = load_defects()
    measured = {"wide", "narrow", "thin", "thick", "bent", "notch_gap", "few_bends", "wrong_belt"}
    looked = {key for item in load_inspection().items for key in item.findings}
    assert set(defects) == measured | looked
    for defect in defects.values():
        for cause in defect.causes:
            assert cause.fact is None or cause.fact in FACTS


def test_causes_that_the_log_supports_come_first_and_those_it_denies_last() -> None:
    causes = likely_causes(
        ["bubbles"], {"release_over_K": 0.0, "over_set_K": 12.0, "pressure_short_fraction": 0.0}
    )
    assert causes[0].cause == "it was too hot"
    assert causes[0].weight == "the log agrees"
    assert "12 °C above set" in causes[0].sentence
    assert [c.weight for c in causes[-2:]] == ["the log speaks against it"] * 2
    assert "the belt was damp" in [c.cause for c in causes if c.weight == "the log cannot tell"]


def test_without_facts_every_cause_stays_possible() -> None:
    causes = likely_causes(["open_fingers", NOTHING, "open_fingers"], {})
    assert {c.weight for c in causes} == {"the log cannot tell"}
    assert len(causes) == len(load_defects()["open_fingers"].causes)


def test_a_fact_under_a_wrong_name_is_an_error_and_not_passed_over() -> None:
    with pytest.raises(KeyError):
        likely_causes(["thin"], {"over_set": 3.0})
