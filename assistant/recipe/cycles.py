"""How long a cycle is at any set temperature, quickly: for looking for the shortest one."""

from __future__ import annotations

from dataclasses import replace
from math import inf, isinf

from assistant.recipe.case import Case
from assistant.recipe.conduction import Conduction
from assistant.recipe.platen import Settings
from assistant.recipe.stack import Stack

KNOT_K = 10.0  # between these it is nearly straight
FINENESS = 0.5


class Cycles:
    """Ramp, heating through between hot platens, hold and cooling, with both platens alike.

    On a halved grid and without melting heat, which changes little where the shortest cycle lies.
    """

    def __init__(self, case: Case, hold_s: float, release_K: float) -> None:
        layers = tuple(replace(layer, latent_J_kg=0.0) for layer in case.body.stack.layers)
        body = Conduction(Stack(layers, case.body.stack.contacts_m2K_W), FINENESS)
        self._case, self._hold_s, self._release_K = replace(case, body=body), hold_s, release_K
        self._known: dict[float, float] = {}

    def at(self, both_K: float) -> float:
        """Seconds; infinite where nothing fuses, the press does not get there or it never gets cold."""
        below_K = KNOT_K * (both_K // KNOT_K)
        share = (both_K - below_K) / KNOT_K
        below_s, above_s = self._exact(below_K), self._exact(below_K + KNOT_K)
        if isinf(below_s) or isinf(above_s):
            return self._exact(both_K)
        return below_s + share * (above_s - below_s)

    def _exact(self, both_K: float) -> float:
        if both_K not in self._known:
            case = replace(self._case, settings=Settings(both_K, both_K, 0.0, self._release_K))
            hot_s, set_s = case.hot_fusion_s, case.set_s
            whole_s = inf
            if hot_s is not None and set_s is not None:
                case = replace(case, settings=replace(case.settings, dwell_s=hot_s + self._hold_s))
                cooling_s = case.cooling_s
                whole_s = inf if cooling_s is None else set_s + hot_s + self._hold_s + cooling_s
            self._known[both_K] = whole_s
        return self._known[both_K]
