"""Judging the cold joint, item by item: what was seen, what was measured, and what may then be decided."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Protocol, Self

from pydantic import Field, model_validator

from assistant.bench.strict import Strict

if TYPE_CHECKING:
    from assistant.bench.job import Job

Severity = Literal["pass", "cosmetic", "fail"]
Rule = Literal[
    "thickness beside", "thickness of the joint", "width", "straightness", "notch spacing", "bends"
]
Outcome = Literal["accepted", "accepted with a note", "cut out and redo"]

NOTHING = "nothing"
NOTHING_SAYINGS = (
    "there is no problem",
    "it looks good",
    "it is smooth",
    "nothing",
    "nothing wrong",
    "it is good",
)

_DATA = Path(__file__).parent / "data"
_GAUGE_m = 1.0e-6  # below what any gauge shows: a difference of exactly the tolerance is within it


class Cause(Strict):
    """A likely cause. `fact`, `above`: what the log must show to support it; without, the log cannot tell."""

    cause: str = Field(min_length=8)
    change: str = Field(min_length=8)
    fact: str | None = None
    above: float | None = None

    @model_validator(mode="after")
    def _fact_has_its_limit(self) -> Self:
        if (self.fact is None) != (self.above is None):
            raise ValueError(f"the cause '{self.cause}' needs both 'fact' and 'above', or neither")
        return self


class Defect(Strict):
    key: str = Field(pattern=r"^[a-z][a-z_]*$")
    name: str = Field(min_length=3)
    sayings: tuple[str, ...] = Field(min_length=1)
    severity: Literal["cosmetic", "fail"]
    causes: tuple[Cause, ...] = Field(min_length=1)


class Defects(Strict):
    schema_version: Literal[1] = 1
    source: str = Field(min_length=4)
    defects: tuple[Defect, ...]


class Item(Strict):
    """Something to look at (one of `findings`, or nothing) or to measure (judged by `rule`)."""

    slot: str
    label: str = Field(min_length=3)
    kind: Literal["look", "measure"]
    findings: tuple[str, ...] = ()
    rule: Rule | None = None
    beside: str | None = None  # the slot that a thickness over the joint is compared with

    @model_validator(mode="after")
    def _can_be_judged(self) -> Self:
        if self.kind == "look" and not self.findings:
            raise ValueError(f"'{self.slot}' is looked at and needs 'findings'")
        if self.kind == "measure" and self.rule is None:
            raise ValueError(f"'{self.slot}' is measured and needs a 'rule'")
        return self


class Tolerance(Strict):
    thin_belt_mm: float = Field(gt=0)
    thin_mm: float = Field(gt=0)
    thick_percent: float = Field(gt=0, lt=50)
    beside_percent: float = Field(gt=0, lt=50)
    width_percent: float = Field(gt=0, lt=50)
    width_mm: float = Field(gt=0)
    straightness_mm: float = Field(gt=0)
    notch_mm: float = Field(gt=0)
    bends: int = Field(ge=1)


class Inspection(Strict):
    schema_version: Literal[1] = 1
    source: str = Field(min_length=4)
    items: tuple[Item, ...]
    tolerance: Tolerance


class NotJudgeable(ValueError):  # noqa: N818 - a refusal with its reason, not a fault
    """The value is no answer to the item; str() says what is wanted instead."""


@dataclass(frozen=True)
class Judged:
    """ok: nothing to mention. finding: a defect's key, or 'nothing'."""

    ok: bool
    severity: Severity
    sentence: str
    finding: str


@cache
def load_inspection() -> Inspection:
    return Inspection.model_validate(tomllib.loads((_DATA / "inspection.toml").read_text("utf-8")))


@cache
def load_defects() -> dict[str, Defect]:
    defects = Defects.model_validate(tomllib.loads((_DATA / "defects.toml").read_text("utf-8")))
    return {defect.key: defect for defect in defects.defects}


def item_of(slot: str) -> Item:
    """Raises: KeyError for a slot that is not an inspection item."""
    for item in load_inspection().items:
        if item.slot == slot:
            return item
    raise KeyError(slot)


def item_choices(slot: str) -> dict[str, tuple[str, ...]]:
    """What can be found when looking at `slot`: key to sayings, 'nothing' first."""
    defects = load_defects()
    return {NOTHING: NOTHING_SAYINGS} | {key: defects[key].sayings for key in item_of(slot).findings}


def findings_sayings() -> tuple[str, ...]:
    """Every way to say what can be found when looking at a joint."""
    return (*NOTHING_SAYINGS, *(saying for one in load_defects().values() for saying in one.sayings))


