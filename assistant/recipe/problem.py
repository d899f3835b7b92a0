"""A recipe asked for in full: lay-ups, platens with their limits, what the weld needs, and how well all this is known.

What a job of catalogue items leaves to the catalogue stands here in plain values, so that the shortest cycle
can be found for any lay-up between any two platens.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import inf

from assistant.recipe.case import CONTACT_FACTOR, NEAR_DAMAGE_K, THICKER_M
from assistant.recipe.healing import Reptation
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Plan, PlatenPlan
from assistant.recipe.setting import SURE_95, deviations
from assistant.recipe.stack import Stack


@dataclass(frozen=True)
class Side:
    """One platen: how it heats and cools (its set temperature there is of no account), where it may be set, and
    how it may differ from its display. sensor_error_K: one standard deviation. least_K, most_K: what it may be set
    to if a narrower range, or one temperature, is asked for."""

    platen: PlatenPlan
    lowest_K: float
    highest_K: float
    sensor_error_K: float = 0.0
    sensor_lag_s: float = 0.0
    edge_deficit_K: float = 0.0
    least_K: float = 0.0
    most_K: float = inf

    def at(self, set_K: float, *, off_K: float = 0.0, edge: bool = False) -> PlatenPlan:
        """Set so; truly `off_K` hotter than it reads; or as its edge is, which lags in proportion."""
        platen = self.platen
        if platen.rate_K_s is None and platen.driven is None:
            true_K = set_K + off_K - (self.edge_deficit_K if edge else 0.0)
            return replace(platen, set_K=true_K, start_K=true_K)
        if not edge:
            return replace(platen, set_K=set_K + off_K)
        rise_K = set_K - platen.start_K
        share = 1 - self.edge_deficit_K / rise_K if abs(rise_K) > 1e-9 else 1.0
        driven = platen.driven
        return replace(
            platen,
            set_K=platen.start_K + share * rise_K,
            rate_K_s=None if platen.rate_K_s is None else platen.rate_K_s * share,
            driven=None if driven is None else replace(driven, power_W_m2=driven.power_W_m2 * share),
        )

    def stronger(self, factor: float) -> Side:
        """With a heater of so many times the power, if it has one."""
        driven = self.platen.driven
        if driven is None:
            return self
        return replace(
            self, platen=replace(self.platen, driven=replace(driven, power_W_m2=factor * driven.power_W_m2))
        )

    def overshoot_K(self, set_K: float, lay_up_J_m2K: float) -> float:
        """How far it runs on before its sensor tells: heating rate at the end times lag."""
        driven = self.platen.driven
        if driven is None:
            return (self.platen.rate_K_s or 0.0) * self.sensor_lag_s
        net_W_m2 = driven.power_W_m2 - driven.loss_W_m2K * (set_K - driven.around_K)
        return max(0.0, net_W_m2 / (driven.capacity_J_m2K + lay_up_J_m2K / 2) * self.sensor_lag_s)


@dataclass(frozen=True)
class Uncertain:
    """What the worst one joint in twenty is off by, to the slower side; conductivity and heat capacity are off by
    the spans of their layers."""

    thicker_m: float = THICKER_M
    contact_factor: float = CONTACT_FACTOR

    def varied(self, stack: Stack, far: float) -> dict[str, Stack]:
        """Each alone, `far` times as far as in one joint of twenty."""
        thicker_m, worse = far * self.thicker_m, self.contact_factor**far
        return {
            f"{thicker_m * 1e3:.2g} mm more belt": stack.changed(belt_thicker_m=thicker_m),
            "less belt conductivity": stack.off(conductivity=far),
            "more belt heat capacity": stack.off(capacity=far),
            f"contact {worse:.2g} times as bad": stack.changed(contact_factor=worse),
        }

    def drawn(self, stack: Stack, thick: float, k: float, c: float, contact: float) -> Stack:
        """One joint, each quantity so many standard deviations to the slower side."""
        return stack.changed(
            belt_thicker_m=max(thick / SURE_95 * self.thicker_m, -0.5 * stack.belt_thickness_m),
            contact_factor=self.contact_factor ** (contact / SURE_95),
        ).off(conductivity=k / SURE_95, capacity=c / SURE_95)


@dataclass(frozen=True)
class Column:
    """One line through the lay-up, as if it covered the platens: the guide, or the thin belt beside it."""

    name: str
    stack: Stack


@dataclass(frozen=True)
class Problem:
    """SI. The weld holds `above_fusion_K` over fusion for `hold_s` at every point of every column, and settles no
    nearer than `below_damage_K` to damage.

    dwell_s: fixed by somebody; None: to be found. ramp_counts: the dwell takes what the platens have warmed on
    their way; otherwise the belt is counted as laid cold between hot platens, as after a joint before.
    alike: both platens at one temperature. step_K, dwell_step_s: what can be set.
    Raises: NotComputable where limits leave nothing between them.
    """

    columns: tuple[Column, ...]
    upper: Side
    lower: Side
    start_K: float
    release_K: float
    hold_s: float
    above_fusion_K: float = 0.0
    below_damage_K: float = 0.0
    near_damage_K: float = NEAR_DAMAGE_K
    longest_near_damage_s: float = 1200.0
    longest_dwell_s: float = 3600.0
    dwell_s: float | None = None
    uncertain: Uncertain = field(default_factory=Uncertain)
    sure: float = 0.95
    step_K: float = 1.0
    dwell_step_s: float = 1.0
    ramp_counts: bool = True
    alike: bool = False
    error: float = 0.002
    healing: Reptation = field(default_factory=Reptation)

    def __post_init__(self) -> None:
        for name, side in (("upper", self.upper), ("lower", self.lower)):
            if side.lowest_K > side.highest_K:
                raise NotComputable(
                    f"The {name} platen's lowest set temperature lies above its highest; correct one of them."
                )

    @property
    def z(self) -> float:
        """Standard deviations that the quantile to cover lies to one side."""
        return deviations(self.sure)

    @property
    def far(self) -> float:
        """The same against the one joint in twenty that the uncertainties are told for."""
        return self.z / SURE_95

    def each(self, turned: Callable[[Side], Side]) -> Problem:
        """The same with both platens turned into others."""
        return replace(self, upper=turned(self.upper), lower=turned(self.lower))

    def plan(self, stack: Stack, upper: PlatenPlan, lower: PlatenPlan, dwell_s: float | None = None) -> Plan:
        return Plan(
            stack, upper, lower, self.start_K, self.hold_s, dwell_s, self.release_K, healing=self.healing
        )


def guarded(stack: Stack, above_fusion_K: float) -> Stack:
    """The lay-up with fusion told so much hotter. Raises: NotComputable when that leaves nothing below damage."""
    layers = tuple(
        replace(layer, fusion_K=layer.fusion_K + above_fusion_K)
        if layer.is_belt and layer.fusion_K is not None
        else layer
        for layer in stack.layers
    )
    return Stack(layers, stack.contacts_m2K_W)
