"""SI values as the screen and the report show them: '185 °C', '1.82 mm', '4 min 30 s', '2.0 bar'; and back from words."""

from __future__ import annotations

from typing import cast, get_args

from assistant.bench.slots import SLOTS
from intents.meaning import QuantityKind
from intents.quantities import Ambiguous, OutOfRange, parse_quantity
from intents.units import edge_unit

KINDS: tuple[str, ...] = get_args(QuantityKind)
QUANTITY_OF: dict[str, str] = {info.slot: info.quantity for info in SLOTS if info.quantity is not None}
IN_METRES = {info.slot for info in SLOTS if info.unit == "m"}


class NoQuantity(ValueError):  # noqa: N818 - a refusal with its reason, not a fault
    """Its text is one sentence: why the words are no value of this kind."""


def in_unit(text: str, kind: str, unit: str) -> float:
    """The value that `text` says with its unit ('29 psi', '1/4 in'), in `unit` ('bar', 'mm').

    kind: one of `KINDS`. Raises: NoQuantity for a unit that is none of this kind, or that may be either of two.
    """
    named = cast("QuantityKind", kind)
    parsed = parse_quantity(text, named)
    if isinstance(parsed, Ambiguous):
        raise NoQuantity(f"'{text}' may be either. {parsed.question}")
    if isinstance(parsed, OutOfRange):
        raise NoQuantity(f"'{text}' cannot be. {parsed.sentence}")
    if parsed is None:
        raise NoQuantity(f"'{text}' is not a {kind}; write it in {unit}, or with a unit after it.")
    own = edge_unit(named, unit)
    # Twelve figures: what the two conversions add to the last one is not part of what was said.
    return float(f"{(parsed.value_si - own.after) / own.scale - own.before:.12g}")


def edge_text(what: str, value: float) -> str:
    """`value` (SI) in the unit of the edges.

    what: a quantity kind ('temperature', 'duration' ...) or a slot of the job sheet.
    Raises: KeyError for neither.
    """
    kind = what if what in KINDS else QUANTITY_OF[what]
    match kind:
        case "temperature":
            return f"{_plain(value - 273.15, 1)} °C"
        case "temperature_difference":
            return f"{_plain(value, 1)} K"
        case "duration":
            return duration_text(value)
        case "pressure":
            return f"{_fixed(value / 1e5)} bar"
        case "length":
            return f"{_plain(value, 2)} m" if what in IN_METRES else f"{_plain(value * 1e3, 2)} mm"
        case "ratio":
            return f"{_plain(value * 100, 2)} %"
        case "voltage":
            return f"{_plain(value, 0)} V"
        case "current":
            return f"{_plain(value, 1)} A"
        case "mass":
            return f"{_plain(value, 1)} kg"
        case "section":
            return f"{_plain(value * 1e6, 2)} mm²"
        case "tension":
            return f"{_plain(value / 1e3, 2)} N/mm"
    return _plain(value, 0)


def duration_text(seconds: float) -> str:
    """'45 s', '4 min', '4 min 30 s', '1 h 5 min'; whole seconds, and whole minutes from an hour on."""
    whole = round(abs(seconds))
    sign = "−" if seconds < 0 and whole else ""
    if whole < 60:
        return f"{sign}{whole} s"
    if whole < 3600:
        minutes, rest = divmod(whole, 60)
        return f"{sign}{minutes} min {rest} s" if rest else f"{sign}{minutes} min"
    hours, minutes = divmod(round(whole / 60), 60)
    return f"{sign}{hours} h {minutes} min" if minutes else f"{sign}{hours} h"


def _plain(value: float, places: int) -> str:
    """Rounded, without trailing noughts, with a true minus sign."""
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text.replace("-", "−")


def _fixed(bar: float) -> str:
    """One decimal, two where the second is not nought: '2.0', '1.85'."""
    text = f"{bar:.2f}"
    return (text[:-1] if text.endswith("0") else text).replace("-", "−")