def judge(item: Item, value: float | str, job: Job, values: Mapping[str, float | str]) -> Judged:
    """Judges one item.

    value: a finding's key for a look, SI for a measure (m; a count as a number). values: what has
    been measured so far, by slot, SI.
    Raises: NotJudgeable for a value that is no answer to the item, or a joint thickness before the
    one beside it.
    """
    if item.kind == "look":
        return _looked(item, value)
    if isinstance(value, str):
        raise NotJudgeable(f"'{value}' is not a measured {item.label}; tell a number")
    allowed = load_inspection().tolerance
    match item.rule:
        case "thickness beside":
            return _beside(item, value, job, allowed)
        case "thickness of the joint":
            beside = values.get(item.beside or "")
            if not isinstance(beside, float):
                raise NotJudgeable(f"measure the thickness beside the joint before the {item.label}")
            return _thickness(item, value, beside, allowed)
        case "width":
            width_m = job.belt.width_mm / 1e3
            limit_m = max(allowed.width_mm / 1e3, width_m * allowed.width_percent / 100)
            return _near(item, value, width_m, limit_m, over="wide", under="narrow", than="the belt")
        case "notch spacing":
            pitch_mm = job.belt.guide.notch_pitch_mm if job.belt.guide is not None else None
            if pitch_mm is None:
                raise NotJudgeable("this belt has no notches to measure")
            return _near(
                item,
                value,
                pitch_mm / 1e3,
                allowed.notch_mm / 1e3,
                over="notch_gap",
                under="notch_gap",
                than="the pitch",
            )
        case "straightness":
            limit_m = allowed.straightness_mm / 1e3
            if value <= limit_m + _GAUGE_m:
                return _passed(
                    f"Straight: {value * 1e3:.1f} mm in a metre, within {allowed.straightness_mm:.1f}."
                )
            return _found(
                "bent", f"Off by {value * 1e3:.1f} mm in a metre; {allowed.straightness_mm:.1f} is allowed."
            )
        case "bends":
            if value >= allowed.bends:
                return _passed(f"Bent {value:.0f} times.")
            return _found("few_bends", f"Bent {value:.0f} times only; {allowed.bends} times is the least.")
    raise NotJudgeable(f"'{item.slot}' has no rule to be judged by")


def _looked(item: Item, value: float | str) -> Judged:
    if value == NOTHING:
        return _passed(f"{item.label.capitalize()}: nothing found.")
    if not isinstance(value, str) or value not in item.findings:
        raise NotJudgeable(f"'{value}' is not something to be found at the {item.label}")
    return _found(value, f"{item.label.capitalize()}: {load_defects()[value].name}.")


def _beside(item: Item, value_m: float, job: Job, allowed: Tolerance) -> Judged:
    sheet_m = job.belt.thickness_mm / 1e3
    if abs(value_m - sheet_m) <= sheet_m * allowed.beside_percent / 100 + _GAUGE_m:
        return _passed(f"{item.label.capitalize()}: {value_m * 1e3:.2f} mm.")
    return _found(
        "wrong_belt",
        f"{item.label.capitalize()}: {value_m * 1e3:.2f} mm, but the job sheet says {sheet_m * 1e3:.2f} mm. Measure again.",
    )


def _thickness(item: Item, value_m: float, beside_m: float, allowed: Tolerance) -> Judged:
    thin_belt = beside_m <= allowed.thin_belt_mm / 1e3
    limit_m = allowed.thin_mm / 1e3 if thin_belt else beside_m * allowed.thick_percent / 100
    return _near(item, value_m, beside_m, limit_m, over="thick", under="thin", than="beside")


def _near(
    item: Item, value_m: float, want_m: float, limit_m: float, *, over: str, under: str, than: str
) -> Judged:
    difference_m = value_m - want_m
    figures = f"{value_m * 1e3:.2f} mm against {want_m * 1e3:.2f} mm of {than}" if than != "beside" else (
        f"{value_m * 1e3:.2f} mm against {want_m * 1e3:.2f} mm beside"
    )  # fmt: skip
    off = f"{abs(difference_m) * 1e3:.2f} mm {'more' if difference_m > 0 else 'less'}"
    if abs(difference_m) <= limit_m + _GAUGE_m:
        return _passed(f"{item.label.capitalize()}: {figures}, within {limit_m * 1e3:.2f} mm.")
    key = over if difference_m > 0 else under
    return _found(key, f"{item.label.capitalize()}: {figures}, {off}; {limit_m * 1e3:.2f} mm is allowed.")


def _passed(sentence: str) -> Judged:
    return Judged(True, "pass", sentence, NOTHING)


def _found(key: str, sentence: str) -> Judged:
    return Judged(False, load_defects()[key].severity, sentence, key)


class HasSeverity(Protocol):
    @property
    def severity(self) -> str: ...
    @property
    def sentence(self) -> str: ...


def allowed_outcomes(findings: Iterable[HasSeverity]) -> frozenset[Outcome]:
    """What may be decided. A failed item leaves only the redo; a cosmetic one must be mentioned."""
    severities = {finding.severity for finding in findings}
    if severities - {"pass", "cosmetic"}:
        return frozenset({"cut out and redo"})
    if "cosmetic" in severities:
        return frozenset({"accepted with a note", "cut out and redo"})
    return frozenset({"accepted", "accepted with a note", "cut out and redo"})


def why_not(outcome: Outcome, findings: Iterable[HasSeverity]) -> str | None:
    """The reason why `outcome` is refused; None where it is allowed."""
    found = tuple(findings)
    if outcome in allowed_outcomes(found):
        return None
    failed = [finding.sentence for finding in found if finding.severity not in ("pass", "cosmetic")]
    if failed:
        return f"It cannot be accepted: {' '.join(failed)} Cut it out and redo it."
    seen = " ".join(finding.sentence for finding in found if finding.severity == "cosmetic")
    return f"It can be accepted only with a note: {seen}"
