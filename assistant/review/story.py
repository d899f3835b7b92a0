"""What the report tells of a session, gathered from its log."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from assistant.record.chain import Line

RECIPE_SLOTS = (
    "upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature", "preheat_temperature",
    "preheat_time",
)  # fmt: skip


@dataclass(frozen=True)
class Confirmation:
    """A safety question answered. refused: answers turned away since it was last confirmed."""

    wall: str
    gate: str
    hazard: str
    sentence: str
    way: str
    heard: str
    sureness: float | None
    person: str
    facts: tuple[str, ...]
    refused: int


@dataclass(frozen=True)
class RecipeValue:
    """One value of the recipe, SI; None where the log has none."""

    slot: str
    computed: Any
    agreed: Any
    displayed: Any  # as read back from the press's own display
    reason: str


@dataclass(frozen=True)
class ReadingTold:
    """A reading, SI; since_heat_s None before heat."""

    wall: str
    slot: str
    value: Any
    since_heat_s: float | None
    plausible: bool
    sentence: str


@dataclass(frozen=True)
class Story:
    """Everything in the order of the log. curve: rows (t since heat on in s, then upper, lower, coldest, hottest in °C)."""

    session: str = ""
    program: str = ""
    procedure: str = ""
    simulated: bool = False
    opened_wall: str = ""
    last_wall: str = ""
    last_t_s: float = 0.0
    sheet: dict[str, Any] = field(default_factory=dict)
    people: tuple[str, ...] = ()
    recipe: tuple[RecipeValue, ...] = ()
    dwell_items: tuple[tuple[str, float, str], ...] = ()  # label, seconds, reason
    account: tuple[tuple[str, float, str], ...] = ()  # from the physical minimum to the dwell, as above
    binding: str = ""  # what keeps the cycle from being shorter
    healed: float | None = None  # by the model, of the worst point at the end of the dwell
    warnings: tuple[str, ...] = ()
    curve: tuple[tuple[float, ...], ...] = ()
    marks: dict[str, float] = field(default_factory=dict)  # s since heat on
    readings: tuple[ReadingTold, ...] = ()
    confirmations: tuple[Confirmation, ...] = ()
    findings: tuple[dict[str, Any], ...] = ()
    outcome: str = ""  # decided; '' not yet
    note: str = ""
    causes: tuple[str, ...] = ()
    kept: str | None = None
    closed: str = ""  # outcome in the closing line; '' not closed
    heard: dict[str, int] = field(default_factory=dict)  # utterances by way


def story_of(lines: Iterable[Line]) -> Story:
    """Raises nothing for entries that it does not know: they are left out here and stand in the retelling."""
    told: dict[str, Any] = {}
    values: dict[str, Any] = {}
    people: dict[str, None] = {}
    marks: dict[str, float] = {}
    hazards: dict[str, str] = {}
    refused: dict[str, int] = {}
    readings: list[ReadingTold] = []
    confirmations: list[Confirmation] = []
    findings: dict[str, dict[str, Any]] = {}
    heard: dict[str, int] = {}
    recipe: dict[str, Any] = {}
    proposed: dict[str, Any] = {}
    for line in lines:
        told |= {"last_wall": line.stamp.wall, "last_t_s": line.stamp.t_s}
        match line.event:
            case {"kind": "opened"} as e:
                told |= {
                    "session": str(e.get("session", "")),
                    "program": f"{e.get('program', '')} {e.get('version', '')}".strip(),
                    "procedure": str(e.get("procedure", "")),
                    "simulated": bool(e.get("simulated")),
                    "opened_wall": line.stamp.wall,
                }
            case {"kind": "heard", "way": str(way)}:
                heard[way] = heard.get(way, 0) + 1
            case {"kind": "value_taken", "slot": str(slot), "value": value}:
                values[slot] = value
                if slot == "technician":
                    people[str(value)] = None
            case {"kind": "value_dropped", "slot": str(slot)}:
                values.pop(slot, None)
            case {"kind": "handed_over", "taker": taker}:
                people[str(taker)] = None
            case {"kind": "computed", "topic": "recipe", "results": {"values": dict(found)} as results}:
                recipe = results
                # What a person has fixed is among the values; beside it stands what was computed.
                computed = results.get("computed")
                proposed |= computed if isinstance(computed, dict) else found
            case {"kind": "run_marked", "mark": str(mark)}:
                marks[mark] = line.stamp.t_s
            case {"kind": "reading", "slot": str(slot), "value": value} as e:
                readings.append(_reading(line, slot, value, e))
            case {"kind": "gate_asked", "gate": str(gate), "hazard": hazard}:
                hazards[gate] = str(hazard)
            case {"kind": "gate_refused", "gate": str(gate)}:
                refused[gate] = refused.get(gate, 0) + 1
            case {"kind": "gate_closed", "gate": str(gate)} as e:
                confirmations.append(
                    _confirmation(line, gate, e, hazards.get(gate, ""), refused.pop(gate, 0))
                )
            case {"kind": "inspected", "item": str(item)} as e:
                findings[item] = e
            case {"kind": "decided", "outcome": outcome} as e:
                told |= {"outcome": str(outcome), "note": str(e.get("note", ""))}
                told["causes"] = _texts(e.get("causes"))
            case {"kind": "kept", "name": name}:
                told["kept"] = None if name is None else str(name)
            case {"kind": "closed", "outcome": outcome}:
                told["closed"] = str(outcome)
    start = marks.get("heat_on", 0.0)
    return Story(
        **told,
        sheet={
            slot: v
            for slot, v in values.items()
            if slot not in RECIPE_SLOTS and not slot.startswith("shown_")
        },
        people=tuple(people),
        recipe=_recipe_rows(recipe, proposed, values),
        dwell_items=_dwell_items(recipe.get("dwell_items")),
        account=_dwell_items(recipe.get("account")),
        binding=str(recipe.get("binding") or ""),
        healed=_degree(recipe.get("healing")),
        warnings=_texts(recipe.get("warnings")),
        curve=_curve(recipe.get("curve")),
        marks={mark: t - start for mark, t in marks.items()},
        readings=tuple(readings),
        confirmations=tuple(confirmations),
        findings=tuple(findings.values()),
        heard=heard,
    )


def _reading(line: Line, slot: str, value: Any, e: dict[str, Any]) -> ReadingTold:
    since = e.get("since_heat_s")
    since_s = float(since) if isinstance(since, int | float) else None
    return ReadingTold(
        line.stamp.wall, slot, value, since_s, bool(e.get("plausible")), str(e.get("sentence", ""))
    )


def _confirmation(line: Line, gate: str, e: dict[str, Any], hazard: str, refused: int) -> Confirmation:
    sureness = e.get("sureness")
    return Confirmation(
        wall=line.stamp.wall,
        gate=gate,
        hazard=hazard,
        sentence=str(e.get("sentence", "")),
        way=str(e.get("way", "")),
        heard=str(e.get("heard", "")),
        sureness=float(sureness) if isinstance(sureness, int | float) else None,
        person=str(e.get("person", "")),
        facts=_texts(e.get("facts")),
        refused=refused,
    )


def _recipe_rows(
    recipe: dict[str, Any], proposed: dict[str, Any], values: dict[str, Any]
) -> tuple[RecipeValue, ...]:
    reasons = recipe.get("reasons")
    reasons = reasons if isinstance(reasons, dict) else {}
    return tuple(
        RecipeValue(
            slot,
            proposed.get(slot),
            values.get(slot),
            values.get(f"shown_{slot}"),
            str(reasons.get(slot, "")),
        )
        for slot in RECIPE_SLOTS
        if slot in proposed or slot in values
    )


def _texts(held: Any) -> tuple[str, ...]:
    return tuple(map(str, held)) if isinstance(held, list) else ()


def _curve(rows: Any) -> tuple[tuple[float, ...], ...]:
    if not isinstance(rows, list):
        return ()
    return tuple(
        tuple(float(x) for x in row)
        for row in rows
        if isinstance(row, list) and len(row) == 5 and all(isinstance(x, int | float) for x in row)
    )


def _dwell_items(items: Any) -> tuple[tuple[str, float, str], ...]:
    if not isinstance(items, list):
        return ()
    return tuple(
        (str(item[0]), float(item[1]), str(item[2]))
        for item in items
        if isinstance(item, list) and len(item) == 3 and isinstance(item[1], int | float)
    )


def _degree(healing: Any) -> float | None:
    degree = healing.get("degree") if isinstance(healing, dict) else None
    return float(degree) if isinstance(degree, int | float) else None
