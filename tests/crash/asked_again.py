"""Which gates taking up a session must open again: a table of its own, read against the log and the steps' files.

A gate is opened again while its hazard is still there, and while nothing has been done yet of what it stands
before; asking about a hazard that is gone would train answers by rote.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import assistant.procedure

STEPS = Path(assistant.procedure.__file__).parent / "data" / "splice"

# gate -> what a step does with which its hazard is gone, or the act that is the last with the hazard there
# class: common practice, no published source -- rules of locking out, of electric leads and of pressure
UNTIL_HAZARD = {
    "conveyor_dead": "locks_off",
    "energy_released": "locks_off",
    "closed": "start",  # asked again before heat only
    "cold_inside": "vent",
}
UNTIL_ACT = {"leads_sound": "gauge_zero", "dead_and_empty": "lay_flat"}


@cache
def acts() -> tuple[tuple[str, dict[str, Any]], ...]:
    """Stage and act in the order of the files."""
    found: list[tuple[str, dict[str, Any]]] = []
    for path in sorted(STEPS.glob("[0-9]*.toml")):
        stage = tomllib.loads(path.read_text("utf-8"))
        found += [(stage["id"], act) for act in stage["acts"]]
    return tuple(found)


def must_open_again(events: Sequence[dict[str, Any]]) -> set[str]:
    """The gate acts that taking up the session of these events must open again, and no others.

    For a job that never goes back.
    """
    closed: set[str] = set()
    done: set[str] = set()
    for event in events:
        match event["kind"]:
            case "gate_closed":
                closed.add(event["act"])
            case "gate_rearmed":
                closed.discard(event["act"])
            case "act_done":
                done.add(event["act"])
    gone = {hazard for _, act in acts() if act["id"] in done for hazard in act.get("hazards", ())}
    furthest = max((place for place, (_, act) in enumerate(acts()) if act["id"] in done), default=-1)
    again = set()
    for place, (_, act) in enumerate(acts()):
        gate = act.get("gate")
        unused = furthest < place
        by_hazard = gate in UNTIL_HAZARD and UNTIL_HAZARD[gate] not in gone
        by_act = gate in UNTIL_ACT and UNTIL_ACT[gate] not in done
        if act["id"] in closed and (unused or by_hazard or by_act):
            again.add(act["id"])
    return again
