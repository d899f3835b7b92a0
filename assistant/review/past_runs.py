"""Past cycles out of the record, for learning a press: real sessions only, each with its job as it was."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.bench.catalogue import Catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job
from assistant.recipe.displays import PLATENS
from assistant.recipe.learning import PastReading, PastRun, drift_of
from assistant.recipe.platen import Settings
from assistant.record.chain import BadLog, Line
from assistant.record.read import read_log
from assistant.record.stamp import instant_s
from assistant.review.own import Home, not_own
from assistant.review.story import Story, story_of

if TYPE_CHECKING:
    from assistant.record.hand_over import KnownKeys

LATEST = 30  # sessions; older ones tell of another press


@dataclass(frozen=True)
class PastRuns:
    """runs: of one press, oldest first. left_out: sentences, one for each session that could not be used."""

    runs: tuple[PastRun, ...]
    left_out: tuple[str, ...]


def past_runs(
    logs: Iterable[Path], press: str, catalogue: Catalogue, keys: KnownKeys | None = None
) -> PastRuns:
    """The cycles that were run on `press` (its key).

    catalogue: with the planning values, on which the learned factors count. keys: of the bench whose records these
    are; without them nobody asks whose they are. Raises nothing for a log that cannot be read, or is not the
    bench's: it is left out, and said.
    """
    found: list[tuple[float, PastRun]] = []
    left_out: list[str] = []
    for log in logs:
        try:
            lines = read_log(log)
        except BadLog as bad:
            left_out.append(f"{log.parent.name}: {bad}")
            continue
        story = story_of(lines)
        if story.sheet.get("press") != press:
            continue
        strange = "" if keys is None else not_own(lines, Home(log.parent.name, keys))
        run = strange or run_of(story, catalogue, lines)
        if isinstance(run, str):
            left_out.append(f"{log.parent.name}: {run}")
        else:
            found.append((instant_s(story.opened_wall), run))
    found.sort(key=lambda pair: pair[0])
    return PastRuns(tuple(run for _, run in found), tuple(left_out))


def drift_by_press(
    logs: Sequence[Path], presses: Iterable[str], catalogue: Catalogue, keys: KnownKeys | None = None
) -> dict[str, tuple[str, ...]]:
    """By key of the press, what its latest session differs in from those before it; presses without are left out.

    catalogue, keys: as for `past_runs`.
    """
    told = {press: drift_of(past_runs(logs, press, catalogue, keys).runs[-LATEST:]) for press in presses}
    return {press: sentences for press, sentences in told.items() if sentences}


def run_of(story: Story, catalogue: Catalogue, lines: Iterable[Line] = ()) -> PastRun | str:
    """The cycle of a session, or in a sentence why it teaches nothing."""
    if story.simulated:
        return "it was on the simulated press, which teaches nothing about a real one."
    if "heat_on" not in story.marks:
        return "the heat was never on."
    if (
        sum(line.event.get("kind") == "run_marked" and line.event.get("mark") == "heat_on" for line in lines)
        > 1
    ):
        return "the heat was switched on more than once, and what happened between is not known."
    job = build_job(story.sheet, catalogue)
    if not isinstance(job, Job):
        return f"its job cannot be built again: {job[0]}"
    stood = {
        row.slot: row.displayed if isinstance(row.displayed, float | int) else row.agreed
        for row in story.recipe
    }
    numbers = {slot: float(value) for slot, value in stood.items() if isinstance(value, float | int)}
    if not {"upper_temperature", "lower_temperature", "dwell", "release_temperature"} <= numbers.keys():
        return "its set values are not all known."
    readings = tuple(
        PastReading(told.slot, float(told.value), told.since_heat_s)
        for told in story.readings
        if told.slot in PLATENS and told.since_heat_s is not None and isinstance(told.value, float | int)
    )
    settings = Settings(
        numbers["upper_temperature"],
        numbers["lower_temperature"],
        numbers["dwell"],
        numbers["release_temperature"],
        numbers.get("preheat_temperature"),
        numbers.get("preheat_time", 0.0),
    )
    run = PastRun(
        job, settings, readings, story.marks.get("cool_on"), story.marks.get("at_set"), story.opened_wall[:10]
    )
    return run if run.telling else "it has no platen readings outside the hold."
