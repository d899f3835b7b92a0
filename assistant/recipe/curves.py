"""Curves for the screen and for judging readings: the predicted cycle, and the band a good press stays in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.bench.job import Job
from assistant.recipe.case import Case
from assistant.recipe.conduction import Conduction
from assistant.recipe.outcome import Expected, Point, Trace
from assistant.recipe.platen import PressModel, cold_time, warm_up
from assistant.recipe.press_off import press_off
from assistant.recipe.run import Run
from assistant.recipe.setting import overshoot_K
from assistant.recipe.spans import PRESS

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

SPREAD = PRESS.high - 1
SENSOR_DEVIATIONS = 2.0
POINTS = 200


def curve_of(run: Run, moments_s: tuple[float, ...], end_s: float) -> tuple[Point, ...]:
    """About 200 points from heat on to `end_s`, the named moments among them."""
    import numpy as np

    times = np.unique(np.concatenate((np.linspace(0.0, end_s, POINTS), moments_s)))
    nodes = run.nodes(times)
    belt = run.body.belt(nodes)
    columns = (times, nodes[0], nodes[-1], belt.min(axis=0), belt.max(axis=0))
    return tuple(Point(*(float(value) for value in row)) for row in zip(*columns, strict=True))


def heat_delivered_J_m2(press: PressModel, run: Run, start_K: float, stop_s: float) -> float:
    """Heat that both heaters give up to `stop_s`: what is stored and what is lost meanwhile."""
    import numpy as np

    times = np.linspace(0.0, stop_s, 401)
    nodes = run.nodes(times)
    stored = float(run.body.stored_J_m2(nodes[:, -1], start_K))
    lost = 0.0
    for row, platen in ((0, press.upper), (-1, press.lower)):
        stored += platen.capacity_J_m2K * float(nodes[row, -1] - start_K)
        lost += platen.loss_W_m2K * float(np.trapezoid(nodes[row] - platen.around_K, times))
    return stored + lost


def expected_of(job: Job, case: Case) -> Expected:
    """What the displays should show. The band: the press's constants off as far as their ranges (planning: 30 %),
    sensor error, sensor lag."""
    import numpy as np

    body, press, settings = case.body, case.press, case.settings
    slow, fast = press_off(job, press, power=-1, loss=1), press_off(job, press, power=1, loss=-1)
    set_s = case.set_s or 0.0
    heating_s = np.linspace(0.0, 2.0 * set_s, POINTS)
    heated = [warm_up(body, model, settings, case.start_K) for model in (press, slow, fast)]
    heating = [one.run for one in heated]
    held = body.steady(settings.upper_K, settings.lower_K)
    cooling = [_cooling(body, press_off(job, press, cooling=off), held) for off in (0, -1, 1)]
    cooling_s = np.concatenate(([0.0], np.geomspace(2.0, 4 * (case.cooling_s or 3600.0), POINTS)))
    traces: list[Trace] = []
    for row, platen, model, set_K in (
        (0, job.press.upper, press.upper, settings.upper_K),
        (-1, job.press.lower, press.lower, settings.lower_K),
    ):
        lag_s, error_K = platen.sensor_lag_s, SENSOR_DEVIATIONS * platen.sensor_error_K
        over_K = overshoot_K(model, lag_s, set_K, body.stack.heat_per_K_J_m2K)
        slowest = _row(heating[1], row, heating_s - lag_s) - error_K
        fastest = _row(heating[2], row, heating_s + lag_s) + error_K + over_K
        traces.append(Trace(_floats(_row(heating[0], row, heating_s)), _floats(slowest), _floats(fastest)))
        slowest = _row(cooling[1], row, cooling_s - lag_s) + error_K + over_K
        fastest = _row(cooling[2], row, cooling_s + lag_s) - error_K
        traces.append(Trace(_floats(_row(cooling[0], row, cooling_s)), _floats(fastest), _floats(slowest)))
    upper_heating, upper_cooling, lower_heating, lower_cooling = traces
    return Expected(
        _floats(heating_s),
        upper_heating,
        lower_heating,
        _floats(cooling_s),
        upper_cooling,
        lower_cooling,
        _floats(cooling[1].hottest_K(cooling_s)),
        (heated[2].both_s, heated[1].both_s),
        (cold_time(cooling[2], 0.0, settings.release_K), cold_time(cooling[1], 0.0, settings.release_K)),
    )


def _row(run: Run, row: int, times: Floats) -> Floats:
    """One platen's temperature; before the run's beginning, as at its beginning."""
    temperatures: Floats = run.nodes(times)[row]
    return temperatures


def _cooling(body: Conduction, press: PressModel, nodes: Floats) -> Run:
    return Run(body).then(0.0, nodes, press.upper.cooling(), press.lower.cooling())


def _floats(values: Floats) -> tuple[float, ...]:
    return tuple(float(value) for value in values)
