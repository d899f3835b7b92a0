"""How soon the platens can be at their set temperatures: what is said to be so earlier is not so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assistant.bench.job import Job
from assistant.recipe.during import PLATENS, Reading, Timeline, expected_reading
from assistant.recipe.outcome import Recipe, Trace
from assistant.recipe.recipe import settings_of

STARTED_S = 60.0  # a reading told so near to heat on shows how warm the press was when it began


@dataclass(frozen=True)
class OnAgain:
    """When the heat went on again after it had been off, session s, and how hot the platens can have been, K."""

    t_s: float
    platens_K: tuple[float, float]


def soonest_at_set_s(
    recipe: Recipe, heat_on_s: float, readings: Iterable[Reading], again: OnAgain | None = None
) -> float:
    """Session seconds at which both displays can be at their set temperatures at the earliest.

    By the upper end of the band of the way up, to within the sensor's error. A press that was warm when the
    heat went on begins further up that way, if both platens were read then; a platen that was last read
    below its set temperature goes on from there. again: the way up begins there, whatever was before.
    """
    told, settings, expected = tuple(readings), settings_of(recipe), recipe.expected
    ways = (
        _Way(expected.heating_s, expected.upper_heating, settings.upper_K),
        _Way(expected.heating_s, expected.lower_heating, settings.lower_K),
    )
    begun = [_told(told, slot, heat_on_s - STARTED_S, heat_on_s + STARTED_S) for slot in PLATENS]
    soonest_s = heat_on_s
    for side, (slot, way, first) in enumerate(zip(PLATENS, ways, begun, strict=True)):
        platen_s = heat_on_s + way.there_s
        if again is not None:
            platen_s = again.t_s + way.from_K_s(again.platens_K[side])
        elif first is not None and None not in begun:
            platen_s = min(platen_s, first.t_s + way.left_s(first))
        last = _told(told, slot, heat_on_s if again is None else again.t_s, float("inf"))
        if last is not None and way.left_s(last) > 0:
            platen_s = max(platen_s, last.t_s + way.left_s(last))
        soonest_s = max(soonest_s, platen_s)
    return soonest_s


@dataclass(frozen=True)
class _Way:
    """The way up of a platen, as fast as it can be."""

    times_s: Sequence[float]
    trace: Trace
    set_K: float

    @property
    def there_s(self) -> float:
        """From heat on to the set temperature, less what a sensor may be off by."""
        error_K = self.trace.mean_K[0] - self.trace.low_K[0]  # sensor error: nothing else at the start
        return self._reached_s(self.set_K - error_K)

    def left_s(self, reading: Reading) -> float:
        """From a reading on."""
        if not isinstance(reading.value, float | int):
            raise TypeError(f"The reading of {reading.slot} is not a temperature.")
        return self.from_K_s(float(reading.value))

    def from_K_s(self, level_K: float) -> float:
        """From a temperature on."""
        return max(0.0, self.there_s - self._reached_s(level_K))

    def _reached_s(self, level_K: float) -> float:
        """When the upper end of the band first is at a temperature; the first moment where it begins above."""
        high = self.trace.high_K
        at = next((i for i, high_K in enumerate(high) if high_K >= level_K), len(high) - 1)
        if at == 0 or high[at] < level_K:
            return self.times_s[at]
        share = (level_K - high[at - 1]) / (high[at] - high[at - 1])
        return self.times_s[at - 1] + share * (self.times_s[at] - self.times_s[at - 1])


def _told(readings: Sequence[Reading], slot: str, from_s: float, to_s: float) -> Reading | None:
    """The last reading of a platen between two moments."""
    return next((r for r in reversed(readings) if r.slot == slot and from_s <= r.t_s <= to_s), None)


def on_again(job: Job, recipe: Recipe, timeline: Timeline) -> OnAgain | None:
    """When the heat last went on again, and the platens then, as hot as they can have been; None: never off."""
    if not timeline.cuts or timeline.cuts[-1].on_s is None:
        return None
    last, uncut = timeline.cuts[-1], Timeline(timeline.heat_on_s)
    assert last.on_s is not None
    hottest = []
    for slot in PLATENS:
        before = expected_reading(job, recipe, uncut, slot, last.off_s)
        mean_K = expected_reading(
            job, recipe, Timeline(timeline.heat_on_s, cuts=timeline.cuts), slot, last.on_s
        ).mean_K
        hottest.append(mean_K + before.high_K - before.mean_K)
    return OnAgain(last.on_s, (hottest[0], hottest[1]))
