"""Pull, shaft load, slip, marks: how tight the belt is to be.

Linear in elongation, which holds to `LINEAR_TO` for fabric belts; relaxed values (ISO 21181).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.recipe.not_computable import NotComputable

FULL_TURN_RAD = 2 * math.pi
LINEAR_TO = 0.02  # elongation; judgement


@dataclass(frozen=True)
class Drive:
    """Pulls that carry an effective pull without slip, N: tight and slack strand, and at rest."""

    tight_N: float
    slack_N: float
    rest_N: float


def pull(
    k1_N_m: float, elongation: float, width_m: float, elongation_range: tuple[float, float] | None = None
) -> float:
    """Pull in one strand, N.

    Args: relaxed pull per width at 1 % elongation, N/m (1 N/mm = 1000 N/m); elongation as a ratio;
    belt width; the data sheet's range. Raises: NotComputable outside it.
    """
    _check_elongation(elongation, elongation_range)
    if not (k1_N_m > 0 and width_m > 0):
        raise NotComputable("The belt's pull at one per cent and its width must be greater than zero.")
    return k1_N_m * elongation * 100 * width_m


def linear_notes(*elongations: float) -> tuple[str, ...]:
    """A sentence where any elongation (a ratio) is more than pulls can be told for in proportion; else none."""
    most = max(elongations, default=0.0)
    if most <= LINEAR_TO + 1e-12:
        return ()
    return (
        f"Pull and elongation go in proportion to about {LINEAR_TO * 100:g} % (judgement); at {most * 100:.3g} % the pull is an "
        "estimate: ask the belt's data sheet.",
    )


def elongation_for(pull_N: float, k1_N_m: float, width_m: float) -> float:
    """Elongation (a ratio) that gives this pull; the inverse of `pull`."""
    if not (k1_N_m > 0 and width_m > 0 and pull_N >= 0):
        raise NotComputable("The belt's pull at one per cent and its width must be greater than zero.")
    return pull_N / (k1_N_m * 100 * width_m)


def shaft_load(tight_N: float, slack_N: float, wrap_rad: float) -> float:
    """Load on a shaft, N, from the two strands; at rest both are equal. Raises: NotComputable for an impossible wrap."""
    _check_wrap(wrap_rad)
    squared = tight_N**2 + slack_N**2 - 2 * tight_N * slack_N * math.cos(wrap_rad)
    return math.sqrt(max(0.0, squared))


def grip(friction: float, wrap_rad: float) -> float:
    """Largest ratio of tight to slack pull without slip (Euler-Eytelwein).

    Raises: NotComputable for friction <= 0 or a wrap outside (0, 360 degrees].
    """
    _check_wrap(wrap_rad)
    if not friction > 0:
        raise NotComputable("The friction between belt and pulley must be greater than zero.")
    return math.exp(friction * wrap_rad)


def drive(effective_N: float, friction: float, wrap_rad: float) -> Drive:
    """The least pulls that carry `effective_N` over a drive pulley, at constant belt length.

    Raises: NotComputable as `grip`, or for a negative effective pull.
    """
    if not effective_N >= 0:
        raise NotComputable("The pull the drive has to carry must not be negative.")
    ratio = grip(friction, wrap_rad)
    slack = effective_N / (ratio - 1)
    return Drive(slack + effective_N, slack, slack + effective_N / 2)


def marks(
    elongation: float, apart_m: float = 1.0, elongation_range: tuple[float, float] | None = None
) -> float:
    """How far two marks, `apart_m` apart on the slack belt, must be when it is tight, m."""
    _check_elongation(elongation, elongation_range)
    return apart_m * (1 + elongation)


def bending_strain(thickness_m: float, diameter_m: float, smallest_m: float | None = None) -> float:
    """Strain at the outer face round a pulley, neutral plane in the middle; a ratio.

    It only explains the data sheet's smallest pulley. Raises: NotComputable below that diameter.
    """
    if not (thickness_m > 0 and diameter_m > 0):
        raise NotComputable("Belt thickness and pulley diameter must be greater than zero.")
    strain = thickness_m / (diameter_m + thickness_m)
    if smallest_m is not None and diameter_m < smallest_m * (1 - 1e-9):
        raise NotComputable(
            f"A pulley of {diameter_m * 1e3:g} mm is smaller than the data sheet's {smallest_m * 1e3:g} mm; the outer face "
            f"would stretch by {strain * 100:.1f} %."
        )
    return strain


def _check_wrap(wrap_rad: float) -> None:
    if not 0 < wrap_rad <= FULL_TURN_RAD * (1 + 1e-12):
        raise NotComputable("The wrap must lie above nought and not above 360 degrees.")


def _check_elongation(elongation: float, allowed: tuple[float, float] | None) -> None:
    low, high = allowed or (0.0, math.inf)
    if not low - 1e-12 <= elongation <= high + 1e-12:
        raise NotComputable(
            f"An elongation of {elongation * 100:g} % is outside what the belt allows, {low * 100:g} to {high * 100:g} %."
        )
