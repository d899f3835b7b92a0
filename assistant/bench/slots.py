"""The job sheet's slots in the order they are asked: words, kinds and the widest limits.

The limits only tell numbers from slips of the tongue; what cannot be is refused, with its reason,
by `assistant.bench.refuse`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from intents.meaning import Choice, QuantityKind

Kind = Literal["quantity", "choice", "name"]
Value = float | str
"""SI, a choice's key, or words."""
Values = Mapping[str, Value]
"""By slot: what has been given so far."""


@dataclass(frozen=True)
class SlotInfo:
    """One value of the job sheet.

    label: how the bench names it aloud; sayings: how people name it. low, high: SI, inclusive.
    unit: at the edges, on screen and in files. steering: it bears on heat, pressure, time or
    acceptance, so it is read back. defaulted: taken as proposed unless told otherwise.
    """

    slot: str
    label: str
    question: str
    why: str
    kind: Kind
    sayings: tuple[str, ...]
    quantity: QuantityKind | None = None
    low: float = float("-inf")
    high: float = float("inf")
    unit: str = ""
    usual: tuple[float, float] | None = (
        None  # where it nearly always lies, SI: a bare number outside is asked about
    )
    choices: tuple[Choice, ...] = ()
    steering: bool = True
    defaulted: bool = False


OTHER = "other"
YES_NO = (Choice("yes", ("yes", "yes it is")), Choice("no", ("no", "no it is not")))
JOB_KINDS = (
    Choice("shop", ("in the shop", "shop", "in the workshop")),
    Choice("conveyor", ("on the conveyor", "conveyor")),
)
# Width and height, mm, of the classical V-belt sections (ISO 4184, from memory).
GUIDES = {"z": (10.0, 6.0), "a": (13.0, 8.0), "b": (17.0, 11.0)}
GUIDE_CHOICES = (
    Choice("none", ("no guide", "none", "flat")),
    Choice("z", ("small guide", "the small guide", "section z")),
    Choice("a", ("middle guide", "the middle guide", "section a")),
    Choice("b", ("large guide", "the large guide", "section b")),
)

SLOTS: tuple[SlotInfo, ...] = (
    SlotInfo(
        "technician", "name", "Who is at the press?", "The record says who did the work.", "name",
        ("name", "my name", "technician"),
    ),
    SlotInfo(
        "job_kind", "kind of job", "Is the job in the shop or on the conveyor?",
        "It chooses the steps and the safety questions.", "choice", ("kind of job", "job kind", "kind"), choices=JOB_KINDS,
    ),
    SlotInfo(
        "belt", "belt", "Which belt is it?", "Its layers decide heat and time.", "choice", ("belt", "which belt"),
    ),
    SlotInfo(
        "belt_material", "belt material", "What are the covers made of?", "Each material fuses at its own heat.",
        "choice", ("belt material", "material", "cover material"),
    ),
    SlotInfo(
        "belt_plies", "plies", "How many plies has it?", "Plies carry the load and slow the heat.", "quantity",
        ("plies", "number of plies"), "count", 0, 20,
    ),
    SlotInfo(
        "belt_guide", "guide", "Has it no guide, a small, a middle or a large guide?",
        "The template needs the same groove, and a guide takes longer to heat.", "choice", ("guide", "guide profile"),
        choices=GUIDE_CHOICES,
    ),
    SlotInfo(
        "notch_pitch", "notch pitch", "What is the notch pitch? Say zero if it is not notched.",
        "The pitch must carry on unbroken over the joint.", "quantity", ("notch pitch", "notches"), "length", 0, 1, "mm", usual=(0.005, 0.1),
    ),
    SlotInfo(
        "belt_thickness", "belt thickness", "What thickness do you measure, without the guide?",
        "Time at heat goes with thickness, and the template's bars must be a little lower.", "quantity",
        ("thickness", "belt thickness"), "length", 0, 0.1, "mm", usual=(0.0003, 0.012),
    ),
    SlotInfo(
        "belt_width", "belt width", "What width do you measure?", "The template and the pressure go by it.", "quantity",
        ("width", "belt width"), "length", 0, 10, "mm", usual=(0.008, 2.0),
    ),
    SlotInfo(
        "press", "press", "Which press is it?", "Heat, cooling and the order of the steps go by the press.", "choice",
        ("press", "which press"),
    ),
    SlotInfo(
        "punch", "punch", "Which punch is it?", "It gives the fingers' pitch and length.", "choice", ("punch", "which punch"),
    ),
    SlotInfo(
        "template", "template", "Which template is it?", "It holds the ends in line and keeps the melt in.", "choice",
        ("template", "which template"),
    ),
    SlotInfo(
        "cloth_above", "cloth above", "Which release cloth lies above?", "It slows the heat and gives the surface.",
        "choice", ("cloth above", "upper cloth"), defaulted=True,
    ),
    SlotInfo(
        "cloth_below", "cloth below", "Which release cloth lies below?", "It slows the heat and gives the surface.",
        "choice", ("cloth below", "lower cloth"), defaulted=True,
    ),
    SlotInfo(
        "elongation", "elongation", "By how much shall the belt be stretched?", "It sets tension and endless length.",
        "quantity", ("elongation", "stretch"), "ratio", 0, 1, "%", defaulted=True,
    ),
    SlotInfo(
        "endless_length", "path length", "How long is the path round the pulleys?",
        "The belt is cut to it, and too short cannot be mended.", "quantity",
        ("length", "path length", "belt length", "endless length"), "length", 0, 10_000, "mm", usual=(0.2, 60.0),
    ),
    SlotInfo(
        "supply_voltage", "supply voltage", "What voltage does the supply have?",
        "Heating power goes with its square.", "quantity", ("voltage", "supply voltage", "supply"), "voltage", 0, 2000, "V",
    ),
    SlotInfo(
        "lead_length", "lead length", "How long is the extension lead? Say zero if there is none.",
        "A long thin lead gets hot and weakens the press.", "quantity", ("lead length", "lead", "cable length"),
        "length", 0, 1000, "m",
    ),
    SlotInfo(
        "lead_section", "lead section", "What section is printed on the lead, in square millimetres?",
        "A long thin lead gets hot and weakens the press.", "quantity", ("lead section", "cable section", "section"),
        "section", 0, 1e-3, "mm²",
    ),
    SlotInfo(
        "lead_coiled", "lead coiled", "Is the lead still coiled?", "A coiled lead gets hot under load.", "choice",
        ("lead coiled", "coiled lead"), choices=YES_NO, steering=False, defaulted=True,
    ),
    SlotInfo(
        "shop_temperature", "shop temperature", "How warm is it here?", "Everything starts from it.", "quantity",
        ("shop temperature", "room temperature"), "temperature", 173.15, 373.15, "°C",
        usual=(263.15, 318.15),
    ),
    SlotInfo(
        "new_pair", "new pair", "Is this belt or this press new to you?", "A new pair gets a trial joint first.", "choice",
        ("new pair", "trial needed"), choices=YES_NO, steering=False,
    ),
)  # fmt: skip
