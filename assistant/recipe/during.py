"""While the press runs: what it should read now, how hot the belt is inside, how long until it is cold.

Pure and quick: times are session seconds and come in, readings come in, nothing is remembered. Where
something is not known the hotter answer is given, because pressure is let out on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING, Protocol

from assistant.bench.job import Job
from assistant.recent import remembered
from assistant.recipe.broken import Cut, since_heat_on
from assistant.recipe.case import Case
from assistant.recipe.conduction import Conduction, Follows
from assistant.recipe.outcome import Recipe, Trace
from assistant.recipe.overrule import degC
from assistant.recipe.platen import cold_time, press_model
from assistant.recipe.recipe import case_of, settings_of
from assistant.recipe.run import Run
from assistant.recipe.setting import SURE_95
from assistant.recipe.stack import ZERO_C_K

if TYPE_CHECKING:
    from assistant.recipe.causes_of_readings import Weighed
    from assistant.recipe.conduction import Floats

PLATENS = ("upper_reading", "lower_reading")
EDGE_COLDER_K = 60.0  # an edge open to the shop may be this much colder than the platens; judgement
QUICK = 2  # of the amounts of a cause every second one, when an answer is waited for
LEFT_AT_LEAST = 1e-3  # of the way down: what is less is rounding
SETTLED = 5.0  # time constants of cooling; 1 % of the way is left
COLDEST_SHOP_K = 263.15  # an unheated hall in winter: as cold as what has cooled down can get; judgement
QUICKEST = 1.5  # cooling may be 30 % quicker than expected, and a little more; judgement
SLOWEST, FASTEST = 0.5, 2.0  # how far the cooling seen may change the forecast


class Reading(Protocol):
    """A temperature told by the technician. value: K; t_s: session seconds; plausible: as judged then."""

    @property
    def slot(self) -> str: ...
    @property
    def value(self) -> object: ...
    @property
    def t_s(self) -> float: ...
    @property
    def plausible(self) -> bool: ...


@dataclass(frozen=True)
class Timeline:
    """When heat, set temperature (of the later platen) and cooling began; session seconds, None: not yet.

    cuts: times without heat so far, in order; at_set_s, cool_on_s: since the last of them, if it was heated again.
    counts_from_s: nothing before it counts as time under pressure; None: everything does.
    ramp_s: how long the first ramp took, where it was not broken off; None: as at_set_s tells.
    """

    heat_on_s: float
    at_set_s: float | None = None
    cool_on_s: float | None = None
    cuts: tuple[Cut, ...] = ()
    counts_from_s: float | None = None
    ramp_s: float | None = None


@dataclass(frozen=True)
class Band:
    """What a reading should be, and the least and most that is plausible."""

    mean_K: float
    low_K: float
    high_K: float


@dataclass(frozen=True)
class Judgement:
    """weighed: what all readings together suggest, where this one is outside its band."""

    plausible: bool
    sentence: str
    weighed: Weighed | None = None


@dataclass(frozen=True)
class Inside:
    """The hottest point inside the belt, and the upper end of its band."""

    hottest_K: float
    hottest_upper_K: float


def expected_reading(job: Job, recipe: Recipe, timeline: Timeline, slot: str, t_s: float) -> Band:
    """What 'upper_reading', 'lower_reading' or 'edge_reading' should be at `t_s`.

    The band: heater power, losses and cooling 30 % off either way, sensor error and lag.
    Raises: KeyError for another slot.
    """
    if slot == "edge_reading":
        upper = expected_reading(job, recipe, timeline, "upper_reading", t_s)
        lower = expected_reading(job, recipe, timeline, "lower_reading", t_s)
        mean_K, high_K = (upper.mean_K + lower.mean_K) / 2, max(upper.high_K, lower.high_K)
        if timeline.cool_on_s is not None and t_s > timeline.cool_on_s:
            inside_K = _at(
                recipe.expected.cooling_s, recipe.expected.hottest_cooling_K, t_s - timeline.cool_on_s
            )
            high_K = max(high_K, inside_K)
        shop_K = job.shop_degC + ZERO_C_K
        least_K = min(upper.low_K, lower.low_K) - EDGE_COLDER_K
        return Band(mean_K, max(least_K, min(shop_K, recipe.expected.upper_heating.low_K[0]) - 5.0), high_K)
    expected, settings = recipe.expected, settings_of(recipe)
    heating, cooling, set_K = {
        "upper_reading": (expected.upper_heating, expected.upper_cooling, settings.upper_K),
        "lower_reading": (expected.lower_heating, expected.lower_cooling, settings.lower_K),
    }[slot]
    cool_on_s = timeline.cool_on_s

    def hot(at_s: float) -> Band:
        whole = _hot(expected.heating_s, heating, set_K, timeline, at_s)
        return _after_cuts(job, recipe, timeline, slot, whole, at_s)

    if cool_on_s is None or t_s <= cool_on_s:
        return hot(t_s)
    start = hot(cool_on_s)
    after_s = t_s - cool_on_s
    still_s = sum(
        min(t_s, t_s if cut.on_s is None else cut.on_s) - cut.off_s
        for cut in timeline.cuts
        if cool_on_s <= cut.off_s < t_s
    )  # without the supply it may not have cooled
    coolant_K = press_model(job).coolant_K

    def left(trace: tuple[float, ...], from_K: float, cooled_s: float = after_s) -> float:
        """Cooling is linear: from another temperature than the set one it keeps its shape."""
        shape = (_at(expected.cooling_s, trace, cooled_s) - coolant_K) / (set_K - coolant_K)
        return coolant_K + shape * (from_K - coolant_K)

    settled = timeline.at_set_s is not None
    return Band(
        left(cooling.mean_K, start.mean_K),
        left(cooling.low_K, set_K if settled else start.low_K),
        left(cooling.high_K, set_K if settled else start.high_K, after_s - still_s),
    )


def _after_cuts(job: Job, recipe: Recipe, timeline: Timeline, slot: str, whole: Band, t_s: float) -> Band:
    """`whole`: the band had the heat never been off. After it was, only the set temperature told again is sure."""
    cuts = tuple(cut for cut in timeline.cuts if cut.off_s < t_s)
    if not cuts or (timeline.at_set_s is not None and timeline.at_set_s <= t_s):
        return whole
    from assistant.recipe.after_cut import platens_after

    at_s = t_s - timeline.heat_on_s
    mean_K, least_K = platens_after(job, recipe, since_heat_on(cuts, timeline.heat_on_s), at_s)[
        PLATENS.index(slot)
    ]
    return Band(mean_K, least_K - _sensor_K(job), max(whole.high_K, mean_K))


def _hot(times: Sequence[float], heating: Trace, set_K: float, timeline: Timeline, t_s: float) -> Band:
    """Before cooling: on the way up, or held."""
    if timeline.at_set_s is not None and t_s >= timeline.at_set_s:
        below_K = heating.mean_K[0] - heating.low_K[0]  # sensor error: nothing else at the start
        return Band(set_K, set_K - below_K, heating.high_K[-1])
    after_s = max(0.0, t_s - timeline.heat_on_s)
    return Band(*(_at(times, trace, after_s) for trace in (heating.mean_K, heating.low_K, heating.high_K)))


def judge_reading(
    job: Job,
    recipe: Recipe,
    timeline: Timeline,
    slot: str,
    value_K: float,
    t_s: float,
    readings: Iterable[Reading] = (),
) -> Judgement:
    """Whether a reading can be right, in one or two sentences; if not, what it suggests.

    readings: those of the cycle so far, which count for what is suggested. Raises: KeyError for an unknown slot.
    """
    band = expected_reading(job, recipe, timeline, slot, t_s)
    span = f"between {degC(band.low_K)} and {degC(band.high_K)}"
    cooled = COLDEST_SHOP_K <= value_K < band.low_K and _settled(job, recipe, timeline, t_s)
    read = Read(slot, value_K, t_s)
    believable = cooled or band.low_K <= value_K <= band.high_K
    if believable and (against := _too_soon(job, recipe, timeline, read, readings)):
        return Judgement(False, against)
    if band.low_K <= value_K <= band.high_K:
        return Judgement(True, f"About {degC(band.mean_K)} was expected.")
    if cooled:
        return Judgement(
            True,
            f"About {degC(band.mean_K)} was expected; it has cooled down, and the shop may have got colder.",
        )
    colder = value_K < band.low_K
    weighed = weighed_quickly(job, recipe, timeline, (*readings, read))
    suggests = weighed.sentence
    if not suggests:
        suggests = f"Check sensor, {'heater and cooling' if colder else 'controller and setting'}."
    word = "colder" if colder else "hotter"
    return Judgement(
        False, f"{degC(value_K)} is {word} than it can be now, {span}. Read it again. {suggests}", weighed
    )


def _too_soon(job: Job, recipe: Recipe, timeline: Timeline, read: Read, readings: Iterable[Reading]) -> str:
    """A sentence where a platen reads colder than it can be so soon after its last reading; else ''."""
    cool_on_s = timeline.cool_on_s
    if cool_on_s is None or read.slot not in PLATENS:
        return ""
    earlier = [r for r in readings if r.slot == read.slot and r.plausible and cool_on_s < r.t_s <= read.t_s]
    if not earlier:
        return ""
    last = earlier[-1]
    trace = recipe.expected.upper_cooling if read.slot == PLATENS[0] else recipe.expected.lower_cooling
    times_s, mean_K = recipe.expected.cooling_s, trace.mean_K
    # Cooling keeps its shape: on from where the last reading lies on the curve, and quicker than any press.
    began_s = _at(mean_K[::-1], times_s[::-1], _number(last))
    least_K = _at(times_s, mean_K, began_s + QUICKEST * (read.t_s - last.t_s)) - 2 * _sensor_K(job)
    if read.value >= least_K:
        return ""
    return (
        f"{degC(read.value)} cannot be {read.t_s - last.t_s:.0f} s after {degC(_number(last))}: one of the two is "
        "wrong. Wait, then read it again, with a second thermometer if you can."
    )


def _settled(job: Job, recipe: Recipe, timeline: Timeline, t_s: float) -> bool:
    """Whether both platens must long have cooled down: then they follow the shop or the coolant of that day."""
    if timeline.cool_on_s is None:
        return False
    settings, coolant_K = settings_of(recipe), press_model(job).coolant_K
    whole_s = recipe.expected.cooling_s[-1]
    slowest_s = 0.0
    for set_K, trace in (
        (settings.upper_K, recipe.expected.upper_cooling),
        (settings.lower_K, recipe.expected.lower_cooling),
    ):
        left = (trace.mean_K[-1] - coolant_K) / (set_K - coolant_K)
        slowest_s = max(slowest_s, whole_s / log(1 / min(max(left, LEFT_AT_LEAST), 0.99)))
    return t_s - timeline.cool_on_s > SETTLED * slowest_s


@dataclass(frozen=True)
class Read:
    """A reading just told."""

    slot: str
    value: float
    t_s: float
    plausible: bool = False


def weighed_quickly(job: Job, recipe: Recipe, timeline: Timeline, readings: tuple[Reading, ...]) -> Weighed:
    """What all readings together say, by a coarser look at each cause. Raises: NotComputable."""
    from assistant.recipe.causes_of_readings import weigh  # which takes its types from here

    return weigh(job, recipe, timeline, readings, every=QUICK)


def inside_now(
    job: Job, recipe: Recipe, timeline: Timeline, readings: Iterable[Reading], t_s: float
) -> Inside:
    """The hottest point inside the belt at `t_s`.

    Before cooling it is as hot as the hotter set temperature. From then on the platens are taken from the
    readings: along straight lines between them (which lie above the true curve), and held at the last one
    since; a platen without a reading is held at its set temperature. The upper end has a belt that conducts
    badly, holds much heat and touches badly, platens that lag behind their sensors, and sensors that read low.
    """
    case, slow = _cases(job, recipe)
    margin_K = _sensor_K(job)
    if timeline.cool_on_s is None or t_s <= timeline.cool_on_s:
        hottest_K = max(case.settings.upper_K, case.settings.lower_K)
        return Inside(hottest_K, hottest_K + margin_K)
    readings = tuple(reading for reading in readings if reading.t_s <= t_s)
    hottest_K = float(
        _hottest(_cooled(case, _paths(case, timeline.cool_on_s, readings, 0.0), t_s), case.body)
    )
    nodes = _cooled(slow, _paths(slow, timeline.cool_on_s, readings, _lag_s(job)), t_s)
    return Inside(hottest_K, max(hottest_K, _hottest(nodes, slow.body)) + margin_K)


@remembered(8)
def _cases(job: Job, recipe: Recipe) -> tuple[Case, Case]:
    """The recipe's case, and with a belt that is slow to change: asked for at every word while it cools."""
    case = case_of(job, settings_of(recipe))
    return case, case.slow_to_change()


