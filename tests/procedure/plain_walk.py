"""The rules of the gates once more, written as a person would walk the list: the check of the check.

Shares no code with `assistant.procedure.mandatory`: one job after another, one act after another.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

Data = dict[str, Any]

# gate -> (kinds of job, hazards of acts, stages) that it stands before
# class: common practice, no published source -- what each gate protects from
STANDS_BEFORE: dict[str, tuple[set[str], set[str], set[str]]] = {
    "conveyor_dead": ({"conveyor"}, set(), {"thread", "cut"}),
    "energy_released": ({"conveyor"}, set(), {"thread", "cut"}),
    "workplace_fit": ({"shop", "conveyor"}, {"blade"}, {"cut"}),
    "leads_sound": ({"shop", "conveyor"}, {"connect"}, set()),
    "closed": ({"shop", "conveyor"}, {"air_or_heat", "start"}, {"run"}),
    "values_agree": ({"shop", "conveyor"}, {"start"}, {"run"}),
    "cold_inside": ({"shop", "conveyor"}, {"vent"}, set()),
    "dead_and_empty": ({"shop", "conveyor"}, {"unfasten"}, {"unfasten"}),
    "guards": ({"conveyor"}, {"locks_off", "first_run"}, set()),
    "own_lock": ({"conveyor"}, {"first_run"}, set()),
}
EACH_TIME = {"blade": "blade", "lifting": "lift", "hot_parts": "hot_handling"}
MUST_HAPPEN = {
    "shop": {"blade", "connect", "air_or_heat", "start", "vent", "unfasten", "hot_handling"},
    "conveyor": {
        "blade",
        "connect",
        "air_or_heat",
        "start",
        "vent",
        "unfasten",
        "hot_handling",
        "locks_off",
        "first_run",
    },
}

BOTH = (False, True)


def jobs() -> Iterator[dict[str, str | bool]]:
    """Every job that differs in what chooses gates and hazards; the other traits at two extremes."""
    for kind, heavy, halves, inner, preheat, rich in itertools.product(
        ("shop", "conveyor"), BOTH, ("hinged", "loose"), BOTH, BOTH, BOTH
    ):
        yield {
            "job_kind": kind, "heavy": heavy, "halves": halves, "inner_lead": inner, "preheat": preheat,
            "guided": rich, "notched": rich, "cooling": "water" if rich else "none", "supply_until_vented": rich,
            "new_pair": rich, "asymmetric": rich,
        }  # fmt: skip


def walk(data: Data, job: dict[str, str | bool]) -> Iterator[tuple[str, Data]]:
    for stage in data["stages"]:
        for act in stage["acts"]:
            if all(job[trait] == value for trait, value in act["when"].items()):
                yield stage["id"], act


def passes_a_gate_by(data: Data) -> str | None:
    """The first way to get past a gate in any job, in words; None if there is none."""
    for job in jobs():
        found = _in_job(data, job)
        if found:
            return f"{found} in {job}"
    return None


def _in_job(data: Data, job: dict[str, str | bool]) -> str | None:
    closed: set[str] = set()
    fresh: set[str] = set()  # gates closed since the last act that was not a gate
    happened: set[str] = set()
    cooling = cold_upper = cold_lower = False
    proofs: set[str] = set()
    for stage, act in walk(data, job):
        if act["kind"] == "gate":
            if act["gate"] == "cold_inside" and not (cold_upper and cold_lower):
                return "cold inside is asked without readings after cooling began"
            if act["gate"] == "dead_and_empty" and proofs < {
                "controller_off",
                "plug_out",
                "air_off",
                "gauge",
                "heard",
            }:
                return "dead and empty is asked without its proofs"
            closed.add(act["gate"])
            fresh.add(act["gate"])
            continue
        hazards = set(act["hazards"])
        happened |= hazards
        for gate, (kinds, before, stages) in STANDS_BEFORE.items():
            if job["job_kind"] in kinds and (hazards & before or stage in stages) and gate not in closed:
                return f"{act['id']} comes before {gate}"
        for gate, hazard in EACH_TIME.items():
            if hazard in hazards and gate not in fresh and (gate != "lifting" or job["heavy"]):
                return f"{act['id']} has no {gate} of its own"
        fresh.clear()
        cooling = cooling or act["timer"] == "cool"
        cold_upper = cold_upper or (cooling and act["slot"] == "upper_reading")
        cold_lower = cold_lower or (cooling and act["slot"] == "lower_reading")
        if "vent" in happened:
            proofs |= {act["id"]} if act["id"] in ("controller_off", "plug_out", "air_off") else set()
            proofs |= {"gauge"} if act["slot"] == "gauge_reading" else set()
            proofs |= {"heard"} if act["slot"] == "vent_heard" else set()
    missing = MUST_HAPPEN[str(job["job_kind"])] - happened
    return f"nothing is flagged as {sorted(missing)}" if missing else None
