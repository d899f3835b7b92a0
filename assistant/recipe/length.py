"""From the path of a belt to its endless length, whole notches and the length to cut.

Heat shrinkage and flash are nought unless measured on a trial.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.recipe.not_computable import NotComputable


@dataclass(frozen=True)
class Notching:
    """A whole number of notches: relaxed endless length and the elongation it gives on the path."""

    notches: int
    endless_m: float
    elongation: float


@dataclass(frozen=True)
class Endless:
    """relaxed_m: path over one plus the wanted elongation; endless_m: what is made, a whole number
    of pitches when notched; elongation: what that gives. nearest: the two whole numbers of notches
    around `relaxed_m`, fewer (tighter) first; empty when not notched. notes: sentences for the technician.
    """

    path_m: float
    relaxed_m: float
    endless_m: float
    elongation: float
    notches: int | None
    nearest: tuple[Notching, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Cut:
    """cut_m: whole length to cut; beyond_centre_m: each end, from the middle of the splice."""

    cut_m: float
    beyond_centre_m: float


def endless(
    path_m: float,
    elongation: float,
    notch_pitch_m: float | None = None,
    elongation_range: tuple[float, float] | None = None,
) -> Endless:
    """The endless length to make for a path, so that it runs at `elongation` (a ratio).

    With notches the length is the nearest whole number of pitches. `elongation_range`: what the
    belt's data sheet allows.
    Raises: NotComputable when the wanted or the resulting elongation lies outside the range; with
    notches the sentence offers the numbers on either side.
    """
    if not path_m > 0:
        raise NotComputable("The length of the path must be greater than zero.")
    if not elongation >= 0:
        raise NotComputable("The elongation must not be negative.")
    low, high = elongation_range or (0.0, math.inf)
    if not low - 1e-12 <= elongation <= high + 1e-12:
        raise NotComputable(
            f"An elongation of {elongation * 100:g} % is outside what the data sheet allows, {low * 100:g} to {high * 100:g} %."
        )
    relaxed = path_m / (1 + elongation)
    if notch_pitch_m is None:
        return Endless(path_m, relaxed, relaxed, elongation, None, ())
    if not notch_pitch_m > 0:
        raise NotComputable("The notch pitch must be greater than zero.")
    notches = round(relaxed / notch_pitch_m)
    if notches < 1:
        raise NotComputable("The belt is shorter than one notch pitch.")

    def with_notches(number: int) -> Notching:
        return Notching(number, number * notch_pitch_m, path_m / (number * notch_pitch_m) - 1)

    chosen = with_notches(notches)
    if elongation_range is not None and not low - 1e-12 <= chosen.elongation <= high + 1e-12:
        others = [with_notches(number) for number in (notches - 1, notches + 1) if number > 0]
        fitting = [str(one.notches) for one in others if low - 1e-12 <= one.elongation <= high + 1e-12]
        raise NotComputable(
            f"{notches} notches would run at {chosen.elongation * 100:.2f} %, outside the data sheet's {low * 100:g} to "
            f"{high * 100:g} %; {' and '.join(f'{one.notches} give {one.elongation * 100:.2f} %' for one in others)}: "
            f"{f'make it {fitting[0]}, or ' if fitting else ''}move the take-up."
        )
    notes: tuple[str, ...] = ()
    if chosen.elongation < 0:
        notes = (
            f"{notches} notches make the belt {-chosen.elongation * 100:.2f} % longer than its path, and it would hang "
            "slack: take fewer, or move the take-up.",
        )
    fewer = math.floor(relaxed / notch_pitch_m + 1e-9)
    nearest = tuple(with_notches(number) for number in (fewer, fewer + 1) if number > 0)
    return Endless(path_m, relaxed, chosen.endless_m, chosen.elongation, notches, nearest, notes)


def cut(endless_m: float, finger_m: float, trim_m: float = 0.0) -> Cut:
    """Length to cut: the ends mesh over one finger length. trim_m: taken off each end afterwards.

    Raises: NotComputable for lengths that are not positive or fingers longer than half the belt.
    """
    if not (endless_m > 0 and finger_m > 0 and trim_m >= 0):
        raise NotComputable(
            "Endless length and finger length must be greater than zero, the trim not below it."
        )
    if finger_m >= endless_m / 2:
        raise NotComputable(
            f"Fingers of {finger_m * 1e3:g} mm do not go with an endless length of {endless_m * 1e3:g} mm."
        )
    return Cut(endless_m + finger_m + 2 * trim_m, finger_m / 2 + trim_m)


def elongation_span(path_m: float, endless_m: float, tolerance_m: float) -> tuple[float, float]:
    """Elongation (ratios) of a belt made `tolerance_m` too long and too short.

    Raises: NotComputable for a tolerance below nought or as large as the belt.
    """
    if not 0 <= tolerance_m < endless_m:
        raise NotComputable("The tolerance of the length must not be below nought, nor as large as the belt.")
    return path_m / (endless_m + tolerance_m) - 1, path_m / (endless_m - tolerance_m) - 1


def corner_offset(width_m: float, error_rad: float) -> float:
    """How far one corner leads when a cut is out of square by `error_rad`, m."""
    return width_m * math.tan(error_rad)
