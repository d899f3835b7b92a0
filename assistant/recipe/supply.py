"""Current, voltage drop in the lead, fuse: whether the supply can feed the press.

Copper of class 5 (IEC 60228) at working temperature. Everything here is advice to a qualified
person; the press plate and the local code rule.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from assistant.recipe.not_computable import NotComputable

Phases = Literal[1, 3]

# IEC 60228, class 5, plain copper: largest resistance at 20 degC, ohm per km, by mm2 (printed).
CLASS_5_OHM_PER_KM = {1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91}
PER_KELVIN = 0.00393
REACTANCE_OHM_M = 0.08e-3
WARN_DROP = 0.03  # judgement: the lead is only part of the 5 % from the origin of the installation
REFUSE_DROP = 0.05  # IEC 60364-5-52 annex G, other uses, public supply
LASTING = 0.8  # of the fuse, for loads of hours; judgement
WORKING_TEMPERATURE_K = 343.15  # 70 degC: PVC-insulated cable fully loaded; judgement
ANNEX_G_RESISTIVITY_OHM_M = 0.0225e-6
QUALIFIED = "By a qualified person; see the press plate and the local code."


@dataclass(frozen=True)
class Drop:
    """Voltage lost in the lead: V, and as a ratio of the nominal voltage."""

    volts_V: float
    ratio: float


@dataclass(frozen=True)
class Supplied:
    """What the press gets. power_W: what its heaters really take behind the lead, power_ratio of what is on its
    plate, about (1 - drop) squared; notes: sentences."""

    nominal_A: float
    drop: Drop
    current_A: float
    power_W: float
    power_ratio: float
    notes: tuple[str, ...]


def current(power_W: float, voltage_V: float, phases: Phases = 1, cos_phi: float = 1.0) -> float:
    """Line current, A; with three phases `voltage_V` is between lines.

    Raises: NotComputable when power or voltage is not positive or cos phi is outside (0, 1].
    """
    if not power_W > 0:
        raise NotComputable("The power of the press must be greater than zero watts.")
    if not voltage_V > 0:
        raise NotComputable("The supply voltage must be greater than zero volts.")
    if not 0 < cos_phi <= 1:
        raise NotComputable("The power factor must lie between nought and one.")
    return power_W / ((math.sqrt(3) if phases == 3 else 1.0) * voltage_V * cos_phi)


def resistance_per_m(
    section_m2: float,
    temperature_K: float = WORKING_TEMPERATURE_K,
    ohm_per_km: Mapping[float, float] = CLASS_5_OHM_PER_KM,
) -> float:
    """Largest resistance of one copper conductor, ohm/m.

    ohm_per_km: by section in mm2, at 20 degC. Raises: NotComputable when the section is not in the table, or the
    temperature is one that no lead has.
    """
    if not 200 < temperature_K < 500:
        raise NotComputable(
            f"A lead at {temperature_K - 273.15:g} °C cannot be: give the temperature of its copper."
        )
    for section_mm2, at_20 in ohm_per_km.items():
        if math.isclose(section_m2 * 1e6, section_mm2, rel_tol=1e-6):
            return at_20 / 1e3 * (1 + PER_KELVIN * (temperature_K - 293.15))
    known = ", ".join(f"{mm2:g}" for mm2 in sorted(ohm_per_km))
    raise NotComputable(
        f"A lead of {section_m2 * 1e6:g} mm² is not in the table of {known} mm²: read the section printed on the lead."
    )


def drop(
    current_A: float,
    voltage_V: float,
    length_m: float,
    section_m2: float,
    *,
    phases: Phases = 1,
    cos_phi: float = 1.0,
    temperature_K: float = WORKING_TEMPERATURE_K,
    ohm_per_km: Mapping[float, float] = CLASS_5_OHM_PER_KM,
) -> Drop:
    """Voltage drop in a lead of `length_m` one way. Raises: NotComputable as `resistance_per_m`."""
    _check_length(length_m)
    ways = 2.0 if phases == 1 else math.sqrt(3)
    sin_phi = math.sqrt(1 - cos_phi**2)
    per_m = resistance_per_m(section_m2, temperature_K, ohm_per_km) * cos_phi + REACTANCE_OHM_M * sin_phi
    volts = ways * current_A * length_m * per_m
    return Drop(volts, volts / voltage_V)


def drop_by_annex_g(
    current_A: float,
    voltage_V: float,
    length_m: float,
    section_m2: float,
    *,
    phases: Phases = 1,
    cos_phi: float = 1.0,
) -> Drop:
    """The drop by IEC 60364-5-52 annex G (informative), a second opinion beside `drop`.

    With three phases the standard's drop is to neutral; it is given here between lines.
    """
    _check_length(length_m)
    sin_phi = math.sqrt(1 - cos_phi**2)
    per_m = ANNEX_G_RESISTIVITY_OHM_M / section_m2 * cos_phi + REACTANCE_OHM_M * sin_phi
    volts = (2.0 if phases == 1 else math.sqrt(3)) * current_A * length_m * per_m
    return Drop(volts, volts / voltage_V)


def supply(
    power_W: float,
    nominal_V: float,
    fuse_A: float,
    length_m: float,
    section_m2: float,
    *,
    phases: Phases = 1,
    cos_phi: float = 1.0,
    measured_V: float | None = None,
    coiled: bool = False,
    temperature_K: float = WORKING_TEMPERATURE_K,
    ohm_per_km: Mapping[float, float] = CLASS_5_OHM_PER_KM,
) -> Supplied:
    """Whether this lead and fuse can feed a press of `power_W` at `nominal_V`.

    `measured_V`: voltage at the socket, `nominal_V` if not given; the heaters are taken as
    resistances. Drop and fuse are judged at nominal current, which is the safe side. A length of
    zero means no lead. Raises: NotComputable for a coiled lead, an unknown section, more current
    than the fuse, more than 5 % drop.
    """
    if coiled:
        raise NotComputable("A coiled lead gets hot under load: unroll all of it.")
    nominal = current(power_W, nominal_V, phases, cos_phi)
    if nominal > fuse_A:
        raise NotComputable(
            f"The press takes {nominal:.1f} A and the fuse is {fuse_A:g} A: it needs another socket. {QUALIFIED}"
        )
    lost = drop(
        nominal, nominal_V, length_m, section_m2, phases=phases, cos_phi=cos_phi, temperature_K=temperature_K,
        ohm_per_km=ohm_per_km,
    )  # fmt: skip
    if lost.ratio > REFUSE_DROP:
        raise NotComputable(
            f"Over {length_m:g} m of {section_m2 * 1e6:g} mm² the voltage would drop by {lost.ratio * 100:.1f} %, "
            f"more than {REFUSE_DROP * 100:g} %: take a shorter or thicker lead. {QUALIFIED}"
        )
    notes: list[str] = []
    if lost.ratio > WARN_DROP:
        notes.append(
            f"The lead drops {lost.ratio * 100:.1f} % of the voltage; the wiring before it drops some too: "
            "a shorter or thicker lead is better."
        )
    if nominal > LASTING * fuse_A:
        notes.append(
            f"{nominal:.1f} A is more than {LASTING * 100:g} % of the {fuse_A:g} A fuse, which is much for hours of load."
        )
    amps, share = behind_lead(
        power_W, nominal_V, nominal_V if measured_V is None else measured_V, length_m, section_m2, phases=phases,
        cos_phi=cos_phi, temperature_K=temperature_K, ohm_per_km=ohm_per_km,
    )  # fmt: skip
    return Supplied(nominal, lost, amps, share * power_W, share, tuple(notes))


def behind_lead(
    power_W: float,
    nominal_V: float,
    socket_V: float,
    length_m: float,
    section_m2: float,
    *,
    phases: Phases = 1,
    cos_phi: float = 1.0,
    temperature_K: float = WORKING_TEMPERATURE_K,
    ohm_per_km: Mapping[float, float] = CLASS_5_OHM_PER_KM,
) -> tuple[float, float]:
    """Current, A, and power over nominal power that a press takes behind a lead; nothing is judged.

    The press is an impedance of fixed resistance and reactance, in series with those of the lead.
    Raises: NotComputable as `current` and `resistance_per_m`.
    """
    _check_length(length_m)
    if not socket_V > 0:
        raise NotComputable("The supply voltage must be greater than zero volts.")
    nominal = current(power_W, nominal_V, phases, cos_phi)
    # Of one phase: a star of three sees each wire of the lead once, a single phase sees it there and back.
    in_star = math.sqrt(3) if phases == 3 else 1.0
    press = nominal_V / in_star / nominal * complex(cos_phi, math.sqrt(1 - cos_phi**2))
    per_m = complex(resistance_per_m(section_m2, temperature_K, ohm_per_km), REACTANCE_OHM_M)
    amps = socket_V / in_star / abs(press + per_m * length_m * (2 if phases == 1 else 1))
    return amps, (amps / nominal) ** 2


def smallest_section_mm2(
    power_W: float,
    nominal_V: float,
    fuse_A: float,
    length_m: float,
    *,
    most_drop: float = WARN_DROP,
    phases: Phases = 1,
    cos_phi: float = 1.0,
    temperature_K: float = WORKING_TEMPERATURE_K,
    ohm_per_km: Mapping[float, float] = CLASS_5_OHM_PER_KM,
) -> float | None:
    """The smallest section of the table, mm2, that drops no more than `most_drop` (a ratio); None: none of them.

    What a fuse lets a lead carry without growing hot is the local code's, not judged here.
    Raises: NotComputable for more current than the fuse, whatever the lead.
    """
    nominal = current(power_W, nominal_V, phases, cos_phi)
    if nominal > fuse_A:
        raise NotComputable(
            f"The press takes {nominal:.1f} A and the fuse is {fuse_A:g} A: it needs another socket. {QUALIFIED}"
        )
    for section_mm2 in sorted(ohm_per_km):
        lost = drop(
            nominal, nominal_V, length_m, section_mm2 * 1e-6, phases=phases, cos_phi=cos_phi,
            temperature_K=temperature_K, ohm_per_km=ohm_per_km,
        )  # fmt: skip
        if lost.ratio <= most_drop:
            return section_mm2
    return None


def _check_length(length_m: float) -> None:
    if not (math.isfinite(length_m) and length_m >= 0):
        raise NotComputable("The length of the lead must not be negative.")
