"""What a planning value stands for, and what it would be to find it otherwise: contact, conductivity, heat capacity.

They are no questions of the sheet, since nobody measures them at the press; they are told as so many times the
planned value, and only a 'what if' ever changes them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.bench.job import Job
from assistant.bench.slots import Value

LEAST, MOST = 0.1, 10.0  # times as planned; beyond, it is a slip


@dataclass(frozen=True)
class AsPlanned:
    """label, sayings, why: as for a slot of the sheet. key: the factor of the job."""

    slot: str
    label: str
    sayings: tuple[str, ...]
    key: str
    why: str


AS_PLANNED: dict[str, AsPlanned] = {
    one.slot: one
    for one in (
        AsPlanned(
            "contact", "contact resistance",
            ("contact resistance", "contact", "heat contact", "thermal contact", "resistance of the contact"), "contact_factor",
            "Every two faces that meet hold the heat back a little; the dwell allows for a contact twice as bad.",
        ),
        AsPlanned(
            "conductivity", "belt conductivity",
            ("conductivity", "belt conductivity", "conductivity of the belt", "belt conducts", "heat conductivity", "thermal conductivity"),
            "conductivity_factor", "How fast heat gets through the belt: its data give it, and the dwell allows for less.",
        ),
        AsPlanned(
            "heat_capacity", "belt heat capacity",
            ("heat capacity", "belt heat capacity", "heat capacity of the belt", "specific heat", "belt holds"), "capacity_factor",
            "How much heat the belt takes to warm up: its data give it, and the dwell allows for more.",
        ),
    )
}  # fmt: skip


def unlike(changes: Mapping[str, Value]) -> str:
    """Why a factor cannot be; '' where all may be asked of the recipe."""
    for slot, value in changes.items():
        if slot in AS_PLANNED and not LEAST <= float(value) <= MOST:
            return f"The {AS_PLANNED[slot].label} cannot be {told(float(value))}: it lies between {told(LEAST)} and {told(MOST)}."
    return ""


def with_factors(job: Job, changes: Mapping[str, Value]) -> Job:
    """The job with what `changes` has of these, times as planned."""
    factors = {AS_PLANNED[slot].key: float(value) for slot, value in changes.items() if slot in AS_PLANNED}
    return job.model_copy(update=factors) if factors else job


def told(factor: float) -> str:
    """'85 % of what is planned'."""
    return f"{100 * factor:.4g} % of what is planned"
