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
from typing import TYPE_CHECKING, Literal, get_args

from assistant.bench.job import Job
from assistant.recipe.case import CONTACT_FACTOR
from assistant.recipe.displays import (
    EDGE,
    EDGE_SHARE,
    EDGE_SHARE_SIGMA,
    NOTHING,
    PLATENS,
    Circumstances,
    Clock,
    Displays,
    Pair,
)
from assistant.recipe.during import Reading, Timeline
from assistant.recipe.outcome import Recipe
from assistant.recipe.recipe import settings_of
from assistant.recipe.setting import SURE_95
from assistant.recipe.spans import CONDUCTIVITY, platen_span

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

DISPLAY_K = 0.6  # rounding of a display of whole degrees, and a little restlessness
NOTED_S = 5.0  # between reading a display and telling it; all these sigmas are engineering judgement
TOLD_AT_SET_S = 25.0  # between both displays at set and telling so
EDGE_K = 3.0  # by where and how a thermometer is held at the belt's edge
# Bands allow for any press that may pass; most presses are nearer to their data. With this share of the bands'
# spread 16 of 200 presses drawn from the whole of it are cried at, half of these a fifth or more below their data;
# of 200 whose constants were learned, 9.
NEARER = 0.46
SHARED = 0.85  # of the variance of power and cooling: what both platens have in common
BETTER = 4.0  # how much misfit a cause must take away to be named
WORTH_NAMING = 0.05  # share of the evidence
# Standard deviations of the power that both heaters share; a press stronger than its data is no fault.
LEVELS = (-2.0, -1.0, 1.0, 2.0, 3.0, 4.0, 5.0)
LEVEL_APART = 0.5  # what lies between two levels
SLOW = ("supply_low", "losing_heat", "upper_heater_weak", "lower_heater_weak")  # as a weaker press would show
IMPROBABLE = 0.05  # 'in order' with no more than this share of the evidence is no longer believed
TWO_SIDED_95 = 1.959964
BY_NOISE = NormalDist().inv_cdf(0.999)
IN_ORDER_PRIOR = 5.0  # against any one cause
_Constant = Literal["power_W_m2", "loss_W_m2K", "cooling_W_m2K"]
_CONSTANTS: tuple[_Constant, ...] = get_args(_Constant)


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
    learned: the press's constants are its own, by past sessions. explained: something, be it that nothing is wrong, leaves no more unexplained than readings are off by anyhow.
    """

    readings: int
    misfit_in_order: float
    in_order_share: float
    causes: tuple[Suggested, ...]
    explained: bool = True
    learned: bool = False

    @property
    def consistent(self) -> bool:
        """Whether a press in order may well show what was read, all of it together."""
        return self.explained and self.in_order_share > IMPROBABLE

    @property
    def unnamed_share(self) -> float:
        """Of causes none of which fits clearly better than 'in order'."""
        return max(0.0, 1.0 - self.in_order_share - sum(cause.share for cause in self.causes))

    @property
    def sentence(self) -> str:
        """One sentence for the technician; '' when there is nothing to say."""
        if not self.explained:
            return "No single cause that I know explains what the displays have shown."
        if not self.causes:
            return ""
        likely = [cause for cause in self.causes if cause.share >= 0.25 * self.causes[0].share][:3]
        words = [cause.sentence for cause in likely]
        if likely[0].key in SLOW and not self.learned:
            words.append("this press heats slower than its data: learn it")
        return f"It looks as if {', or '.join(words)}."


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
    """All causes, weighed by all readings of platens and edge since heat on; others are left out.

    The edge is colder than the belt within by a share that is not known well. A cycle broken off is simulated so;
    of one that was without its supply while it cooled, what was read until then counts.

    every: looks at each so-manieth amount of a cause only, which is quicker and coarser.
    Raises: NotComputable.
    """
    import numpy as np

    cool_on_s = math.inf if timeline.cool_on_s is None else timeline.cool_on_s
    cuts = tuple(cut for cut in timeline.cuts if cut.off_s < cool_on_s)
    known_until_s = min((cut.off_s for cut in timeline.cuts if cut.off_s >= cool_on_s), default=math.inf)
    kept = [
        r for r in readings if r.slot in (*PLATENS, EDGE) and timeline.heat_on_s <= r.t_s <= known_until_s
    ]
    if not kept:
        return Weighed(0, 0.0, 1.0, ())
    shown = np.array([float(r.value) for r in kept if isinstance(r.value, float | int)])
    seen = _Seen(
        Displays(job, settings_of(recipe), Clock(timeline.heat_on_s, timeline.cool_on_s, cuts)),
        [r.slot for r in kept],
        [r.t_s for r in kept],
        timeline.at_set_s,
    )
    measured = shown if timeline.at_set_s is None else np.append(shown, timeline.at_set_s)
    weights = np.linalg.inv(_noise(job, seen, 0.0))

    def misfit(predicted: Floats) -> float:
        left = measured - predicted
        return float(left @ weights @ left)

    in_order = misfit(seen.at(NOTHING))
    if in_order > BETTER:
        in_order = min(in_order, *(_at_level(job, seen, measured, level) for level in LEVELS))
    cooling = timeline.cool_on_s is not None and any(r.t_s > timeline.cool_on_s for r in kept)
    evidence = [(math.log(IN_ORDER_PRIOR) - in_order / 2)]
    best: list[tuple[Cause, float, float]] = []
    for cause in CAUSES:
        if (cause.cooling and not cooling) or (cuts and cause.key == "heat_late"):
            continue
        if cause.slot not in (None, *seen.slots):
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
        learned=bool(job.press.learned),
        explained=in_order <= noise_misfit or bool(named),
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


def _at_level(job: Job, seen: _Seen, measured: Floats, level: float) -> float:
    """Misfit of a press in order whose heaters are `level` standard deviations off in common.

    Far from the planning values what is told no longer goes straight with the power: the set temperature ends it.
    """
    import numpy as np

    left = measured - seen.at(_stronger(job, level, NOTHING))
    return float(left @ np.linalg.inv(_noise(job, seen, level)) @ left) + level**2


def _noise(job: Job, seen: _Seen, level: float) -> Floats:
    """Covariance of what is told by a press in order whose power is `level` off; K2, and s2 for the arrival.

    Each thing that may be off a little shifts all that is told together. It is tried both ways and the larger
    shift taken: a heater stronger than assumed soon shows no more than the set temperature.
    """
    import numpy as np

    there = _stronger(job, level, NOTHING)
    model = seen.at(there)
    later = replace(seen, times_s=[t + 1.0 for t in seen.times_s]).at(there) - model
    restless_K = [EDGE_K if slot == EDGE else DISPLAY_K for slot in seen.slots]
    own = np.hypot(np.array(restless_K + [0.0] * (len(model) - len(restless_K))), NOTED_S * later)
    if seen.at_set_s is not None:
        own[-1] = TOLD_AT_SET_S
    covariance: Floats = np.diag(own**2)
    width = LEVEL_APART if level else 1.0
    more, less = (
        _a_little_off(job, n, width, cooling=seen.displays.clock.cool_on_s is not None) for n in (1.0, -1.0)
    )
    for stronger, weaker in zip(more, less, strict=True):
        up = seen.at(_stronger(job, level, stronger)) - model
        down = model - seen.at(_stronger(job, level, weaker))
        shift = np.where(np.abs(up) >= np.abs(down), up, down)
        covariance = covariance + np.outer(shift, shift)
    return covariance + 1e-9 * np.eye(len(model))


def _stronger(job: Job, level: float, given: Circumstances) -> Circumstances:
    factor = math.exp(level * math.sqrt(SHARED) * _press_sigma(job, "power_W_m2"))
    return replace(given, power=(factor * given.power[0], factor * given.power[1]))


def _press_sigma(job: Job, name: _Constant) -> float:
    """Standard deviation of the logarithm of a constant, the same for both platens; its span holds 19 in 20."""
    spans = (platen_span(job.press, platen, name) for platen in (job.press.upper, job.press.lower))
    return NEARER * sum(math.log(span.high / span.low) / (2 * TWO_SIDED_95) for span in spans) / 2


def _a_little_off(job: Job, n: float, width: float, *, cooling: bool) -> list[Circumstances]:
    """What a press in order may be off by, one thing each, by `n` standard deviations.

    width: of the shared power, as a share of its standard deviation.
    """
    press = job.press
    contact, conductivity = math.log(CONTACT_FACTOR) / SURE_95, -math.log(CONDUCTIVITY.low) / SURE_95
    power, loss, cools = (n * _press_sigma(job, name) for name in _CONSTANTS)
    shared, own = math.sqrt(SHARED), math.sqrt(1 - SHARED)
    found = [
        Circumstances(contact=math.exp(n * contact)),
        Circumstances(conductivity=math.exp(n * conductivity)),
        Circumstances(edge=EDGE_SHARE + n * EDGE_SHARE_SIGMA),
        Circumstances(loss=_both(math.exp(loss))),
        Circumstances(power=_both(math.exp(width * shared * power))),
    ]
    for side, platen in enumerate((press.upper, press.lower)):
        found += [
            Circumstances(reads_K=_side(side, n * platen.sensor_error_K, 0.0)),
            Circumstances(power=_side(side, math.exp(own * power), 1.0)),
        ]
    if cooling:
        found.append(Circumstances(cooling=_both(math.exp(shared * cools))))
        found += [Circumstances(cooling=_side(side, math.exp(own * cools), 1.0)) for side in (0, 1)]
    return found


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
