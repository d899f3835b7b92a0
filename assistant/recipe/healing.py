"""How far a weld has healed: a model beside the rule of thumb, never a reason to shorten the hold.

Reptation: chains creep across the joint and strength grows with the fourth root of time until t_r (Wool &
O'Connor, J. Appl. Phys. 52 (1981) 5953). At changing temperature D_h = min(1, [integral dt / t_r(T)]^(1/4))
(Yang & Pitchumani, Macromolecules 35 (2002) 3213; the formula from memory), counted above fusion and under
pressure only. The constants are illustrative: no published ones for belt-grade PVC or TPU were found.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from assistant.recipe.not_computable import NotComputable

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats
    from assistant.recipe.run import Run

GAS_J_molK = 8.314462618
LABEL = "model, illustrative constants"
# Gauss-Legendre of order 4 on 0..1; exp(-E/RT) over the few kelvin of one interval needs no more.
_NODES = (0.06943184420297371, 0.33000947820757187, 0.6699905217924281, 0.9305681557970262)
_WEIGHTS = (0.17392742256872692, 0.32607257743127307, 0.32607257743127307, 0.17392742256872692)
SAMPLES = 200  # of each stretch of a run


@dataclass(frozen=True)
class Reptation:
    """Time to heal wholly: t_r(T) = t_ref exp[(E/R)(1/T - 1/T_ref)].

    t_ref_s at `at_K`; activation E in J/mol. Raises: NotComputable when t_ref is not above zero or E is below.
    """

    t_ref_s: float = 60.0
    at_K: float = 453.15
    activation_J_mol: float = 100e3

    def __post_init__(self) -> None:
        if not 0 < self.t_ref_s < math.inf:
            raise NotComputable(f"The healing time is {self.t_ref_s:g} s; it must be above zero. Correct it.")
        if not 0 <= self.activation_J_mol < math.inf:
            raise NotComputable(
                f"The activation energy of healing is {self.activation_J_mol:g} J/mol; it must not be below zero. Correct it."
            )

    @property
    def _c_K(self) -> float:
        return self.activation_J_mol / GAS_J_molK

    def time_s(self, temperature_K: float) -> float:
        """t_r, s, at one temperature."""
        return self.t_ref_s * math.exp(self._c_K * (1 / temperature_K - 1 / self.at_K))

    def of_ramp(self, from_K: float, to_K: float, rate_K_s: float) -> float:
        """Integral of dt / t_r over a ramp, in closed form: e^{c/T_ref} [F(T2) - F(T1)] / (rate t_ref),
        F(T) = T e^{-c/T} - c E1(c/T), c = E/R."""
        from scipy.special import exp1

        c = self._c_K

        def grown(t_K: float) -> float:
            if c == 0:
                return t_K
            return t_K * math.exp(c / self.at_K - c / t_K) - c * math.exp(c / self.at_K) * float(
                exp1(c / t_K)
            )

        return (grown(to_K) - grown(from_K)) / (rate_K_s * self.t_ref_s)

    def integral(self, times_s: Floats, temperatures_K: Floats, fusion_K: Floats) -> Floats:
        """Integral of dt / t_r above fusion for each point, without unit, shape (points,).

        Args: times (times,); temperatures (points, times), straight lines between; fusion (points,).
        """
        whole: Floats = self.grown(times_s, temperatures_K, fusion_K).sum(axis=1)
        return whole

    def grown(self, times_s: Floats, temperatures_K: Floats, fusion_K: Floats) -> Floats:
        """The same interval by interval, shape (points, times - 1)."""
        import numpy as np

        length = np.diff(times_s)
        low = np.minimum(temperatures_K[:, :-1], temperatures_K[:, 1:])
        high = np.maximum(temperatures_K[:, :-1], temperatures_K[:, 1:])
        floor = fusion_K[:, None]
        rise = np.where(high > low, high - low, 1.0)
        share = np.where(low >= floor, 1.0, ((high - floor) / rise).clip(0.0, 1.0))
        begin = np.maximum(low, floor)
        end = np.maximum(high, floor)
        total = np.zeros_like(share)
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            at = begin + node * (end - begin)
            total += weight * np.exp(self._c_K * (1 / self.at_K - 1 / at))
        healed: Floats = total * share * length / self.t_ref_s
        return healed


def degree(integral: float) -> float:
    """D_h, 0 to 1, from the integral of dt / t_r."""
    return float(min(1.0, max(0.0, integral) ** 0.25))


@dataclass(frozen=True)
class Healing:
    """The worst belt point: D_h (never above 1, no promise of strength), the integral behind it, its depth
    below the belt's upper face."""

    degree: float
    integral: float
    depth_m: float
    label: str = LABEL


def healed_s(run: Run, until_s: float, model: Reptation | None = None) -> float | None:
    """When the slowest belt point has healed wholly by the model; None if it has not by `until_s`."""
    import numpy as np

    times = np.linspace(0.0, until_s, 3 * SAMPLES)
    grown = (model or Reptation()).grown(times, run.belt(times), run.body.fusion_K).cumsum(axis=1).min(axis=0)
    return None if grown[-1] < 1 else float(np.interp(1.0, grown, times[1:]))


def healing_of(run: Run, until_s: float, model: Reptation | None = None) -> Healing:
    """Of the belt point that has healed least by `until_s`, pressure being on all the time."""
    import numpy as np

    model = model or Reptation()
    edges = sorted({0.0, until_s, *(start for start in run.starts_s if 0 < start < until_s)})
    times = np.unique(
        np.concatenate([np.linspace(a, b, SAMPLES) for a, b in pairwise(edges)] or [np.zeros(1)])
    )
    fused = (run.belt(times) >= run.body.fusion_K[:, None]).all(axis=0)
    if (
        fused.any() and len(times) > 1
    ):  # the last point to fuse is the worst: from just before that on, finely
        times = np.unique(
            np.concatenate((times, np.linspace(times[max(int(fused.argmax()) - 1, 0)], until_s, 2 * SAMPLES)))
        )
    found = model.integral(times, run.belt(times), run.body.fusion_K)
    worst = int(np.argmin(found))
    integral = float(found[worst])
    return Healing(degree(integral), integral, float(run.body.depth_m[worst]))
