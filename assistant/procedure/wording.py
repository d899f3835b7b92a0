"""How values are written and said back."""

from __future__ import annotations

import re

from assistant.procedure.events import Value
from intents.meaning import Choice, Expected, QuantityKind
from intents.numbers import say_number
from intents.quantities import speak_digits, written


def shown(value: Value, kind: QuantityKind | None, choices: tuple[Choice, ...] = (), unit: str = "") -> str:
    """'185 °C', 'the hinged press', 'Anna'."""
    if isinstance(value, str):
        said = next((c.sayings[0] for c in choices if c.key == value and c.sayings), None)
        return value if said is None else re.sub(r"\bi\b", "I", said)
    return written(value, kind, unit) if kind is not None else f"{value:g}"


def readback(label: str, value: Value, expected: Expected) -> str:
    """The value in figures and digit by digit, and what may be answered."""
    text = shown(value, expected.quantity, expected.choices, expected.unit)
    if isinstance(value, float) and expected.quantity is not None:
        text = f"{text}: {speak_digits(value, expected.quantity, expected.unit)}"
    else:
        label = f"{label}:"
    return f"{capital(label)} {text}. Say 'that is correct', or the right {'value' if isinstance(value, float) else 'one'}."


def capital(text: str) -> str:
    """First letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def first_sentence(text: str) -> str:
    """Up to its first full stop."""
    return re.split(r"(?<=[.!?])\s", text, maxsplit=1)[0]


def degrees(kelvin: float) -> str:
    """A computed temperature, to the whole degree."""
    return f"{kelvin - 273.15:.0f} °C"


def minutes(seconds: float) -> str:
    """'4 min 30 s', '40 s'."""
    whole = max(0, round(seconds))
    m, s = divmod(whole, 60)
    return f"{m} min {s} s" if m and s else f"{m} min" if m else f"{s} s"


def time_of_day(wall: str) -> str:
    """'ten past four in the afternoon' of an ISO 8601 time, as people say it."""
    hours, minutes_past = int(wall[11:13]), int(wall[14:16])
    if not 5 <= hours < 22:
        part = "at night"
    else:
        part = "in the " + ("morning" if hours < 12 else "afternoon" if hours < 18 else "evening")
    to_next = minutes_past > 30
    hour = say_number((hours + to_next + 11) % 12 + 1)
    past = 60 - minutes_past if to_next else minutes_past
    if past == 0:
        return f"{hour} o'clock {part}"
    count = {15: "a quarter", 30: "half"}.get(past, say_number(past))
    unit = "" if past % 5 == 0 else " minute" if past == 1 else " minutes"
    return f"{count}{unit} {'to' if to_next else 'past'} {hour} {part}"
