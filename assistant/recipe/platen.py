"""The press as part of the problem: platens with mass, power and loss, a controller that holds a set
temperature, and cooling. One cycle: heat (with or without a preheat), hold, cool under pressure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.bench.press import Platen
from assistant.recipe.conduction import Conduction, Driven, Follows
from assistant.recipe.run import FOREVER_S, Run, first_time_ever, time_above_s
from assistant.recipe.stack import ZERO_C_K
from assistant.recipe.supply import CLASS_5_OHM_PER_KM, behind_lead

if TYPE_CHECKING:
    from assistant.recipe.conduction import Boundary, Floats

LONGEST_RAMP_S = 3 * 3600.0


@dataclass(frozen=True)
class PlatenModel:
    """One platen, per square metre: what is heated with it, its power, its losses, its cooling."""

    capacity_J_m2K: float
    power_W_m2: float
    loss_W_m2K: float
    around_K: float
    cooling_W_m2K: float
    coolant_K: float

    def heating(self) -> Driven:
        return Driven(self.capacity_J_m2K, self.power_W_m2, self.loss_W_m2K, self.around_K)

    def cooling(self) -> Driven:
        return Driven(self.capacity_J_m2K, 0.0, self.cooling_W_m2K, self.coolant_K)

    def scaled(self, *, power: float = 1.0, loss: float = 1.0, cooling: float = 1.0) -> PlatenModel:
        return replace(
            self,
            power_W_m2=self.power_W_m2 * power,
            loss_W_m2K=self.loss_W_m2K * loss,
            cooling_W_m2K=self.cooling_W_m2K * cooling,
        )


@dataclass(frozen=True)
class PressModel:
    upper: PlatenModel
    lower: PlatenModel

    def scaled(self, *, power: float = 1.0, loss: float = 1.0, cooling: float = 1.0) -> PressModel:
        return PressModel(
            self.upper.scaled(power=power, loss=loss, cooling=cooling),
            self.lower.scaled(power=power, loss=loss, cooling=cooling),
        )

    def at_edges(
        self, settings: Settings, upper_less_K: float, lower_less_K: float
    ) -> tuple[PressModel, Settings]:
        """The platens as their edges are, that much colder at set temperature: as on the way there, in proportion to
        the rise above their surroundings, so that both arrive when the middles do."""

        def share(platen: PlatenModel, set_K: float, less_K: float) -> float:
            rise_K = set_K - platen.around_K
            return 1.0 if rise_K <= 0 else max(0.0, 1 - less_K / rise_K)

        upper, lower = (
            share(self.upper, settings.upper_K, upper_less_K),
            share(self.lower, settings.lower_K, lower_less_K),
        )

        def risen(platen: PlatenModel, to_K: float, by: float) -> float:
            return platen.around_K + by * (to_K - platen.around_K)

        press = PressModel(self.upper.scaled(power=upper), self.lower.scaled(power=lower))
        preheat_K = settings.preheat_K
        return press, replace(
            settings,
            upper_K=risen(self.upper, settings.upper_K, upper),
            lower_K=risen(self.lower, settings.lower_K, lower),
            preheat_K=None
            if preheat_K is None
            else min(risen(self.upper, preheat_K, upper), risen(self.lower, preheat_K, lower)),
        )

    @property
    def coolant_K(self) -> float:
        return max(self.upper.coolant_K, self.lower.coolant_K)


def press_model(job: Job) -> PressModel:
    """The job's press in the job's shop, behind its lead. Heaters are resistances: power goes with the square of
    the voltage that reaches them. Fans and bare platens cool towards the shop, water towards its own temperature, and air
    towards its own too, which is never colder than the shop that it is drawn from."""
    press, around_K = job.press, job.shop_degC + ZERO_C_K
    share = _power_share(job)
    by_shop = press.cooling.kind in ("none", "fan")
    coolant_K = around_K if by_shop else press.cooling.coolant_degC + ZERO_C_K
    if press.cooling.kind == "air":
        coolant_K = max(coolant_K, around_K)

    def one(platen: Platen) -> PlatenModel:
        return PlatenModel(
            platen.heat_capacity_J_m2K,
            platen.power_W_m2 * share,
            platen.loss_W_m2K,
            around_K,
            press.cooling.coefficient_W_m2K if platen.cooling_W_m2K is None else platen.cooling_W_m2K,
            coolant_K,
        )

    return PressModel(one(press.upper), one(press.lower))


def _power_share(job: Job) -> float:
    """Heating power at this socket and behind this lead over what is on the press's plate."""
    press, lead = job.press, job.supply
    at_20 = {} if lead.lead_ohm_per_km is None else {lead.lead_section_mm2: lead.lead_ohm_per_km}
    return behind_lead(
        press.power_W, press.voltage_V, lead.voltage_V, lead.lead_length_m, lead.lead_section_mm2 * 1e-6,
        phases=press.phases, ohm_per_km=CLASS_5_OHM_PER_KM | at_20,
    )[1]  # fmt: skip


@dataclass(frozen=True)
class Heated:
    """A run up to and into the hold. None: that platen never gets there."""

    run: Run
    upper_s: float | None
    lower_s: float | None

    @property
    def both_s(self) -> float | None:
        return None if self.upper_s is None or self.lower_s is None else max(self.upper_s, self.lower_s)


