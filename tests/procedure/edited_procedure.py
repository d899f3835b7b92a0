"""The packaged procedure as a plain dictionary, and ways to spoil it."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable
from functools import cache
from typing import Any

from assistant.procedure.load import load_procedure
from assistant.procedure.mandatory import check
from assistant.procedure.model import Procedure

Data = dict[str, Any]


@cache
def _packaged() -> Data:
    return load_procedure().procedure.model_dump()


def packaged() -> Data:
    return copy.deepcopy(_packaged())


def wrong_with(data: Data) -> list[str]:
    return check(Procedure.model_validate(data))


def gate(data: Data, gate_id: str) -> Data:
    return next(g for g in data["gates"] if g["id"] == gate_id)


def acts(data: Data) -> list[Data]:
    return [act for stage in data["stages"] for act in stage["acts"]]


def act(data: Data, act_id: str) -> Data:
    return next(a for a in acts(data) if a["id"] == act_id)


def gate_acts(data: Data, gate_id: str) -> list[Data]:
    return [a for a in acts(data) if a["gate"] == gate_id]


def keep_acts(data: Data, wanted: Callable[[Data], bool]) -> None:
    for stage in data["stages"]:
        stage["acts"] = [a for a in stage["acts"] if wanted(a)]


def move_after(data: Data, moved: Data, act_id: str) -> None:
    """`moved` directly after the act `act_id`, in that act's stage."""
    keep_acts(data, lambda a: a is not moved)
    for stage in data["stages"]:
        for index, candidate in enumerate(stage["acts"]):
            if candidate["id"] == act_id:
                stage["acts"] = [*stage["acts"][: index + 1], moved, *stage["acts"][index + 1 :]]
                return
    raise AssertionError(f"no act '{act_id}'")


EDITS = ("drop", "move", "swap", "narrow", "unflag", "repeat")
NARROWER = (
    {"cooling": "fan"},
    {"heavy": False},
    {"job_kind": "shop"},
    {"preheat": False},
    {"halves": "hinged"},
)


def spoil(data: Data, edits: Iterable[tuple[str, int, int]]) -> None:
    """Edits at random: what, the number of an act, the number of another."""
    for what, one, other in edits:
        listed = acts(data)
        one_act, near = listed[one % len(listed)], listed[other % len(listed)]
        if what == "drop":
            keep_acts(data, lambda a, one=one_act: a is not one)
        elif what == "move" and near is not one_act:
            move_after(data, one_act, near["id"])
        elif what == "swap":
            one_text, other_text = dict(one_act), dict(near)
            one_act.clear(), near.clear()
            one_act.update(other_text), near.update(one_text)
        elif what == "narrow":
            one_act["when"] = {**one_act["when"], **NARROWER[other % len(NARROWER)]}
        elif what == "unflag":
            one_act["hazards"] = ()
        elif what == "repeat":
            move_after(data, {**one_act, "id": f"{one_act['id']}_{other}"}, near["id"])
