"""The values that a procedure asks for, sets and reads, besides the job sheet: words, kinds and limits.

The limits here only keep out what cannot be; the press and the belt narrow them at the act.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from intents.meaning import Choice, QuantityKind

_ZERO_K = 273.15
HIGHEST_SHOWN_degC = 999.0  # three digits: what is far too hot is recorded, not turned away


@dataclass(frozen=True)
class ProcedureSlot:
    """One value. `low` and `high` are SI (K, s, Pa gauge, m). `sayings`: how people name it.

    readable: a reading of it may be told at any moment of the run, unasked.
    changeable: may be corrected by 'change ... to ...' while nothing stands on it yet.
    """

    slot: str
    label: str
    question: str
    kind: Literal["quantity", "choice"]
    quantity: QuantityKind | None = None
    low: float = float("-inf")
    high: float = float("inf")
    sayings: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    readable: bool = False
    changeable: bool = False


def _kelvin(celsius: float) -> float:
    return celsius + _ZERO_K


RECIPE_SLOTS: dict[str, ProcedureSlot] = {
    slot.slot: slot
    for slot in (
        ProcedureSlot(
            "upper_temperature", "upper platen", "What shall the upper platen be set to?", "quantity", "temperature",
            _kelvin(60), _kelvin(300), ("upper temperature", "upper platen", "upper plate", "upper side", "upper"), changeable=True,
        ),
        ProcedureSlot(
            "lower_temperature", "lower platen", "What shall the lower platen be set to?", "quantity", "temperature",
            _kelvin(60), _kelvin(300), ("lower temperature", "lower platen", "lower plate", "lower side", "lower"), changeable=True,
        ),
        ProcedureSlot(
            "dwell", "dwell", "How long shall the dwell be?", "quantity", "duration", 1.0, 3600.0,
            ("dwell", "dwell time", "hold", "holding time"), changeable=True,
        ),
        ProcedureSlot(
            "pressure", "pressure", "What shall the pressure be?", "quantity", "pressure", 1.0e4, 1.0e6,
            ("pressure", "air pressure"), changeable=True,
        ),
        ProcedureSlot(
            "release_temperature", "release temperature", "At what temperature may the pressure go?", "quantity",
            "temperature", _kelvin(20), _kelvin(120), ("release temperature", "release"), changeable=True,
        ),
        ProcedureSlot(
            "preheat_temperature", "preheat", "What shall the preheat temperature be?", "quantity", "temperature",
            _kelvin(60), _kelvin(160), ("preheat temperature", "preheat"), changeable=True,
        ),
        ProcedureSlot(
            "preheat_time", "preheat time", "How long shall the preheat be?", "quantity", "duration", 1.0, 3600.0,
            ("preheat time",), changeable=True,
        ),
    )
}  # fmt: skip
"""What the recipe gives: agreed with the technician, set on the press, read back from it."""

READING_SLOTS: dict[str, ProcedureSlot] = {
    slot.slot: slot
    for slot in (
        ProcedureSlot(
            "upper_reading", "upper platen reads", "What does the upper platen read?", "quantity", "temperature",
            _kelvin(-20), _kelvin(HIGHEST_SHOWN_degC), ("upper temperature", "upper platen", "upper plate", "upper side", "upper"), readable=True,
        ),
        ProcedureSlot(
            "lower_reading", "lower platen reads", "What does the lower platen read?", "quantity", "temperature",
            _kelvin(-20), _kelvin(HIGHEST_SHOWN_degC), ("lower temperature", "lower platen", "lower plate", "lower side", "lower"), readable=True,
        ),
        ProcedureSlot(
            "edge_reading", "belt edge reads", "What does the thermometer read at the edge of the belt?", "quantity",
            "temperature", _kelvin(-20), _kelvin(HIGHEST_SHOWN_degC), ("edge temperature", "side temperature", "edge", "belt edge", "edge of the belt"), readable=True,
        ),
        ProcedureSlot(
            "pressure_reading", "pressure reads", "What does the gauge read?", "quantity", "pressure", 0.0, 1.2e6,
            ("pressure", "air pressure"), readable=True,
        ),
        ProcedureSlot(
            "gauge_reading", "gauge reads", "What does the gauge read now?", "quantity", "pressure", 0.0, 1.2e6,
            ("gauge", "gauge reading"), readable=True,
        ),
        ProcedureSlot(
            "cycle_time", "cycle time", "How long was the whole cycle?", "quantity", "duration", 60.0, 14 * 86_400.0,
            ("cycle time", "cycle", "whole cycle", "cycle took"),
        ),
        ProcedureSlot(
            "measured_length", "measured length", "What is the cut length, measured?", "quantity", "length",
            0.1, 500.0, ("measured length", "cut length"), changeable=True,
        ),
        ProcedureSlot(
            "marks_distance", "distance of the marks", "How far apart are the two marks now?", "quantity", "length",
            0.1, 5.0, ("marks", "distance of the marks", "mark distance"), changeable=True,
        ),
    )
}  # fmt: skip
"""What is read off the press, the gauge, the clock and the rule."""

ANSWER_SLOTS: dict[str, ProcedureSlot] = {
    slot.slot: slot
    for slot in (
        ProcedureSlot(
            "enough_belt", "belt for a second try", "Is there belt enough for a second try?", "choice",
            sayings=("second try", "enough belt"),
            choices=(
                Choice("yes", ("we can do it again", "there is enough", "yes there is enough", "yes")),
                Choice("no", ("we cannot do it again", "there is not enough", "there is not enough left", "no")),
            ),
            changeable=True,
        ),
        ProcedureSlot(
            "vent_heard", "vent heard", "Did you hear the air go out?", "choice",
            sayings=("vent", "air going out"),
            choices=(
                Choice("yes", ("i heard the air go out", "i heard it", "yes i heard it")),
                Choice("no", ("i did not hear it", "i heard nothing", "no i did not", "no")),
            ),
            changeable=True,
        ),
        ProcedureSlot(
            "trial_result", "trial joint", "Is a trial joint of this belt on this press made and recorded?", "choice",
            sayings=("trial", "trial joint"),
            choices=(
                Choice("made", ("we have made a trial", "the trial was made", "the trial is made")),
                Choice("this_is_it", ("this is the trial joint", "this is the trial", "this is a trial")),
                Choice("none", ("there is no trial", "we do not have a trial", "no trial")),
            ),
            changeable=True,
        ),
    )
}  # fmt: skip
"""Answers in chosen words."""

_WHERE = (("1", "left"), ("2", "middle"), ("3", "right"))

INQUIRY_SLOTS: dict[str, ProcedureSlot] = {
    slot.slot: slot
    for slot in (
        ProcedureSlot(
            "what_happened", "what happened", "What happened at the press?", "choice",
            choices=(
                Choice("went_on", ("it went on as it was", "the press went on as it was", "nothing happened", "nothing has happened", "all as it was", "it went on")),
                Choice("power", ("the power was off", "the power went off", "the power is off", "there was a power cut", "the heat was off")),
                Choice("pressure", ("the pressure was lost", "we lost pressure", "the pressure was gone", "the pressure is gone", "the air was gone")),
                Choice("opened", ("it was opened", "the press was opened", "the press is open", "it opened early", "it is open")),
                Choice("unknown", ("i do not know", "i do not know that", "nobody knows")),
            ),
        ),
        ProcedureSlot(
            "how_long_ago", "how long ago", "How long ago did it happen?", "quantity", "duration", 0.0, 24 * 3600.0,
        ),
    )
}  # fmt: skip
"""What is asked when a cycle was broken off."""

MEASURE_SLOTS: dict[str, ProcedureSlot] = {
    slot.slot: slot
    for slot in (
        *(
            ProcedureSlot(
                f"beside_thickness_{number}", f"thickness beside, {where}", f"Thickness beside the joint, {where}?",
                "quantity", "length", 2.0e-4, 6.0e-2, (f"thickness beside {where}", f"beside {where}"), changeable=True,
            )
            for number, where in _WHERE
        ),
        *(
            ProcedureSlot(
                f"joint_thickness_{number}", f"thickness of the joint, {where}", f"Thickness over the joint, {where}?",
                "quantity", "length", 2.0e-4, 6.0e-2, (f"joint thickness {where}", f"joint {where}"), changeable=True,
            )
            for number, where in _WHERE
        ),
        ProcedureSlot(
            "joint_width", "width of the joint", "Width over the joint?", "quantity", "length", 5.0e-3, 4.1,
            ("joint width", "width over the joint"), changeable=True,
        ),
        ProcedureSlot(
            "straightness", "off a straight line", "How far is it off a straight line, over one metre?", "quantity",
            "length", 0.0, 5.0e-2, ("straightness", "off the line"), changeable=True,
        ),
        ProcedureSlot(
            "notch_spacing", "notch spacing", "Distance from notch to notch over the joint?", "quantity", "length",
            1.0e-3, 0.3, ("notch spacing", "notch distance"), changeable=True,
        ),
        ProcedureSlot(
            "flex_count", "count of bends", "How many times did you bend it?", "quantity", "count", 0.0, 1000.0,
            ("count of bends", "bends"), changeable=True,
        ),
    )
}  # fmt: skip
"""What is measured at the cold joint; judged by `inspection`."""

SLOTS: dict[str, ProcedureSlot] = {
    **RECIPE_SLOTS,
    **READING_SLOTS,
    **ANSWER_SLOTS,
    **INQUIRY_SLOTS,
    **MEASURE_SLOTS,
}


def slots_now(*, running: bool) -> tuple[ProcedureSlot, ...]:
    """The slots by the names that they go by now, no two by the same.

    running: the values have been compared and the press works by them. Until then 'upper platen' is
    the value to be set, which may be changed; from then on it is what the platen reads, and the value
    that was set goes by 'set upper platen' and stays.
    """
    if not running:
        return tuple(slot for slot in SLOTS.values() if not slot.readable)
    return tuple(
        replace(slot, sayings=tuple(f"set {saying}" for saying in slot.sayings), changeable=False)
        if slot.slot in RECIPE_SLOTS
        else slot
        for slot in SLOTS.values()
    )


PLACEHOLDERS: frozenset[str] = frozenset(RECIPE_SLOTS) | {
    "technician", "belt", "press", "fastening", "punch", "template", "cloth_above", "cloth_below",
    "cut_length", "endless_length", "finger_length", "margin", "marks_target", "ramp_time", "cool_time",
}  # fmt: skip
"""What may stand in brackets in a text of the procedure; the engine fills them in, in words with units."""
