"""Why the displays show what they show: the same cycle simulated under each cause, ranked by how well it fits.

All readings of the cycle count together. What a cause leaves unexplained is weighed against what readings are
off by anyhow: rounding of the display, a few seconds between reading and noting, the error each sensor has, and
constants of the press that are planning values. A cause has one amount (half the power, 20 K, two minutes): its
evidence is the mean over its possible amounts, so that a cause that could explain anything explains little.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.recipe.displays import NOTHING, PLATENS, Circumstances, Clock, Displays, Pair
from assistant.recipe.during import Reading, Timeline
from assistant.recipe.outcome import Recipe
from assistant.recipe.recipe import settings_of

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

DISPLAY_K = 0.5  # rounding of a display of whole degrees, and a little restlessness
NOTED_S = 5.0  # between reading a display and telling it; all these sigmas are engineering judgement
TOLD_AT_SET_S = 25.0  # between both displays at set and telling so
PRESS_SIGMA = 0.15  # of power, losses and cooling that both platens share
PLATEN_SIGMA = 0.05  # of one platen against the other
BETTER = 4.0  # how much misfit a cause must take away to be named
WORTH_NAMING = 0.05  # share of the evidence
BY_NOISE = NormalDist().inv_cdf(0.999)
IN_ORDER_PRIOR = 5.0  # against any one cause


@dataclass(frozen=True)
class Cause:
    """One way in which things may be wrong. words: with {:...} for the amount that fits best.

    slot: the platen whose readings alone show it; None: both. cooling: seen only while it cools.
    """

    key: str
    words: str
    make: Callable[[float], Circumstances]
    amounts: tuple[float, ...]
    slot: str | None = None
    cooling: bool = False


@dataclass(frozen=True)
class Suggested:
    """A cause weighed. misfit: sum of squares over sigmas (chi squared) at its best amount; share: of all evidence."""

    key: str
    sentence: str
    amount: float
    misfit: float
    share: float


@dataclass(frozen=True)
class Weighed:
    """What all readings so far say. causes: likeliest first, only those that fit clearly better than 'in order'.

    misfit_in_order: chi squared with nothing wrong, over `readings` readings; in_order_share: of all evidence.
    explained: something, be it that nothing is wrong, leaves no more unexplained than readings are off by anyhow.
    """

    readings: int
    misfit_in_order: float
    in_order_share: float
    causes: tuple[Suggested, ...]
    explained: bool = True

    @property
    def sentence(self) -> str:
        """One sentence for the technician; '' when there is nothing to say."""
        if not self.explained:
            return "No single cause that I know explains what the displays have shown."
        if not self.causes:
            return ""
        likely = [cause for cause in self.causes if cause.share >= 0.25 * self.causes[0].share][:3]
        return f"It looks as if {', or '.join(cause.sentence for cause in likely)}."


def _side(side: int, value: float, other: float) -> Pair:
    return (value, other) if side == 0 else (other, value)


def _both(value: float) -> Pair:
    return (value, value)


def _causes() -> tuple[Cause, ...]:
    found = [
        Cause("supply_low", "the supply is low, about {:.0%} of its voltage", lambda a: Circumstances(power=_both(a * a)), (0.95, 0.9, 0.85, 0.8, 0.7, 0.6)),
        Cause("no_heat", "the heat has gone off or never came on", lambda _: Circumstances(power=_both(0.02)), (0.0,)),
        Cause("plate_missing", "the pressure plate is missing", lambda _: Circumstances(plate=False), (0.0,)),
        Cause("shop_cold", "the shop was about {:.0f} K colder than noted", lambda a: Circumstances(shop_K=-a), (4.0, 8.0, 12.0, 18.0)),
        Cause("shop_warm", "the shop was about {:.0f} K warmer than noted", lambda a: Circumstances(shop_K=a), (4.0, 8.0, 12.0, 18.0)),
        Cause("press_warm", "the press was still about {:.0f} K warm from before", lambda a: Circumstances(warm_K=a), (10.0, 25.0, 50.0, 90.0)),
        Cause("losing_heat", "the press loses about {:.1f} times the usual heat, by a draught or a cover left off", lambda a: Circumstances(loss=_both(a)), (1.5, 2.0, 3.0, 4.0)),
        Cause("heat_late", "the heat went on about {:.0f} s later than noted", lambda a: Circumstances(late_s=a), (40.0, 80.0, 150.0, 300.0)),
        Cause("cooling_weak", "the cooling works at about {:.0%}", lambda a: Circumstances(cooling=_both(a)), (0.7, 0.5, 0.3, 0.15, 0.05), cooling=True),
    ]  # fmt: skip
    for side, name in enumerate(("upper", "lower")):

        def weak(a: float, side: int = side) -> Circumstances:
            return Circumstances(power=_side(side, a, 1.0))

        def loose(a: float, side: int = side) -> Circumstances:
            return Circumstances(sees=_side(side, a, 1.0), lag=_side(side, 3.0, 1.0))

        def wrong(a: float, side: int = side) -> Circumstances:
            return Circumstances(reads_K=_side(side, a, 0.0))

        def mis_set(a: float, side: int = side) -> Circumstances:
            return Circumstances(set_K=_side(side, a, 0.0))

        def blocked(a: float, side: int = side) -> Circumstances:
            return Circumstances(cooling=_side(side, a, 1.0))

        found += [
            Cause(f"{name}_heater_weak", f"the {name} heater gives only about {{:.0%}} of its power", weak, (0.8, 0.65, 0.5, 0.35, 0.2, 0.02), PLATENS[side]),
            Cause(f"{name}_sensor_loose", f"the {name} sensor is loose and shows only about {{:.0%}} of the rise", loose, (0.93, 0.85, 0.75, 0.6, 0.4), PLATENS[side]),
            Cause(f"{name}_sensor_wrong", f"the {name} sensor reads wrong by about {{:+.0f}} K", wrong, (-40.0, -25.0, -15.0, -8.0, 8.0, 15.0, 25.0, 40.0), PLATENS[side]),
            Cause(f"{name}_set_wrong", f"the {name} platen is set about {{:+.0f}} K from what was agreed", mis_set, (-40.0, -25.0, -15.0, -8.0, 8.0, 15.0, 25.0), PLATENS[side]),
            Cause(f"{name}_cooling_weak", f"the cooling of the {name} platen works at about {{:.0%}}", blocked, (0.7, 0.5, 0.3, 0.15, 0.05), PLATENS[side], cooling=True),
        ]  # fmt: skip
    return tuple(found)


CAUSES = _causes()


def weigh(
    job: Job,
    recipe: Recipe,
    timeline: Timeline,
    readings: Iterable[Reading],
    every: int = 1,
) -> Weighed:
    """All causes, weighed by all platen readings since heat on; readings of anything else are left out.

    every: looks at each so-manieth amount of a cause only, which is quicker and coarser.
    Raises: NotComputable.
    """
    import numpy as np

    kept = [r for r in readings if r.slot in PLATENS and r.t_s >= timeline.heat_on_s]
    if not kept:
        return Weighed(0, 0.0, 1.0, ())
    shown = np.array([float(r.value) for r in kept if isinstance(r.value, float | int)])
    seen = _Seen(
        Displays(job, settings_of(recipe), Clock(timeline.heat_on_s, timeline.cool_on_s)),
        [r.slot for r in kept],
        [r.t_s for r in kept],
        timeline.at_set_s,
    )
    measured = shown if timeline.at_set_s is None else np.append(shown, timeline.at_set_s)
    model = seen.at(NOTHING)
    weights = np.linalg.inv(_noise(job, seen, model))

    def misfit(predicted: Floats) -> float:
        left = measured - predicted
        return float(left @ weights @ left)

    in_order = misfit(model)
    cooling = timeline.cool_on_s is not None and any(r.t_s > timeline.cool_on_s for r in kept)
    evidence = [(math.log(IN_ORDER_PRIOR) - in_order / 2)]
    best: list[tuple[Cause, float, float]] = []
    for cause in CAUSES:
        if (cause.cooling and not cooling) or cause.slot not in (None, *seen.slots):
            continue
        amounts = cause.amounts[::every]
        misfits = [misfit(seen.at(cause.make(amount))) for amount in amounts]
        amount, least = _lowest(amounts, misfits)
        best.append((cause, amount, least))
        top = max(-m / 2 for m in misfits)
        mean = top + math.log(sum(math.exp(-m / 2 - top) for m in misfits) / len(misfits))
        evidence.append(mean)
    noise_misfit = _misfit_by_noise(len(measured))
    highest = max(evidence)
    shares = [math.exp(e - highest) for e in evidence]
    total = sum(shares)
    named = [
        Suggested(cause.key, cause.words.format(amount).replace("%", " %"), amount, least, share / total)
        for (cause, amount, least), share in zip(best, shares[1:], strict=True)
        if in_order - least >= BETTER and share / total >= WORTH_NAMING and least <= noise_misfit
    ]
    return Weighed(
        len(kept),
        in_order,
        shares[0] / total,
        tuple(sorted(named, key=lambda s: s.share, reverse=True)),
        explained=min(in_order, *(least for *_, least in best)) <= noise_misfit,
    )


def _misfit_by_noise(count: int) -> float:
    """The chi squared over `count` readings that noise alone passes once in a thousand cycles (Wilson and Hilferty)."""
    part = 2 / (9 * count)
    return float(count * (1 - part + BY_NOISE * math.sqrt(part)) ** 3)


@dataclass(frozen=True)
class _Seen:
    """The readings there are, and when both displays were told to be at set, as the model gives them."""

    displays: Displays
    slots: list[str]
    times_s: list[float]
    at_set_s: float | None

    def at(self, given: Circumstances) -> Floats:
        import numpy as np

        shown = self.displays.show(self.slots, self.times_s, given)
        if self.at_set_s is None:
            return shown
        arrival_s = self.displays.arrival_s(given)
        late_s = self.at_set_s + 3600.0 if arrival_s is None else arrival_s
        return np.append(shown, late_s)


def _noise(job: Job, seen: _Seen, model: Floats) -> Floats:
    """Covariance of what is told, with nothing wrong; K2, and s2 for the time of arrival."""
    import numpy as np

    count = len(model)
    later = replace(seen, times_s=[t + 1.0 for t in seen.times_s]).at(NOTHING) - model
    own = np.hypot(DISPLAY_K, NOTED_S * later)
    if seen.at_set_s is not None:
        own[-1] = TOLD_AT_SET_S
    covariance: Floats = np.diag(own**2)
    error = (job.press.upper.sensor_error_K, job.press.lower.sensor_error_K)
    wrong = [Circumstances(reads_K=_side(side, error[side], 0.0)) for side in (0, 1)]
    up = math.exp(PRESS_SIGMA)
    wrong += [Circumstances(power=_both(up)), Circumstances(loss=_both(up)), Circumstances(cooling=_both(up))]
    up = math.exp(PLATEN_SIGMA)
    wrong += [Circumstances(power=_side(side, up, 1.0)) for side in (0, 1)]
    wrong += [Circumstances(cooling=_side(side, up, 1.0)) for side in (0, 1)]
    for given in wrong:
        shift = seen.at(given) - model
        covariance = covariance + np.outer(shift, shift)
    return covariance + 1e-9 * np.eye(count)


def _lowest(amounts: Sequence[float], misfits: Sequence[float]) -> tuple[float, float]:
    """The amount with the least misfit: by a parabola through the best amount and its neighbours."""
    import numpy as np

    at = int(np.argmin(misfits))
    if not 0 < at < len(amounts) - 1:
        return amounts[at], misfits[at]
    a, b, c = np.polyfit(amounts[at - 1 : at + 2], misfits[at - 1 : at + 2], 2)
    low, high = sorted((amounts[at - 1], amounts[at + 1]))
    amount = float(min(max(-b / (2 * a), low), high)) if a > 0 else amounts[at]
    return amount, min(misfits[at], float(max(a * amount**2 + b * amount + c, 0.0)))
