"""The path of a belt round its pulleys: two of them in closed form, any number by their common tangents.

Lengths are of the neutral plane.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from assistant.recipe.not_computable import NotComputable

_Point = tuple[float, float]
_Straight = tuple[_Point, _Point]
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
    half the thickness if not given. crossed: the path is meant to cross itself; over two pulleys on
    the same side the belt is then twisted by half a turn in each span, and the same face runs on both.
    Raises: NotComputable when pulleys overlap, the belt misses one or would run through it, or the path
    crosses itself unasked or, where it is said to, does not.
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
    if crossed and [pulley.side for pulley in pulleys] in ([1, 1], [-1, -1]):
        return _twisted(pulleys, neutral if pulleys[0].side == 1 else thickness_m - neutral)
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
    straight = _straights(pulleys, radii, headings, spans)
    crosses = any(_cut_each_other(one, other) for one, other in combinations(straight, 2))
    if not crossed and (abs(turned - 2 * math.pi) > 1e-6 or crosses):
        raise NotComputable(
            "The path crosses itself or runs clockwise: list the pulleys counter-clockwise, or say that it is crossed."
        )
    if crossed and (not crosses or abs(turned) > 2 * math.pi + 1e-6):
        raise NotComputable(
            "The path is said to cross itself, and it does not: check which pulleys the carrying side touches."
        )
    if not crossed:
        _check_clear(pulleys, straight)
    arcs = sum(abs(radius) * wrap for radius, wrap in zip(radii, wraps, strict=True))
    return Path(sum(spans) + arcs, tuple(spans), tuple(wraps))


def _twisted(pulleys: Sequence[Pulley], neutral_m: float) -> Path:
    """The crossed belt whose one face, `neutral_m` off the neutral plane, runs on both of two pulleys."""
    one, other = pulleys
    distance = math.hypot(other.x_m - one.x_m, other.y_m - one.y_m)
    both = one.diameter_m + other.diameter_m + 4 * neutral_m
    if both / 2 >= distance:
        raise NotComputable(
            "Between pulleys 1 and 2 there is no room for the belt: check their places and diameters."
        )
    angle = math.asin(both / (2 * distance))
    span, wrap = distance * math.cos(angle), math.pi + 2 * angle
    return Path(2 * span + wrap * both / 2, (span, span), (wrap, wrap))


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


def _check_pair(distance_m: float, one_m: float, other_m: float, reach_m: float) -> None:
    if not (one_m > 0 and other_m > 0):
        raise NotComputable("Each pulley's diameter must be greater than zero.")
    if reach_m >= distance_m:
        raise NotComputable("The two pulleys overlap: check the centre distance and the diameters.")


def _straights(
    pulleys: Sequence[Pulley], radii: list[float], headings: list[float], spans: list[float]
) -> list[_Straight]:
    """Both ends of each span, from pulley i to the next."""
    found: list[_Straight] = []
    for pulley, radius, heading, span in zip(pulleys, radii, headings, spans, strict=True):
        x, y = pulley.x_m + radius * math.sin(heading), pulley.y_m - radius * math.cos(heading)
        found.append(((x, y), (x + span * math.cos(heading), y + span * math.sin(heading))))
    return found


def _cut_each_other(one: _Straight, other: _Straight) -> bool:
    """Whether two spans cross between their ends."""

    def left(a: _Point, b: _Point, c: _Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    (a, b), (c, d) = one, other
    return left(a, b, c) * left(a, b, d) < 0 and left(c, d, a) * left(c, d, b) < 0


def _check_clear(pulleys: Sequence[Pulley], straight: list[_Straight]) -> None:
    """Raises: NotComputable where a span would run through a pulley that is not at its ends."""
    count = len(pulleys)
    for index, ((x, y), (to_x, to_y)) in enumerate(straight):
        following = (index + 1) % count
        for third, pulley in enumerate(pulleys):
            if third in (index, following):
                continue
            dx, dy = to_x - x, to_y - y
            along = ((pulley.x_m - x) * dx + (pulley.y_m - y) * dy) / (dx * dx + dy * dy)
            nearest = min(1.0, max(0.0, along))
            away = math.hypot(pulley.x_m - x - nearest * dx, pulley.y_m - y - nearest * dy)
            if away < pulley.diameter_m / 2 * (1 - 1e-9):
                raise NotComputable(
                    f"Between pulleys {index + 1} and {following + 1} the belt would run through pulley {third + 1}: "
                    "check their places, sides and order."
                )