def until_cold(
    job: Job, recipe: Recipe, timeline: Timeline, readings: Iterable[Reading], t_s: float
) -> float:
    """Seconds until the inside is surely at release temperature, if cooling goes on as it has so far.

    An estimate for people; `inside_now` and the readings decide. 0 when it is cold; infinite when it never
    gets so cold. Before cooling: counted as if it began now.
    """
    readings = tuple(reading for reading in readings if reading.t_s <= t_s)
    settings = settings_of(recipe)
    _, slow = _cases(job, recipe)
    cool_on_s = t_s if timeline.cool_on_s is None else min(timeline.cool_on_s, t_s)
    nodes = _cooled(slow, _paths(slow, cool_on_s, readings, _lag_s(job)), t_s)
    press = slow.press.scaled(cooling=_seen(recipe, timeline, readings))
    run = Run(slow.body).then(0.0, nodes, press.upper.cooling(), press.lower.cooling())
    cold_s = cold_time(run, 0.0, settings.release_K - _sensor_K(job))
    return float("inf") if cold_s is None else cold_s


def _seen(recipe: Recipe, timeline: Timeline, readings: tuple[Reading, ...]) -> float:
    """How fast the platens have cooled so far, against what was expected; 1 without readings."""
    if timeline.cool_on_s is None:
        return 1.0
    factors = []
    for slot, trace in zip(
        PLATENS, (recipe.expected.upper_cooling, recipe.expected.lower_cooling), strict=True
    ):
        last = [r for r in readings if r.slot == slot and r.plausible and r.t_s > timeline.cool_on_s]
        if last:
            times = recipe.expected.cooling_s
            expected_s = _at(trace.mean_K[::-1], times[::-1], _number(last[-1]))
            factors.append(expected_s / (last[-1].t_s - timeline.cool_on_s))
    return min(max(sum(factors) / len(factors), SLOWEST), FASTEST) if factors else 1.0


