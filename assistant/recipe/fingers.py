"""The finger joint: how long its weld line is, how it carries the pull, whether it fits the plate.

Symmetric triangles, with flat tips and roots if wanted. Plain geometry, and the uniform-stress
idealisation for the flanks: no stress peak at the tips, no ply bridging the weld.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.recipe.not_computable import NotComputable

MARGIN_M = 0.030  # plate beyond the fingers, each way; judgement
LEAST_MARGIN_M = 0.010


@dataclass(frozen=True)
class Fingers:
    """A punched end.

    whole: whole pitches across the width; rest_m: what is left of it; edge_part_m: width of the
    part-finger at each edge with the pattern centred (0: none). flank_m: length of one flank;
    flank_angle_rad: between flank and running direction. weld_line_m: length of the whole zigzag;
    weld_area_m2: that times the thickness. notes: sentences for the technician.
    """

    pitch_m: float
    length_m: float
    width_m: float
    thickness_m: float
    tip_m: float
    whole: int
    rest_m: float
    edge_part_m: float
    flank_m: float
    flank_angle_rad: float
    weld_line_m: float
    weld_area_m2: float
    notes: tuple[str, ...]

    @property
    def gain(self) -> float:
        """Weld line over belt width, dimensionless."""
        return self.weld_line_m / self.width_m


@dataclass(frozen=True)
class FlankStress:
    """Stresses on a flank, Pa: normal to it, along it, and both together."""

    normal_Pa: float
    shear_Pa: float
    resultant_Pa: float


def fingers(
    pitch_m: float, length_m: float, width_m: float, thickness_m: float, tip_m: float = 0.0
) -> Fingers:
    """Geometry of a finger joint.

    Args: pitch, finger length (tip to root), belt width, belt thickness, width of the flat tip, all m.
    Raises: NotComputable when a length is not positive, the belt is narrower than one pitch, or the
    flat tips leave no flank.
    """
    for value, what in (
        (pitch_m, "finger pitch"),
        (length_m, "finger length"),
        (width_m, "belt width"),
        (thickness_m, "belt thickness"),
    ):
        if not (math.isfinite(value) and value > 0):
            raise NotComputable(f"The {what} must be greater than zero.")
    if width_m < pitch_m * (1 - 1e-9):
        raise NotComputable(
            f"The belt is {width_m * 1e3:g} mm wide, narrower than one finger pitch of {pitch_m * 1e3:g} mm: "
            "choose a punch with a smaller pitch."
        )
    if not 0 <= tip_m < pitch_m / 2:
        raise NotComputable(
            f"Flat tips of {tip_m * 1e3:g} mm must be narrower than half the pitch of {pitch_m * 1e3:g} mm."
        )
    whole = math.floor(width_m / pitch_m + 1e-9)
    rest = max(0.0, width_m - whole * pitch_m)
    if rest < 1e-9 * width_m:
        rest = 0.0
    edge = rest / 2
    notes: tuple[str, ...] = ()
    if 0 < edge < pitch_m / 4:
        notes = (
            f"With the punch centred, a part-finger of only {edge * 1e3:.1f} mm is left at each edge and may curl: "
            "press the edges down well, or take another pitch.",
        )
    run = pitch_m / 2 - tip_m
    flank = math.hypot(length_m, run)
    line = 2 * width_m / pitch_m * (flank + tip_m)
    return Fingers(
        pitch_m=pitch_m,
        length_m=length_m,
        width_m=width_m,
        thickness_m=thickness_m,
        tip_m=tip_m,
        whole=whole,
        rest_m=rest,
        edge_part_m=edge,
        flank_m=flank,
        flank_angle_rad=math.atan2(run, length_m),
        weld_line_m=line,
        weld_area_m2=line * thickness_m,
        notes=notes,
    )


def flank_stress(joint: Fingers, pull_N_m: float) -> FlankStress:
    """Uniform stress on a flank under a pull per belt width (N/m; 1 N/mm = 1000 N/m).

    Raises: NotComputable when the pull is negative.
    """
    if not pull_N_m >= 0:
        raise NotComputable("The pull on the belt must not be negative.")
    along = pull_N_m / joint.thickness_m
    sine, cosine = math.sin(joint.flank_angle_rad), math.cos(joint.flank_angle_rad)
    return FlankStress(along * sine**2, along * sine * cosine, along * sine)


def check_fit(
    joint: Fingers, heated_length_m: float, plate_width_m: float, margin_m: float = MARGIN_M
) -> None:
    """Whether plate and platens cover the joint.

    Args: length of the plate along the belt, width across it, wanted margin beyond the fingers, m.
    Raises: NotComputable with the reason when they do not.
    """
    needed = joint.length_m + 2 * margin_m
    if needed > heated_length_m * (1 + 1e-9):
        raise NotComputable(
            f"Fingers of {joint.length_m * 1e3:g} mm need {needed * 1e3:g} mm of plate with {margin_m * 1e3:g} mm "
            f"beyond them each way, and only {heated_length_m * 1e3:g} mm are there: choose shorter fingers or a longer plate."
        )
    if joint.width_m > plate_width_m * (1 + 1e-9):
        raise NotComputable(
            f"The belt is {joint.width_m * 1e3:g} mm wide and the plate only {plate_width_m * 1e3:g} mm: choose a wider one."
        )
