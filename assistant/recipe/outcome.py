"""What a recipe is: values with their reasons, the dwell second by second, what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from assistant.recipe.healing import Healing

Slot = Literal[
    "upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature",
    "preheat_temperature", "preheat_time",
]  # fmt: skip
Source = Literal["computed", "data sheet", "given"]


@dataclass(frozen=True)
class Given:
    """Values that a person has fixed; SI: K, s, Pa at the gauge. None: to be found."""

    upper_temperature: float | None = None
    lower_temperature: float | None = None
    dwell: float | None = None
    pressure: float | None = None
    release_temperature: float | None = None
    preheat_temperature: float | None = None
    preheat_time: float | None = None

    def value(self, slot: Slot) -> float | None:
        value: float | None = getattr(self, slot)
        return value


@dataclass(frozen=True)
class Value:
    """One value of the recipe; SI: K, s, Pa at the gauge.

    computed_si: what it would be had nobody overruled it; the difference is in the reason.
    """

    slot: Slot
    label: str
    value_si: float
    reason: str
    source: Source
    computed_si: float


@dataclass(frozen=True)
class Item:
    """A part of the dwell. The seconds of all items together are the dwell."""

    label: str
    seconds: float
    reason: str


@dataclass(frozen=True)
class Change:
    """What happens if something is otherwise than assumed: differences in seconds to the recipe's times.

    hot_fusion_s: fusion of the coldest point between hot platens, and the dwell with it; ramp_s: heat on
    to both platens at set; fused_s: heat on to fusion from a cold press; cooling_s: to release
    temperature inside. None: it would never get there.
    """

    label: str
    hot_fusion_s: float | None
    ramp_s: float | None
    fused_s: float | None
    cooling_s: float | None


@dataclass(frozen=True)
class Point:
    """Predicted, t_s after heat on; platens as they are, belt points as they are."""

    t_s: float
    upper_K: float
    lower_K: float
    coldest_K: float
    hottest_K: float


@dataclass(frozen=True)
class Trace:
    """A platen's temperature against time: expected, and the least and most that is plausible."""

    mean_K: tuple[float, ...]
    low_K: tuple[float, ...]
    high_K: tuple[float, ...]


@dataclass(frozen=True)
class Expected:
    """What the press should show: heating against time since heat on, cooling against time since cooling on.

    hottest_cooling_K: the hottest belt point on a press that cools slowly. ramp_between_s, cooling_between_s:
    both platens at set, and belt and platens at release temperature, on the quickest and on the slowest press
    within its ranges; None: never.
    """

    heating_s: tuple[float, ...]
    upper_heating: Trace
    lower_heating: Trace
    cooling_s: tuple[float, ...]
    upper_cooling: Trace
    lower_cooling: Trace
    hottest_cooling_K: tuple[float, ...]
    ramp_between_s: tuple[float | None, float | None]
    cooling_between_s: tuple[float | None, float | None]


@dataclass(frozen=True)
class Beside:
    """The thin belt beside the guide. near_damage_s: as in `Recipe`."""

    hot_fusion_s: float
    hottest_K: float
    above_fusion_s: float
    near_damage_s: float


@dataclass(frozen=True)
class Recipe:
    """All that is set, expected and explained. Times in seconds; ramp counts from heat on to both platens at set.

    needed_dwell_s: what fusion of the coldest edge and the holding time ask for from a cold press, without any allowance;
    fused_s: of the middle. cooling_s: until the hottest point inside is at release temperature even if the belt
    conducts badly and the sensors read low; cooling_expected_s: as planned. numerical_error: share of the times, from halving the grid.
    account: from the physical minimum of the dwell to the recommended one, step by step; the seconds add up.
    binding: what keeps the cycle from being shorter. shortest_K: both platens at the shortest cycle that the limits
    allow, joints made twice not counted, and shorter_by_s, by how much; None: the platens are set apart, or somebody set
    them. sure: share of joints that a computed dwell covers; covered: that the dwell covers, less where somebody
    set a shorter one.
    near_damage_s: longest that any belt point is within 10 K of damage. healing: of the worst point at the
    end of the dwell, from a cold press; healing_laid_hot: the same laid between hot platens.
    """

    values: tuple[Value, ...]
    items: tuple[Item, ...]
    ramp_s: float
    dwell_s: float
    cooling_s: float
    cooling_expected_s: float
    fused_s: float
    hot_fusion_s: float
    needed_dwell_s: float
    above_fusion_s: float
    peak_K: float
    heat_J: float
    current_A: float
    numerical_error: float
    sensitivity: tuple[Change, ...]
    curve: tuple[Point, ...]
    expected: Expected
    beside: Beside | None
    account: tuple[Item, ...]
    binding: str
    shortest_K: float | None
    shorter_by_s: float
    sure: float
    covered: float
    near_damage_s: float
    healing: Healing
    healing_laid_hot: Healing
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def cycle_s(self) -> float:
        """With the time until the inside is surely cold."""
        return self.ramp_s + self.dwell_s + self.cooling_s

    @property
    def cycle_expected_s(self) -> float:
        """As planned: what the next cycle is to be compared with."""
        return self.ramp_s + self.dwell_s + self.cooling_expected_s

    @property
    def asymmetric(self) -> bool:
        return self.value_si("upper_temperature") != self.value_si("lower_temperature")

    @property
    def preheated(self) -> bool:
        return any(value.slot == "preheat_temperature" for value in self.values)

    def value(self, slot: Slot) -> Value | None:
        return next((value for value in self.values if value.slot == slot), None)

    def value_si(self, slot: Slot) -> float:
        """Raises: KeyError for a preheat value of a recipe that has none."""
        value = self.value(slot)
        if value is None:
            raise KeyError(slot)
        return value.value_si


@dataclass(frozen=True)
class Infeasible:
    """No recipe can work: why, and the nearest change that would help; one sentence each."""

    reason: str
    nearest_change: str