@dataclass(frozen=True)
class _Path:
    """A platen's temperature against time, along straight lines; held before the first and after the last."""

    times_s: tuple[float, ...]
    values_K: tuple[float, ...]


def _paths(case: Case, cool_on_s: float, readings: tuple[Reading, ...], late_s: float) -> tuple[_Path, _Path]:
    upper, lower = (
        _path(slot, set_K, cool_on_s, readings, late_s)
        for slot, set_K in zip(PLATENS, (case.settings.upper_K, case.settings.lower_K), strict=True)
    )
    return upper, lower


def _path(slot: str, set_K: float, cool_on_s: float, readings: tuple[Reading, ...], late_s: float) -> _Path:
    """`late_s`: how much later the platen's face is where the sensor was. A reading that was not plausible
    counts only where it makes the platen hotter."""
    times, values = [cool_on_s + late_s], [set_K]
    for reading in sorted((r for r in readings if r.slot == slot and r.t_s > cool_on_s), key=lambda r: r.t_s):
        value_K = _number(reading)
        if not reading.plausible and value_K < values[-1]:
            continue
        if reading.t_s + late_s <= times[-1]:  # read twice in one moment: the later word counts
            times.pop()
            values.pop()
        times.append(reading.t_s + late_s)
        values.append(value_K)
    return _Path(tuple(times), tuple(values))


