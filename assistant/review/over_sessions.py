"""Many sessions side by side: per belt and press, the cycle times, the readings at the end, what was accepted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from assistant.record.stamp import instant_s
from assistant.review.statistics import Chart, PassRate, Signal, chart, pass_rate, signals
from assistant.review.story import Story

ACCEPTED = ("accepted", "accepted with a note")
READINGS = ("upper_reading", "lower_reading", "edge_reading")
MEASURES = ("cycle_time_s", "ramp_s", *(f"{slot}_K" for slot in READINGS))


@dataclass(frozen=True)
class Measured:
    """One measure over the sessions that have it, oldest first."""

    name: str
    sessions: tuple[str, ...]
    chart: Chart
    signals: tuple[Signal, ...]


@dataclass(frozen=True)
class Group:
    """The joints of one belt on one press. rate None: none was judged."""

    belt: str
    press: str
    sessions: int
    rate: PassRate | None
    measured: tuple[Measured, ...]


@dataclass
class _Rows:
    values: dict[str, list[tuple[str, float]]] = field(default_factory=dict)
    outcomes: list[str] = field(default_factory=list)
    sessions: int = 0


def over_sessions(stories: Iterable[Story], rules: tuple[str, ...]) -> tuple[Group, ...]:
    """Statistics of each belt and press. Stories of the simulated press are left out.

    cycle_time_s: heat on to vented; ramp_s: heat on to both platens at set; readings: the last before venting.
    """
    rows: dict[tuple[str, str], _Rows] = {}
    for story in sorted(stories, key=lambda one: instant_s(one.opened_wall)):
        if story.simulated:
            continue
        row = rows.setdefault((str(story.sheet.get("belt", "")), str(story.sheet.get("press", ""))), _Rows())
        row.sessions += 1
        if story.outcome:
            row.outcomes.append(story.outcome)
        for name, value in _measures(story).items():
            row.values.setdefault(name, []).append((story.session, value))
    found = []
    for (belt, press), row in sorted(rows.items()):
        measured = []
        for name in MEASURES:
            if name in row.values:
                sessions, points = zip(*row.values[name], strict=True)
                made = chart(points)
                measured.append(Measured(name, tuple(sessions), made, signals(made, rules)))
        judged = row.outcomes
        rate = pass_rate(sum(outcome in ACCEPTED for outcome in judged), len(judged)) if judged else None
        found.append(Group(belt, press, row.sessions, rate, tuple(measured)))
    return tuple(found)


def _measures(story: Story) -> dict[str, float]:
    found: dict[str, float] = {}
    vented_s = story.marks.get("vented")
    if "heat_on" in story.marks and vented_s is not None:
        found["cycle_time_s"] = vented_s
    if "at_set" in story.marks:
        found["ramp_s"] = story.marks["at_set"]
    for slot in READINGS:
        told = [
            float(one.value)
            for one in story.readings
            if one.slot == slot and one.since_heat_s is not None and isinstance(one.value, float | int)
            and (vented_s is None or one.since_heat_s <= vented_s)
        ]  # fmt: skip
        if told:
            found[f"{slot}_K"] = told[-1]
    return found
