"""Belt length round its pulleys, whole notches, cut length.

Lengths are of the neutral plane. Heat shrinkage and flash are nought unless measured on a trial.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from assistant.recipe.not_computable import NotComputable

WRAP_LIMIT_RAD = math.radians(300)  # an outside pulley the belt does not touch comes out near a full turn


@dataclass(frozen=True)
class Pulley:
    """Centre and diameter, m. side +1: inside the loop (running side touches), -1: outside."""

    x_m: float
    y_m: float
    diameter_m: float
    side: Literal[1, -1] = 1


@dataclass(frozen=True)
class Path:
    """A closed belt path. spans_m[i] runs from pulley i to the next; wraps_rad[i] is on pulley i."""

    length_m: float
    spans_m: tuple[float, ...]
    wraps_rad: tuple[float, ...]


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
    around `relaxed_m`, fewer (tighter) first; empty when not notched.
    """

    path_m: float
    relaxed_m: float
    endless_m: float
    elongation: float
    notches: int | None
    nearest: tuple[Notching, ...]


@dataclass(frozen=True)
class Cut:
    """cut_m: whole length to cut; beyond_centre_m: each end, from the middle of the splice."""

    cut_m: float
    beyond_centre_m: float


def open_path(distance_m: float, large_m: float, small_m: float) -> float:
    """Length of an open belt over two pulleys, m: centre distance and both diameters at the neutral plane.

    Raises: NotComputable when the pulleys overlap.
    """
    _check_pair(distance_m, large_m, small_m, abs(large_m - small_m) / 2)
    angle = math.asin((large_m - small_m) / (2 * distance_m))
    return (
        2 * distance_m * math.cos(angle) + math.pi * (large_m + small_m) / 2 + angle * (large_m - small_m)
    )  # symmetric in the two diameters


def crossed_path(distance_m: float, one_m: float, other_m: float) -> float:
    """Length of a crossed belt over two pulleys, m. Raises: NotComputable when the pulleys overlap."""
    _check_pair(distance_m, one_m, other_m, (one_m + other_m) / 2)
    angle = math.asin((one_m + other_m) / (2 * distance_m))
    return 2 * distance_m * math.cos(angle) + (one_m + other_m) * (math.pi / 2 + angle)


def path(
    pulleys: Sequence[Pulley],
    thickness_m: float = 0.0,
    neutral_m: float | None = None,
    crossed: bool = False,
) -> Path:
    """Path of a belt round any pulleys, listed in running order, counter-clockwise.

    thickness_m: of the belt, without its guide; neutral_m: neutral plane above the running side,
    half the thickness if not given. crossed: the path is meant to cross itself.
    Raises: NotComputable when pulleys overlap, the belt misses one, or the path crosses itself unasked.
    """
    if len(pulleys) < 2:
        raise NotComputable("A belt runs round two pulleys at least.")
    neutral = thickness_m / 2 if neutral_m is None else neutral_m
    if not 0 <= neutral <= thickness_m:
        raise NotComputable("The neutral plane must lie inside the belt.")
    if any(pulley.diameter_m <= 0 for pulley in pulleys):
        raise NotComputable("Each pulley's diameter must be greater than zero.")
    for (first, one), (second, other) in combinations(enumerate(pulleys, 1), 2):
        between = math.hypot(other.x_m - one.x_m, other.y_m - one.y_m)
        if between <= (one.diameter_m + other.diameter_m) / 2:
            raise NotComputable(f"Pulleys {first} and {second} overlap: check their places and diameters.")
    radii = [
        pulley.side * (pulley.diameter_m / 2 + (neutral if pulley.side == 1 else thickness_m - neutral))
        for pulley in pulleys
    ]
    count = len(pulleys)
    spans: list[float] = []
    headings: list[float] = []
    for index, pulley in enumerate(pulleys):
        following = (index + 1) % count
        dx, dy = pulleys[following].x_m - pulley.x_m, pulleys[following].y_m - pulley.y_m
        distance, offset = math.hypot(dx, dy), radii[index] - radii[following]
        if abs(offset) >= distance:
            raise NotComputable(
                f"Between pulleys {index + 1} and {following + 1} there is no room for the belt: check their places and diameters."
            )
        spans.append(math.sqrt(distance**2 - offset**2))
        headings.append(math.atan2(dy, dx) + math.asin(offset / distance))
    wraps: list[float] = []
    for index, pulley in enumerate(pulleys):
        turn = pulley.side * (headings[index] - headings[index - 1]) % (2 * math.pi)
        wraps.append(0.0 if 2 * math.pi - turn < 1e-9 else turn)
    turned = sum(pulley.side * wrap for pulley, wrap in zip(pulleys, wraps, strict=True))
    eight = crossed and abs(turned) < 1e-6  # its turns cancel, so that no wrap is a full turn too many
    for index, wrap in enumerate(wraps):
        if wrap > WRAP_LIMIT_RAD and not eight:
            raise NotComputable(
                f"The belt does not touch pulley {index + 1} on the side given: check its place, its side, and that the "
                "pulleys are listed counter-clockwise."
            )
    if not crossed and (abs(turned - 2 * math.pi) > 1e-6 or _spans_cross(pulleys, radii, headings, spans)):
        raise NotComputable(
            "The path crosses itself or runs clockwise: list the pulleys counter-clockwise, or say that it is crossed."
        )
    arcs = sum(abs(radius) * wrap for radius, wrap in zip(radii, wraps, strict=True))
    return Path(sum(spans) + arcs, tuple(spans), tuple(wraps))