def _cooled(case: Case, paths: tuple[_Path, _Path], t_s: float) -> Floats:
    """Node temperatures at `t_s` of a lay-up that had settled when cooling began, under these platens."""
    import numpy as np

    begin_s = min(t_s, *(path.times_s[0] for path in paths))  # until then nothing changes
    nodes = case.body.steady(case.settings.upper_K, case.settings.lower_K)
    moments = sorted({begin_s, t_s, *(t for path in paths for t in path.times_s if begin_s < t < t_s)})
    ends = [np.interp(moments, path.times_s, path.values_K) for path in paths]
    for i in range(len(moments) - 1):
        length_s = moments[i + 1] - moments[i]
        upper, lower = (Follows(float(end[i]), float(end[i + 1] - end[i]) / length_s) for end in ends)
        nodes = Run(case.body).then(0.0, nodes, upper, lower).now(length_s)
    return nodes


def _hottest(nodes: Floats, body: Conduction) -> float:
    return float(body.belt(nodes).max())


def _sensor_K(job: Job) -> float:
    return SURE_95 * max(job.press.upper.sensor_error_K, job.press.lower.sensor_error_K)


def _lag_s(job: Job) -> float:
    return max(job.press.upper.sensor_lag_s, job.press.lower.sensor_lag_s)


def _number(reading: Reading) -> float:
    if not isinstance(reading.value, float | int):
        raise TypeError(f"The reading of {reading.slot} is not a temperature.")
    return float(reading.value)


def _at(times: Sequence[float], values: Sequence[float], t: float) -> float:
    import numpy as np

    return float(np.interp(t, times, values))
