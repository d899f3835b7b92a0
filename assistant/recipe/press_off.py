"""A press whose constants are off, as far as its file, past sessions or the planning values say they may be."""

from __future__ import annotations

from assistant.bench.job import Job
from assistant.bench.press import Platen
from assistant.recipe.platen import PlatenModel, PressModel
from assistant.recipe.spans import platen_span


def press_off(
    job: Job, model: PressModel, *, power: float = 0.0, loss: float = 0.0, cooling: float = 0.0
) -> PressModel:
    """The press with its constants off, each by its own span: times as far up as that reaches, below zero down.

    Args: model: as `press_model` gives it for the job.
    """

    def one(model: PlatenModel, platen: Platen) -> PlatenModel:
        return model.scaled(
            power=platen_span(job.press, platen, "power_W_m2").at(power),
            loss=platen_span(job.press, platen, "loss_W_m2K").at(loss),
            cooling=platen_span(job.press, platen, "cooling_W_m2K").at(cooling),
        )

    return PressModel(one(model.upper, job.press.upper), one(model.lower, job.press.lower))
