"""Values of the log (SI, keys, words) as people read them: with their name, in mm, bar, °C, minutes.

A slot that this program does not know, from another version's log, is shown by its own name and number.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from assistant.record.plain import plain

if TYPE_CHECKING:
    from assistant.bench.slots import SlotInfo
    from assistant.procedure.slots import ProcedureSlot

_ZERO_K = 273.15
_IN_METRES_FROM_m = 10.0
_SCALE: dict[str, tuple[float, str, int]] = {  # per unit shown, unit, decimals
    "temperature_difference": (1.0, "K", 1),
    "pressure": (1e5, "bar", 2),
    "length": (1e-3, "mm", 2),
    "ratio": (1e-2, "%", 2),
    "voltage": (1.0, "V", 0),
    "current": (1.0, "A", 1),
    "mass": (1.0, "kg", 1),
    "section": (1e-6, "mm²", 2),
    "count": (1.0, "", 0),
    "tension": (1e3, "N/mm", 2),
}


@lru_cache(maxsize=1)
def _known() -> dict[str, tuple[str, str | None, dict[str, str]]]:
    """By slot: label, quantity, and how each choice is said."""
    from assistant.bench.slots import SLOTS as SHEET
    from assistant.procedure.slots import SLOTS as PROCEDURE

    every: list[SlotInfo | ProcedureSlot] = [*SHEET, *PROCEDURE.values()]
    return {
        info.slot: (info.label, info.quantity, {choice.key: choice.sayings[0] for choice in info.choices})
        for info in every
    }


def label(slot: object) -> str:
    """'upper platen'; for what is read back from the press's display, 'upper platen on the display'."""
    name = str(slot)
    if name.startswith("shown_"):
        return f"{label(name.removeprefix('shown_'))} on the display"
    return _known()[name][0] if name in _known() else plain(name.replace("_", " "))


def shown(slot: object, value: Any) -> str:
    """A value of the log with its unit: '185 °C', '4 min 30 s', '2 bar'; words as they are, made plain."""
    name = str(slot).removeprefix("shown_")
    _, quantity, choices = _known().get(name, ("", None, {}))
    if isinstance(value, str):
        # Keys of the catalogue (belts, presses) are words joined by underscores; names of people are not.
        return plain(choices.get(value) or (value.replace("_", " ") if name != "technician" else value))
    if isinstance(value, bool) or not isinstance(value, int | float):
        return plain(value)
    if quantity == "temperature":
        return f"{number(value - _ZERO_K, 1)} °C"
    if quantity == "duration":
        return duration(value)
    if quantity == "length" and abs(value) >= _IN_METRES_FROM_m:
        return f"{number(value, 3)} m"
    if quantity in _SCALE:
        per, unit, decimals = _SCALE[quantity]
        return f"{number(value / per, decimals)} {unit}".rstrip()
    return f"{value:g}"


def number(value: float, decimals: int) -> str:
    """Without trailing zeros: '185', '2.05'."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def duration(seconds: float) -> str:
    """'4 min 30 s', '40 s', '1 h 5 min'."""
    whole = round(abs(seconds))
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    parts = [f"{n} {unit}" for n, unit in ((hours, "h"), (minutes, "min"), (secs, "s")) if n]
    return ("-" if seconds < 0 and whole else "") + (" ".join(parts) or "0 s")
