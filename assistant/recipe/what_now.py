"""A cycle that was cut short: where the weld stands, and whether to heat again, hold, cool, or cut out and redo.

What counts is the agreed dwell: time with both platens at their set temperatures. The model, which knows of the ramp and
of the heat left in the platens, is told beside it and shortens it only where even the coldest edge stayed above fusion
for the whole of the dwell, allowances and all. Counted at the platens' colder edges, by the predicted curve fitted to
when the platens arrived; earlier times without heat are in the timeline. Left out: any change of contact while the
pressure is off, and what a lifted press loses to the air.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from assistant.bench.job import Job
from assistant.recipe.broken import left_alone, since_heat_on, upto, warm_up_with_cuts
from assistant.recipe.during import Timeline
from assistant.recipe.feasible import RELEASE_BELOW_FUSION_K
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.outcome import Recipe
from assistant.recipe.overrule import degC, seconds
from assistant.recipe.platen import Settings, above_fusion_s, cool_down, warm_up
from assistant.recipe.recipe import settings_of
from assistant.recipe.run import Run, first_time_ever
from assistant.recipe.setting import SURE_95
from assistant.recipe.stack import ZERO_C_K
from assistant.recipe.variants import Variant, as_planned, variants_of

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

Kind = Literal["power", "pressure", "opened"]
Decision = Literal["cool", "hold", "resume heat", "cut out and redo"]
CAUTION: tuple[Decision, ...] = ("cool", "hold", "resume heat", "cut out and redo")
SURE = 0.95  # share of the variants for which the decision must be enough
NOT_SOON_S = 4 * 3600.0
ROUNDING_S = 1e-6


@dataclass(frozen=True)
class WhatNow:
    """decision: enough for `SURE` of the variants; as_planned: that of the planning values alone.

    agreement: share of the variants that call for exactly the decision; enough: for it or less.
    fused_s: time above fusion at the coldest edge under pressure so far, with its 5 and 95 % values;
    needed_s: the holding time; dwell_s: that of the recipe; served_s: how much of it counts, surely: both platens at set
    temperature and not fallen from it since. model_rest_s: what would be left by the holding time alone. coldest_K, hottest_K: belt now, at the edge and in the middle, the latter with
    its 95 % value. below_damage_K: what the hottest point so far stayed below damage. stays_fused_s: how much
    longer the coldest edge stays above fusion without heat. rest_s: what is left of the dwell once both platens
    are at set temperature; 0 for the other decisions. sentences: what to do, why, how sure.
    """

    kind: Kind
    decision: Decision
    as_planned: Decision
    agreement: float
    enough: float
    fused_s: float
    fused_low_s: float
    fused_high_s: float
    needed_s: float
    dwell_s: float
    served_s: float
    model_rest_s: float
    coldest_K: float
    hottest_K: float
    hottest_high_K: float
    below_damage_K: float
    stays_fused_s: float
    rest_s: float
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class _Standing:
    """One variant at the moment of deciding."""

    decision: Decision
    fused_s: float
    served_s: float
    coldest_K: float
    hottest_K: float
    below_damage_K: float
    stays_fused_s: float


def what_now(
    job: Job, recipe: Recipe, timeline: Timeline, kind: Kind, at_s: float, resumed_s: float | None = None
) -> WhatNow:
    """What to do after power or pressure was lost, or the press opened, at `at_s` (session seconds).

    resumed_s: when it came back, or now; None: at once after it was lost, and not back yet.
    Raises: NotComputable when the times are not in order or the platens never get to their set temperature.
    """
    _check(timeline, at_s, resumed_s)
    settings = settings_of(recipe)
    needed_s = next(item.seconds for item in recipe.items if item.label == "holding time")
    ramp_s = timeline.ramp_s
    if ramp_s is None and timeline.at_set_s is not None and not timeline.cuts:
        ramp_s = timeline.at_set_s - timeline.heat_on_s
    planned = as_planned(job)
    factor = 1.0 if ramp_s is None else _power_factor(job, planned, settings, ramp_s)
    question = _Question(job, settings, timeline, kind, at_s, resumed_s, needed_s, factor)
    middle = question.standing(planned)
    others = [question.standing(variant) for variant in variants_of(job, press_known=ramp_s is not None)]
    decision = next(
        choice
        for choice in CAUTION
        if sum(CAUTION.index(other.decision) <= CAUTION.index(choice) for other in others)
        >= SURE * len(others)
    )
    decision = max(decision, middle.decision, key=CAUTION.index)
    fused = sorted(other.fused_s for other in others)
    low_s, high_s = fused[round(0.05 * (len(fused) - 1))], fused[round(0.95 * (len(fused) - 1))]
    hottest = sorted(other.hottest_K for other in others)
    fewest_s = sorted(other.served_s for other in others)[round(0.05 * (len(others) - 1))]
    served_s = min(fewest_s, middle.served_s)
    rest_s = 0.0
    if decision in ("hold", "resume heat"):
        counts = kind == "power" and decision == "hold" and resumed_s is not None
        rest_s = settings.dwell_s - served_s if counts else settings.dwell_s
    found = WhatNow(
        kind=kind,
        decision=decision,
        as_planned=middle.decision,
        agreement=sum(other.decision == decision for other in others) / len(others),
        enough=sum(CAUTION.index(other.decision) <= CAUTION.index(decision) for other in others)
        / len(others),
        fused_s=middle.fused_s,
        fused_low_s=min(low_s, middle.fused_s),
        fused_high_s=max(high_s, middle.fused_s),
        needed_s=needed_s,
        dwell_s=settings.dwell_s,
        served_s=served_s,
        model_rest_s=max(0.0, needed_s - min(low_s, middle.fused_s)),
        coldest_K=middle.coldest_K,
        hottest_K=middle.hottest_K,
        hottest_high_K=max(middle.hottest_K, hottest[round(0.95 * (len(hottest) - 1))]),
        below_damage_K=middle.below_damage_K,
        stays_fused_s=middle.stays_fused_s,
        rest_s=rest_s,
        sentences=(),
    )
    return replace(found, sentences=_sentences(found, resumed_s is not None, settings.release_K))


def _check(timeline: Timeline, at_s: float, resumed_s: float | None) -> None:
    if at_s < timeline.heat_on_s:
        raise NotComputable(
            "That was before the heat went on: nothing has been welded. Begin the heat as usual."
        )
    for later, earlier, what in (
        (timeline.at_set_s, timeline.heat_on_s, "The set temperature was reached before the heat went on"),
        (timeline.cool_on_s, timeline.heat_on_s, "Cooling began before the heat went on"),
        (resumed_s, at_s, "It came back before it was lost"),
    ):
        if later is not None and later < earlier:
            raise NotComputable(f"{what}: correct the times.")
    begun_s = timeline.heat_on_s
    for cut in timeline.cuts:
        if cut.on_s is None or not begun_s <= cut.off_s <= cut.on_s <= at_s:
            raise NotComputable("The times without heat must follow each other, all before this one.")
        begun_s = cut.on_s


@dataclass(frozen=True)
class _Question:
    job: Job
    settings: Settings
    timeline: Timeline
    kind: Kind
    at_s: float
    resumed_s: float | None
    needed_s: float
    power_factor: float

    @property
    def _cooling(self) -> bool:
        """Whether cooling had begun: when the power went, or by now where the heat was there."""
        cool_on_s = self.timeline.cool_on_s
        until_s = self.at_s if self.kind == "power" or self.resumed_s is None else self.resumed_s
        return cool_on_s is not None and cool_on_s <= until_s

    def standing(self, variant: Variant) -> _Standing:
        """Times from heat on; the colder edge for what must be hot, the middle for what must not be."""
        press = self.job.press
        edge, _ = self._run(variant, (press.upper.edge_deficit_K, press.lower.edge_deficit_K))
        middle, set_s = self._run(variant, (0.0, 0.0))
        at_s = self.at_s - self.timeline.heat_on_s
        now_s = (self.at_s if self.resumed_s is None else self.resumed_s) - self.timeline.heat_on_s
        alone = left_alone(variant.press, upto(edge, now_s), now_s)
        below_s = first_time_ever(lambda t: -alone.coldest_over_fusion_K(t), now_s, NOT_SOON_S)
        stays_s = (NOT_SOON_S if below_s is None else below_s - now_s) if _fused(edge, now_s) else 0.0
        under_pressure_s = now_s if self.kind == "power" else at_s
        fused_s = self._fused_s(edge, under_pressure_s)
        so_far = _samples(now_s)
        served_s, held = self._served_s(variant, middle, edge, set_s, now_s)
        lasts = self.resumed_s is not None or fused_s + stays_s >= self.needed_s
        decision = (
            after_power(edge, now_s, held=held, lasts=lasts)
            if self.kind == "power"
            else after_pressure(
                edge, middle, at_s, now_s, opened=self.kind == "opened", cooling=self._cooling
            )
        )
        return _Standing(
            decision,
            fused_s,
            served_s,
            float(edge.coldest_K(now_s)[0]),
            float(middle.hottest_K(now_s)[0]),
            -float(middle.over_damage_K(so_far).max()),
            stays_s,
        )

    def _served_s(
        self, variant: Variant, middle: Run, edge: Run, set_s: float | None, now_s: float
    ) -> tuple[float, bool]:
        """How much of the dwell counts by now, and whether the whole of it has been held, by the platens or at the
        coldest edge. set_s: when the platens were at set, as computed."""
        timeline, settings, press = self.timeline, self.settings, self.job.press
        on_s, at_s = timeline.heat_on_s, self.at_s - timeline.heat_on_s
        if timeline.at_set_s is not None:
            set_s = timeline.at_set_s - on_s
        if set_s is None or set_s >= at_s:
            return 0.0, False
        begin_s = set_s if timeline.counts_from_s is None else max(set_s, timeline.counts_from_s - on_s)
        stop_s = now_s
        if self._cooling:
            assert timeline.cool_on_s is not None
            stop_s = min(stop_s, timeline.cool_on_s - on_s)
        band_K = max(
            press.temperature_step_K, SURE_95 * max(press.upper.sensor_error_K, press.lower.sensor_error_K)
        )  # what a reading may be off and still be called at set

        def at_set(t_s: float) -> bool:
            nodes = middle.now(t_s)
            return all(
                float(nodes[row]) >= set_K + off_K - band_K
                for row, set_K, off_K in zip(
                    (0, -1), (settings.upper_K, settings.lower_K), variant.sensor_K, strict=True
                )
            )

        served_s = max(0.0, stop_s - begin_s)
        sure_s = served_s if at_set(stop_s) else min(stop_s, at_s) - begin_s
        held = sure_s >= settings.dwell_s - ROUNDING_S
        if not held and begin_s < now_s:
            held = self._fused_s(edge, now_s, begin_s) >= settings.dwell_s
        return (served_s if at_set(now_s) else 0.0), held

    def _run(self, variant: Variant, deficit_K: tuple[float, float]) -> tuple[Run, float | None]:
        """From heat on to the interruption, and what follows of itself; when both platens are at set."""
        settings, timeline = self.settings, self.timeline
        offs = variant.sensor_K
        reached = replace(settings, upper_K=settings.upper_K + offs[0], lower_K=settings.lower_K + offs[1])
        press, reached = variant.press.scaled(power=self.power_factor).at_edges(reached, *deficit_K)
        cuts = since_heat_on(timeline.cuts, timeline.heat_on_s)
        heated = warm_up_with_cuts(variant.body, press, reached, self.job.shop_degC + ZERO_C_K, cuts)
        run, set_s = heated.run, heated.both_s
        at_s = self.at_s - timeline.heat_on_s
        if self._cooling:
            assert timeline.cool_on_s is not None
            cool_s = timeline.cool_on_s - timeline.heat_on_s
            run = cool_down(press, upto(run, cool_s), cool_s)
            if self.kind != "power" or not self.job.press.cooling.needs_supply:
                return run, set_s
        if self.kind == "power":
            return left_alone(press, upto(run, at_s), at_s), set_s
        return run, set_s

    def _fused_s(self, edge: Run, stop_s: float, begin_s: float = 0.0) -> float:
        """Time above fusion, from where it counts on."""
        counts_s = self.timeline.counts_from_s
        if counts_s is not None:
            begin_s = max(begin_s, counts_s - self.timeline.heat_on_s)
        return fused_between_s(edge, begin_s, stop_s)


def after_power(run: Run, now_s: float, *, held: bool, lasts: bool) -> Decision:
    """What is left to do when the power was lost. run: of the coldest edge; held: as long as was agreed; lasts: the
    supply is back, or the heat left in the platens lasts for the holding time."""
    if held:
        return "cool"
    return "hold" if lasts and _fused(run, now_s) else "resume heat"


def after_pressure(
    edge: Run, middle: Run, at_s: float, now_s: float, *, opened: bool, cooling: bool
) -> Decision:
    """What is left to do when the pressure was lost or the press opened from `at_s` to `now_s`."""
    before, gap = _samples(at_s), _samples(now_s, at_s)
    had_fused = float(middle.hottest_over_fusion_K(before).max()) > 0
    soft = bool((middle.hottest_over_fusion_K(gap) > 0).any())
    if not had_fused and not soft:
        return "resume heat"
    if not soft:  # it had set again before the pressure went
        warm = float(middle.hottest_over_fusion_K(at_s)[0]) > -RELEASE_BELOW_FUSION_K
        return "cut out and redo" if warm and opened else "cool"
    if opened:
        return "cut out and redo"
    return "cut out and redo" if cooling and not _fused(edge, now_s) else "hold"


def fused_between_s(run: Run, begin_s: float, stop_s: float) -> float:
    """Time the coldest belt point is above fusion; sampled from one change of the platens to the next."""
    changes = sorted({begin_s, stop_s, *(s for s in run.starts_s if begin_s < s < stop_s)})
    return sum(above_fusion_s(run, a, b) for a, b in pairwise(changes) if b <= stop_s)


def _fused(run: Run, t_s: float) -> bool:
    return float(run.coldest_over_fusion_K(t_s)[0]) > 0


def _samples(stop_s: float, start_s: float = 0.0) -> Floats:
    import numpy as np

    return np.linspace(start_s, stop_s, 60)


def _power_factor(job: Job, planned: Variant, settings: Settings, ramp_s: float) -> float:
    """The heater power, as a factor, with which the later platen arrives after `ramp_s`."""
    from scipy.optimize import brentq

    if ramp_s <= 0:
        raise NotComputable(
            "The platens cannot be at set temperature when the heat goes on: correct the times."
        )

    def early(log_factor: float) -> float:
        press = planned.press.scaled(power=float(2.0**log_factor))
        both_s = warm_up(planned.body, press, settings, job.shop_degC + ZERO_C_K).both_s
        return ramp_s - min(both_s or NOT_SOON_S, NOT_SOON_S)

    low, high = -2.0, 4.0
    if early(low) > 0 or early(high) < 0:
        raise NotComputable(
            f"A ramp of {seconds(ramp_s)} is not possible on the {job.press.name}: check when heat and set temperature were noted."
        )
    return float(2.0 ** brentq(early, low, high, xtol=1e-3))


_DO: dict[tuple[Kind, Decision], str] = {
    ("power", "cool"): "Do not heat again: as much as the agreed dwell of {dwell} has been held. Cool it under full pressure.",
    ("power", "resume heat"): "Keep the pressure on. When the supply is back, heat to the set temperatures and hold the whole dwell of {rest}.",
    ("pressure", "cool"): "Put the pressure back on and cool on to the release temperature; then judge the joint with care.",
    ("pressure", "hold"): "Put the pressure back on now, with the heat on, and hold the whole dwell of {rest} from when both platens are at set; then look hard for bubbles and thin places.",
    ("pressure", "resume heat"): "Nothing had fused: put the pressure back on, and go on from the start of the heat with the whole dwell of {rest}.",
    ("pressure", "cut out and redo"): "Cut out and redo: it was soft without pressure and has set since, so bubbles and gaps are frozen in.",
    ("opened", "cool"): "It had set before the press was opened: let it get cold and judge the joint as usual.",
    ("opened", "resume heat"): "Nothing had fused: check that fingers, cloths and plate still lie right, close it, and heat from the start with the whole dwell of {rest}.",
    ("opened", "cut out and redo"): "Cut out and redo: it was opened while soft, so the fingers have moved. Let it cool before you touch it.",
}  # fmt: skip


def to_do(kind: Kind, decision: Decision, rest: str, dwell: str) -> str:
    """What to do, in words. rest: what is to be held; dwell: what was agreed. Raises: KeyError for what is never decided."""
    return _DO[kind, decision].format(rest=rest, dwell=dwell)


def _sentences(found: WhatNow, back: bool, release_K: float) -> tuple[str, ...]:
    rest = seconds(found.rest_s)
    if (found.kind, found.decision) == ("power", "hold"):
        do = _hold_after_power(found, back)
    elif found.kind == "opened" and found.decision == "hold":
        raise AssertionError("an opened press is never held")
    else:
        do = to_do(found.kind, found.decision, rest, seconds(found.dwell_s))
    where = (
        f"The coldest edge has been above fusion under pressure for {seconds(found.fused_s)} (between "
        f"{seconds(found.fused_low_s)} and {seconds(found.fused_high_s)}), and the material is held for "
        f"{seconds(found.needed_s)}; the edge is at {degC(found.coldest_K)} now, and the hottest point at {degC(found.hottest_K)}."
    )
    sentences = [do, where]
    if (found.kind, found.decision) == ("power", "hold"):
        sentences.append(
            f"By the model alone {'it is enough' if found.model_rest_s <= 0 else f'{seconds(found.model_rest_s)} more would do'}, "
            "but it counts the ramp and leaves out what the dwell allows for: the dwell stands."
        )
    if found.below_damage_K < 0:
        sentences.append(
            f"The hottest point has been {-found.below_damage_K:.0f} K above damage: expect to cut it out."
        )
    if found.hottest_high_K > release_K and found.decision in ("cool", "hold"):
        sentences.append(f"Do not let the pressure out before it is at {degC(release_K)} inside.")
    if found.decision == found.as_planned:
        sure = f"{100 * found.agreement:.0f} % of the ways in which belt, contact, sensors and press may be off call for the same."
    else:
        sure = (
            f"With the planning values '{found.as_planned}' would do, but not for enough of the ways in which belt, "
            f"contact, sensors and press may be off; '{found.decision}' is enough for {100 * found.enough:.0f} % of them."
        )
    return (*sentences, sure)


def _hold_after_power(found: WhatNow, back: bool) -> str:
    dwell, rest = seconds(found.dwell_s), seconds(found.rest_s)
    if not back:
        return (
            "Keep the pressure on and do not cool: the heat in the platens keeps it above fusion for about "
            f"{seconds(found.stays_fused_s)} more. With the supply back, heat and hold the whole dwell of {dwell}, less only "
            "what was served if the platens have hardly fallen."
        )
    if found.served_s > 0:
        return (
            f"Heat again at once to the set temperatures and hold {rest} more from when both platens are there: "
            f"{seconds(found.served_s)} of the dwell of {dwell} are served, for the platens have hardly fallen."
        )
    return (
        f"Heat again at once to the set temperatures and hold the whole dwell of {dwell} from when both platens are there: "
        "time below set temperature is no dwell."
    )
