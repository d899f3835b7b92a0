"""Moments of a real job by name, for sayings said there: the state as its log left it, and the reply to a saying."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache

from at_the_press import bench, recorded

from assistant.procedure import decide
from assistant.procedure.events import parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.sayable import sayable
from assistant.procedure.state import State
from assistant.procedure.turn import Turn
from intents.match import understand
from intents.meaning import Heard, Sayable, Understood, Way

MOMENTS = {
    "summary": ("demo", "sheet"), "agree_upper": ("demo", "agree_upper"), "agree_dwell": ("demo", "agree_dwell"),
    "gate": ("guided", "gate_conveyor_dead"), "step": ("demo", "clean_ends"), "length": ("demo", "measured_length"),
    "second_try": ("demo", "enough_belt"), "set_upper": ("demo", "set_upper"), "pressure": ("demo", "pressure_on"),
    "heat_on": ("demo", "heat_on"), "ramp": ("demo", "ramp"), "dwell": ("demo", "dwell"), "cold": ("demo", "upper_cold"),
    "cold_gate": ("demo", "gate_cold_inside"), "vent_heard": ("demo", "vent_heard"), "look": ("demo", "upper_face"),
    "measure": ("demo", "joint_width"), "decide": ("demo", "decide"), "keep": ("demo", "keep"),
}  # fmt: skip
"""By name: whose job, and the act that is asked for."""
ANSWERED_S = 3.0
WALL = "2026-11-25T16:10:00.000+01:00"


@cache
def moment(name: str) -> State:
    """The state in which the act of that name has just been asked for and put."""
    script, act = MOMENTS[name]
    state, there = State(), False
    for raw, kind, whole in recorded(script):
        line = json.loads(raw)
        if there and kind not in ("said", "question_put"):
            break
        state = evolve(state, parse_event(line["event"]), line["t"])
        there = there or (whole and state.act == act)
    return state


@dataclass(frozen=True)
class Answered:
    understood: Understood
    turn: Turn
    reply: str


@cache
def _sayable(name: str) -> Sayable:
    state = moment(name)
    return sayable(bench().rules, state, state.t_s + ANSWERED_S)


def heard(name: str, text: str, way: Way) -> Heard:
    """`text` well heard, `ANSWERED_S` after the question of that moment."""
    now_s = moment(name).t_s + ANSWERED_S
    return Heard(text, way, now_s - 1.0, now_s, engine="test")


def meant(name: str, text: str, way: Way = "typed") -> Understood:
    """What `text` means at that moment."""
    return understand(heard(name, text, way), _sayable(name), bench().book)


def say(name: str, text: str) -> Answered:
    """What `text`, typed at that moment, means, does and is answered with."""
    state, understood = moment(name), meant(name, text)
    now_s = state.t_s + ANSWERED_S
    turn = decide.hear(bench().rules, state, heard(name, text, "typed"), understood, now_s, WALL)
    return Answered(understood, turn, " ".join(utter.text for utter in turn.say))
