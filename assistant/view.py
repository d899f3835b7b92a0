"""What any screen needs to show now; a frozen snapshot, published by the session after each event or tick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Who = Literal["you", "bench", "note", "alarm"]
By = Literal["voice", "typed", "key", ""]
Ear = Literal["LISTENING", "HEARING YOU", "SPEAKING", "DEAF", "TYPE ONLY"]


@dataclass(frozen=True)
class TimerView:
    name: str  # "dwell"
    label: str  # "DWELL"
    left_s: float  # negative: overdue; counts up when total_s is None
    total_s: float | None


@dataclass(frozen=True)
class GateView:
    hazard: str
    sentence: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Line:
    """One line of the conversation. who: 'press side' voice as 'you', ours as 'bench', notes as 'note'."""

    who: Who
    text: str
    t_s: float
    way: By = ""


@dataclass(frozen=True)
class RecipeRow:
    label: str  # "upper platen"
    value: str  # "185 °C"
    reason: str
    agreed: bool


@dataclass(frozen=True)
class CurvePoint:
    t_s: float  # since heat on
    upper_degC: float
    lower_degC: float
    coldest_degC: float
    hottest_degC: float


@dataclass(frozen=True)
class ReadingPoint:
    slot: Literal["upper_reading", "lower_reading", "edge_reading"]
    t_s: float  # since heat on
    degC: float
    plausible: bool


@dataclass(frozen=True)
class StageView:
    title: str
    status: Literal["done", "now", "to come", "not needed"]


@dataclass(frozen=True)
class View:
    simulated: bool
    technician: str
    stages: tuple[StageView, ...]
    act_title: str  # large type: "LOCK THE CONVEYOR"
    act_say: str  # the sentence last asked
    value: str  # the one value that matters now, "" if none: "185 °C"
    value_label: str
    timers: tuple[TimerView, ...]
    gate: GateView | None
    held: str  # "" or the reason the session is held
    finished: str  # "" or the outcome in words
    conversation: tuple[Line, ...]
    recipe: tuple[RecipeRow, ...]
    curve: tuple[CurvePoint, ...]
    readings: tuple[ReadingPoint, ...]
    run_s: float | None  # seconds since heat on, None before
    can_say: tuple[str, ...]
    log_path: str
    pedal: bool = False  # the key or pedal may advance this act
    page: Literal["", "conversation", "recipe", "curve"] = ""  # what was asked to be shown, and how often
    pages_asked: int = 0
    ear: Ear = "TYPE ONLY"
    ear_note: str = ""
    heard_so_far: str = ""  # of what is being said; it may change
    unrecorded: str = ""  # "" or why nothing more is recorded, or the closed record has no seal
