"""What a temperature means to a hand. Never a release criterion: that is a matter of the weld."""

from __future__ import annotations

from typing import Literal

# ISO 13732-1 burn thresholds, degC: seconds of contact, bare metal, plastics (lower ends); from memory.
BURN_DEGC = (
    (1.0, 65.0, 85.0),
    (10.0, 55.0, 70.0),
    (60.0, 51.0, 60.0),
    (600.0, 48.0, 48.0),
    (28800.0, 43.0, 43.0),
)
WARM_K = 316.15  # 43 degC; the three limits are judgement, after the metal column
HOT_K = 321.15  # 48 degC
BURNS_K = 338.15  # 65 degC
SKIN_K = 306.15  # 33 degC
SKIN_EFFUSIVITY = 1181.0  # J/m2 K s^0.5

Touch = Literal["cool", "warm", "hot, gloves", "burns at a touch"]


def touch(temperature_K: float) -> Touch:
    """Words for a surface at `temperature_K`."""
    if temperature_K >= BURNS_K:
        return "burns at a touch"
    if temperature_K > HOT_K:
        return "hot, gloves"
    if temperature_K > WARM_K:
        return "warm"
    return "cool"


def burn_threshold(contact_s: float, surface: Literal["metal", "plastic"]) -> float:
    """Lowest surface temperature that burns healthy skin in `contact_s`, K (ISO 13732-1, from memory).

    The next longer time of the table is taken, which is the safe side; beyond eight hours the last.
    """
    for seconds, metal, plastic in BURN_DEGC:
        if contact_s <= seconds:
            return (metal if surface == "metal" else plastic) + 273.15
    return BURN_DEGC[-1][1] + 273.15


def skin_face(surface_K: float, effusivity: float) -> float:
    """Temperature of the skin's face at first touch, K: two half spaces, `effusivity` in J/m2 K s^0.5."""
    return (SKIN_EFFUSIVITY * SKIN_K + effusivity * surface_K) / (SKIN_EFFUSIVITY + effusivity)
