"""Sessions on disk with readings from a press whose constants are known, for what is learned from the record."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job, read_sheet
from assistant.practice.press import Hidden, SimulatedPress
from assistant.recipe.learning import PastReading, PastRun
from assistant.recipe.outcome import Recipe
from assistant.recipe.recipe import compute_recipe, settings_of
from assistant.record.keys import bench_key
from assistant.record.log import LogWriter
from assistant.record.opening_mark import marked
from assistant.record.stamp import Stamp

CATALOGUE = load_catalogue()
PLATENS = ("upper_reading", "lower_reading")


def job_named(name: str) -> Job:
    job = build_job(read_sheet(PACKAGED / "jobs" / f"{name}.toml", CATALOGUE), CATALOGUE)
    assert isinstance(job, Job)
    return job


def run_on(job: Job, secret: Hidden, readings: int = 5, date: str = "2026-11-25") -> PastRun:
    """A cycle with `readings` of both displays in the ramp, as many in cooling, and one in the hold."""
    recipe = compute_recipe(job)
    assert isinstance(recipe, Recipe)
    press = SimulatedPress(job, secret=secret)
    for value in recipe.values:
        press.enter(value.slot, value.value_si)
    press.heat_on(0.0)
    set_s = 0.0
    while not press.at_set(set_s):
        set_s += 5.0
    cool_s = set_s + recipe.dwell_s
    press.cool_on(cool_s)
    shares = [(i + 1) / (readings + 1) for i in range(readings)]
    times = [set_s * share for share in shares] + [set_s + 30.0]
    times += [cool_s + 0.8 * recipe.cooling_s * share for share in shares]
    told = tuple(PastReading(slot, press.read(slot, t), t) for t in times for slot in PLATENS)
    return PastRun(job, settings_of(recipe), told, cool_s, set_s, date)


def write_run(path: Path, sheet: Path, run: PastRun, day: int, *, simulated: bool = False) -> Path:
    """The run as the log of a session opened on that day of November 2026."""

    def stamp(t_s: float) -> Stamp:
        hours, rest = divmod(round(t_s), 3600)
        wall = f"2026-11-{day:02d}T{8 + hours:02d}:{rest // 60:02d}:{rest % 60:02d}.000+01:00"
        return Stamp(t_s, wall, 100.0 + t_s, "0badcafe")

    values: dict[str, Any] = {
        **read_sheet(sheet, CATALOGUE),
        "upper_temperature": run.settings.upper_K,
        "lower_temperature": run.settings.lower_K,
        "dwell": run.settings.dwell_s,
        "release_temperature": run.settings.release_K,
    }
    taken = [
        {"kind": "value_taken", "slot": slot, "value": value, "said": "", "way": "file"}
        for slot, value in values.items()
    ]
    assert run.at_set_s is not None
    assert run.cool_on_s is not None
    later: list[tuple[float, dict[str, Any]]] = [
        (run.at_set_s, {"kind": "run_marked", "mark": "at_set"}),
        (run.cool_on_s, {"kind": "run_marked", "mark": "cool_on"}),
    ]
    later += [
        (told.t_s, {"kind": "reading", "slot": told.slot, "value": told.value, "since_heat_s": told.t_s,
                    "plausible": True, "sentence": ""})
        for told in run.readings
    ]  # fmt: skip
    opened = {"kind": "opened", "session": path.parent.name, "program": "loopwright", "version": "0.1.0",
              "procedure": "splice", "digests": {}, "simulated": simulated}  # fmt: skip
    path.parent.mkdir(parents=True)
    if path.parent.parent.name == "sessions":
        opened = marked(opened, bench_key(path.parents[2]))
    with LogWriter.create(path, opened, stamp(0.0)) as writer:
        writer.append(taken, stamp(10.0))
        writer.append([{"kind": "run_marked", "mark": "heat_on"}], stamp(60.0))
        for t_s, event in sorted(later, key=lambda pair: pair[0]):
            writer.append([event], stamp(60.0 + t_s))
        writer.append(
            [{"kind": "decided", "outcome": "accepted", "note": "", "causes": []},
             {"kind": "closed", "outcome": "accepted", "count": writer.count + 1}],
            stamp(12000.0),
        )  # fmt: skip
    return path


def write_sessions(folder: Path, runs: Sequence[PastRun], job: str = "flat_in_the_shop") -> None:
    """One session a day under a data folder, from the 1st on."""
    for day, run in enumerate(runs, 1):
        name = f"2026-11-{day:02d}-0800-{day:04x}"
        write_run(folder / "sessions" / name / "log.jsonl", PACKAGED / "jobs" / f"{job}.toml", run, day)