def path_round(
    pulleys: Sequence[Pulley],
    thickness_m: float = 0.0,
    neutral_m: float | None = None,
    crossed: bool = False,
) -> Path:
    """As `path`, whichever way round the pulleys are listed. Raises: NotComputable as `path`."""
    try:
        return path(pulleys, thickness_m, neutral_m, crossed)
    except NotComputable as refused:
        try:
            back = path(pulleys[::-1], thickness_m, neutral_m, crossed)
        except NotComputable:
            raise refused from None
    spans = back.spans_m[::-1]
    return Path(back.length_m, (*spans[1:], spans[0]), back.wraps_rad[::-1])


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
        tighter, slacker = with_notches(notches - 1) if notches > 1 else chosen, with_notches(notches + 1)
        raise NotComputable(
            f"{notches} notches would run at {chosen.elongation * 100:.2f} %, outside the data sheet's {low * 100:g} to "
            f"{high * 100:g} %; {tighter.notches} give {tighter.elongation * 100:.2f} % and {slacker.notches} give "
            f"{slacker.elongation * 100:.2f} %: move the take-up."
        )
    fewer = math.floor(relaxed / notch_pitch_m + 1e-9)
    nearest = tuple(with_notches(number) for number in (fewer, fewer + 1) if number > 0)
    return Endless(path_m, relaxed, chosen.endless_m, chosen.elongation, notches, nearest)


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


def _check_pair(distance_m: float, one_m: float, other_m: float, reach_m: float) -> None:
    if not (one_m > 0 and other_m > 0):
        raise NotComputable("Each pulley's diameter must be greater than zero.")
    if reach_m >= distance_m:
        raise NotComputable("The two pulleys overlap: check the centre distance and the diameters.")


def _spans_cross(
    pulleys: Sequence[Pulley], radii: list[float], headings: list[float], spans: list[float]
) -> bool:
    """Whether two straight spans cut each other between their ends."""
    ends = []
    for pulley, radius, heading, span in zip(pulleys, radii, headings, spans, strict=True):
        x, y = pulley.x_m + radius * math.sin(heading), pulley.y_m - radius * math.cos(heading)
        ends.append(((x, y), (x + span * math.cos(heading), y + span * math.sin(heading))))

    def left(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return any(
        left(a, b, c) * left(a, b, d) < 0 and left(c, d, a) * left(c, d, b) < 0
        for (a, b), (c, d) in combinations(ends, 2)
    )