def heat_up(
    press: PressModel, run: Run, nodes: Floats, start_s: float, upper_K: float, lower_K: float
) -> Heated:
    """Full power until each platen is at its set temperature, then held there.

    The heat to hold is whatever it takes; a held platen that would have to be cooled is not looked at.
    """
    at: list[float | None] = [
        start_s if nodes[0] >= upper_K - 1e-9 else None,
        start_s if nodes[-1] >= lower_K - 1e-9 else None,
    ]
    now = start_s
    while True:
        upper: Boundary = press.upper.heating() if at[0] is None else Follows(upper_K)
        lower: Boundary = press.lower.heating() if at[1] is None else Follows(lower_K)
        run = run.then(now, nodes, upper, lower)
        if at[0] is not None and at[1] is not None:
            break
        arrival = _next_arrival(
            run, now, upper_K if at[0] is None else None, lower_K if at[1] is None else None
        )
        if arrival is None:
            break
        now, which = arrival
        at[which] = now
        nodes = run.now(now)
        nodes[(0, -1)[which]] = (upper_K, lower_K)[which]
    return Heated(run, at[0], at[1])


def _next_arrival(
    run: Run, now_s: float, upper_K: float | None, lower_K: float | None
) -> tuple[float, int] | None:
    """When, and which of the platens that are still on their way arrives first: 0 upper, 1 lower."""
    segment = run.segments[-1]
    wanted = [(row, goal) for row, goal in ((0, upper_K), (-1, lower_K)) if goal is not None]

    def nearest(t_s: Floats) -> Floats:
        nodes = segment.nodes(t_s)
        gaps: list[Floats] = [nodes[row] - goal for row, goal in wanted]
        return gaps[0] if len(gaps) == 1 else gaps[0].clip(min=gaps[1])

    after_s = first_time_ever(nearest, 0.0, LONGEST_RAMP_S)
    if after_s is None:
        return None
    nodes = run.now(now_s + after_s)
    row, _ = max(wanted, key=lambda pair: nodes[pair[0]] - pair[1])
    return now_s + after_s, 0 if row == 0 else 1


def cool_down(press: PressModel, run: Run, start_s: float) -> Run:
    """Heaters off, cooling on, from `start_s`."""
    return run.then(start_s, run.now(start_s), press.upper.cooling(), press.lower.cooling())


@dataclass(frozen=True)
class Settings:
    """What is set on the press. preheat_K None: no preheat."""

    upper_K: float
    lower_K: float
    dwell_s: float
    release_K: float
    preheat_K: float | None = None
    preheat_s: float = 0.0


@dataclass(frozen=True)
class Cycle:
    """One cycle from heat on. fused_s: the coldest belt point first at fusion; cold_s: the hottest belt
    point and both platens at release temperature. None: that never happens."""

    run: Run
    upper_s: float
    lower_s: float
    fused_s: float | None
    cool_on_s: float
    cold_s: float | None

    @property
    def set_s(self) -> float:
        """When the later platen is at its set temperature: the dwell counts from here."""
        return max(self.upper_s, self.lower_s)


def warm_up(body: Conduction, press: PressModel, settings: Settings, start_K: float) -> Heated:
    """From a cold press, through the preheat if there is one, into the hold."""
    run, nodes, now = Run(body), body.uniform(start_K), 0.0
    if settings.preheat_K is not None:
        first = heat_up(press, run, nodes, now, settings.preheat_K, settings.preheat_K)
        if first.both_s is None:
            return first
        now, run = first.both_s + settings.preheat_s, first.run
        nodes = run.now(now)
    return heat_up(press, run, nodes, now, settings.upper_K, settings.lower_K)


def cycle(body: Conduction, press: PressModel, settings: Settings, start_K: float) -> Cycle | None:
    """The whole cycle; None when a platen never reaches its set temperature."""
    heated = warm_up(body, press, settings, start_K)
    if heated.upper_s is None or heated.lower_s is None:
        return None
    set_s = max(heated.upper_s, heated.lower_s)
    fused_s = fusion_time(heated.run, 0.0, settings.upper_K, settings.lower_K)
    cool_on_s = set_s + settings.dwell_s
    run = cool_down(press, heated.run, cool_on_s)
    return Cycle(
        run, heated.upper_s, heated.lower_s, fused_s, cool_on_s, cold_time(run, cool_on_s, settings.release_K)
    )


def fusion_time(run: Run, start_s: float, upper_K: float, lower_K: float) -> float | None:
    """When the coldest belt point reaches fusion while the platens end held; None if it never does."""
    body = run.body
    if (body.belt(body.steady(upper_K, lower_K)) - body.fusion_K).min() <= 0:
        return None
    return first_time_ever(run.coldest_over_fusion_K, start_s, FOREVER_S)


def hot_fusion_time(body: Conduction, start_K: float, upper_K: float, lower_K: float) -> float | None:
    """As `fusion_time`, when the cold lay-up is put between platens that are at temperature."""
    run = Run(body).then(0.0, body.uniform(start_K), Follows(upper_K), Follows(lower_K))
    return fusion_time(run, 0.0, upper_K, lower_K)


def cold_time(run: Run, cool_on_s: float, release_K: float) -> float | None:
    """When the hottest belt point and both platens have come down to `release_K`, cooling from `cool_on_s`."""

    def below(t_s: Floats) -> Floats:
        nodes = run.nodes(t_s)
        left: Floats = release_K - nodes[[0, -1]].max(axis=0).clip(min=run.body.belt(nodes).max(axis=0))
        return left

    return first_time_ever(below, cool_on_s)


def above_fusion_s(run: Run, start_s: float, stop_s: float) -> float:
    """How long, between two times, the coldest belt point lies above fusion."""
    import numpy as np

    times = np.linspace(start_s, stop_s, 401)
    return float(time_above_s(times, run.coldest_over_fusion_K(times)))
