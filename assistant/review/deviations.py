"""What a supervisor looks for first: refused, corrected, out of the recipe, implausible, held, interrupted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from assistant.record.chain import Line
from assistant.record.plain import plain
from assistant.review.values import label, shown
from assistant.review.words import tell

Sort = Literal[
    "value refused", "corrected", "not as computed", "answer refused", "skip refused", "asked again",
    "reading", "inspection", "held", "danger", "hand-over", "interruption", "clock", "deviation",
]  # fmt: skip

# After these nothing waits for its confirmation any more.
_SETTLES = frozenset({
    "value_taken", "value_dropped", "reading", "inspected", "decided", "kept", "act_done", "went_back", "gate_asked",
    "handed_over", "resumed", "inquired", "interrupted",
})  # fmt: skip
_TOLD_AS_THEY_ARE: dict[str, Sort] = {
    "value_refused": "value refused",
    "gate_refused": "answer refused",
    "skip_refused": "skip refused",
    "gate_rearmed": "asked again",
    "went_back": "corrected",
    "held": "held",
    "danger": "danger",
    "false_alarm": "danger",
    "handed_over": "hand-over",
    "resumed": "interruption",
    "interrupted": "interruption",
    "torn_tail": "interruption",
    "clock_noted": "clock",
    "deviation": "deviation",
}


@dataclass(frozen=True)
class Departure:
    """One departure from the straight course. line_no from 1; wall as stamped; t_s session seconds."""

    line_no: int
    wall: str
    t_s: float
    sort: Sort
    sentence: str


def departures(lines: Iterable[Line]) -> list[Departure]:
    """In the order of the log."""
    found: list[Departure] = []
    taken: dict[str, Any] = {}
    offered: dict[str, Any] = {}
    proposed: dict[str, Any] = {}
    for line in lines:
        for sort, sentence in _of(line.event, taken, offered, proposed):
            found.append(Departure(line.n + 1, line.stamp.wall, line.stamp.t_s, sort, sentence))
    return found


def _of(
    event: dict[str, Any], taken: dict[str, Any], offered: dict[str, Any], proposed: dict[str, Any]
) -> list[tuple[Sort, str]]:
    """What is to be told of one event; keeps the three books of values up to date."""
    kind = event["kind"]
    waiting = dict(offered)
    if kind in _SETTLES:
        offered.clear()
    if kind in _TOLD_AS_THEY_ARE:
        return [(_TOLD_AS_THEY_ARE[kind], tell(event))]
    match event:
        case {"kind": "value_offered", "slot": str(slot), "value": value}:
            before = offered.get(slot)
            offered.clear()
            offered[slot] = value
            if before is not None and before != value:
                return [("corrected", _changed(slot, before, value, "before it counted"))]
        case {"kind": "value_taken", "slot": str(slot), "value": value}:
            before = taken.get(slot)
            taken[slot] = value
            return _taken(slot, before, value, proposed)
        case {"kind": "value_dropped", "slot": str(slot)}:
            dropped = waiting.get(slot, taken.pop(slot, None))
            if dropped is not None:
                return [("corrected", f"{label(slot).capitalize()} {shown(slot, dropped)} was taken back.")]
        case {
            "kind": "computed",
            "topic": "recipe",
            "inputs": dict(given),
            "results": {"values": dict(values)},
        }:
            # What a person has fixed comes back as a result; it was not proposed.
            proposed.update({slot: value for slot, value in values.items() if f"given_{slot}" not in given})
        case {"kind": "computed", "results": {"refused": list(reasons)}} if reasons:
            return [("value refused", " ".join(map(plain, reasons)))]
        case {"kind": "computed", "topic": "interrupted", "results": {"said": list(said)}}:
            return [("interruption", " ".join(map(plain, said)))]
        case {"kind": "reading", "plausible": False}:
            return [("reading", tell(event))]
        case {"kind": "inspected", "severity": severity} if severity != "pass":
            return [("inspection", tell(event))]
    return []


def _taken(slot: str, before: Any, value: Any, proposed: dict[str, Any]) -> list[tuple[Sort, str]]:
    told: list[tuple[Sort, str]] = []
    if before is not None and before != value:
        told.append(("corrected", _changed(slot, before, value, "after it had counted")))
    if slot in proposed and proposed[slot] != value:
        computed = shown(slot, proposed[slot])
        told.append(
            ("not as computed", f"{label(slot).capitalize()} {shown(slot, value)}; computed was {computed}.")
        )
    return told


def _changed(slot: str, before: Any, value: Any, when: str) -> str:
    return f"{label(slot).capitalize()} corrected {when}: {shown(slot, before)} became {shown(slot, value)}."
