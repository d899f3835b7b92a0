"""A heating that was broken off and taken up again: the same conduction, with the platens left alone in between."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.recipe.conduction import Conduction, Driven
from assistant.recipe.platen import Heated, PlatenModel, PressModel, Settings, cool_down, heat_up, warm_up
from assistant.recipe.run import Run


@dataclass(frozen=True)
class Cut:
    """A time without heat. on_s: when the heat went on again, None: not yet. cooled: the cooling ran meanwhile."""

    off_s: float
    on_s: float | None = None
    cooled: bool = False


def left_alone(press: PressModel, run: Run, start_s: float) -> Run:
    """Heaters and cooling off from `start_s`: the platens lose what they lose anyway."""

    def platen(model: PlatenModel) -> Driven:
        return Driven(model.capacity_J_m2K, 0.0, model.loss_W_m2K, model.around_K)

    return run.then(start_s, run.now(start_s), platen(press.upper), platen(press.lower))


def warm_up_with_cuts(
    body: Conduction, press: PressModel, settings: Settings, start_K: float, cuts: tuple[Cut, ...]
) -> Heated:
    """As `warm_up`, with `cuts` in order of time, counted from heat on; what follows the last one's end goes on.

    After a cut it is heated straight to the set temperatures: a preheat is not taken up again.
    Heated: when each platen is at its set temperature after the last cut; None while the heat is off.
    """
    heated = warm_up(body, press, settings, start_K)
    return with_cuts(heated, press, (settings.upper_K, settings.lower_K), cuts)


def with_cuts(heated: Heated, press: PressModel, set_K: tuple[float, float], cuts: tuple[Cut, ...]) -> Heated:
    """The heating with `cuts` in it, each heated straight to `set_K` (upper, lower) afterwards."""
    for cut in cuts:
        run = upto(heated.run, cut.off_s)
        run = cool_down(press, run, cut.off_s) if cut.cooled else left_alone(press, run, cut.off_s)
        if cut.on_s is None:
            return Heated(run, None, None)
        heated = heat_up(press, run, run.now(cut.on_s), cut.on_s, *set_K)
    return heated


def since_heat_on(cuts: tuple[Cut, ...], heat_on_s: float) -> tuple[Cut, ...]:
    """The cuts on the clock that begins with the heat."""
    return tuple(
        Cut(cut.off_s - heat_on_s, None if cut.on_s is None else cut.on_s - heat_on_s, cut.cooled)
        for cut in cuts
    )


def upto(run: Run, stop_s: float) -> Run:
    """The run without what would have begun after `stop_s`."""
    kept = max(1, sum(start_s <= stop_s for start_s in run.starts_s))
    return Run(run.body, run.starts_s[:kept], run.segments[:kept])
