"""Snapshots of a session, fixed: what the screen tests draw. The people and belts are the orchard's own."""

from __future__ import annotations

import math
from dataclasses import replace

from assistant.view import (
    CurvePoint,
    GateView,
    Line,
    ReadingPoint,
    RecipeRow,
    StageView,
    TimerView,
    View,
)

_TITLES = (
    "Job", "Joint and template", "Recipe", "Make safe", "Thread", "Measure and cut", "Prepare ends", "Lay up",
    "Close and connect", "Set", "Run", "Release", "Isolate", "Unfasten", "Inspect", "Accept or redo",
    "Fit and return", "Keep",
)  # fmt: skip


def stages(now: int) -> tuple[StageView, ...]:
    """The eighteen stages of a shop job, standing at `now`; past the end: all done."""
    return tuple(
        StageView(
            title,
            "not needed"
            if title in ("Thread", "Fit and return")
            else "done"
            if i < now
            else "now"
            if i == now
            else "to come",
        )
        for i, title in enumerate(_TITLES)
    )


def curve() -> tuple[CurvePoint, ...]:
    """A made-up cycle: ramp of 150 s to 185 °C, held to 400 s, cooled to 700 s."""
    points = []
    for t in range(0, 701, 10):
        platen = 20 + 165 * min(t / 150, 1) if t < 400 else 185 * math.exp(-(t - 400) / 300)
        lag = 20 + 165 * min(max(t - 25, 0) / 150, 1) if t < 420 else 185 * math.exp(-(t - 420) / 300)
        points.append(CurvePoint(float(t), platen, platen - 2, min(lag, platen) - 4, max(lag, platen - 6)))
    return tuple(points)


RECIPE = (
    RecipeRow(
        "upper platen", "185 °C", "15 K over fusion of the cover, 20 K under its damage temperature", True
    ),
    RecipeRow("lower platen", "185 °C", "the stack is the same on both sides", True),
    RecipeRow(
        "dwell",
        "4 min 05 s",
        "sensor lag 15 s, colder edges 48 s, spread of properties 62 s, holding time 120 s",
        False,
    ),
    RecipeRow("pressure", "2.0 bar", "target on the belt 0.15 MPa over the plate", False),
    RecipeRow("release", "65 °C", "the cover is firm below 70 °C; 5 K for the gauge", False),
)
TALK = (
    Line("bench", "Good morning. Who is at the press?", 1.0),
    Line("you", "ada quint", 5.2, "voice"),
    Line("bench", "Ada Quint. Is the joint made in the shop, or on the conveyor?", 5.9),
    Line("you", "in the shop", 9.0, "voice"),
    Line("note", "heard 'radio in the yard': not for us", 14.0),
    Line("bench", "Thickness one point eight two millimetres. Is that right?", 21.0),
    Line("you", "no, one point nine two", 25.0, "typed"),
    Line("bench", "One point nine two millimetres, one nine two. Is that right?", 25.4),
    Line("you", "that is right", 28.0, "voice"),
)

_BASE = View(
    simulated=False,
    technician="Ada Quint",
    stages=stages(0),
    act_title="Name the belt",
    act_say="Which belt is it?",
    value="",
    value_label="",
    timers=(),
    gate=None,
    held="",
    finished="",
    conversation=TALK,
    recipe=(),
    curve=(),
    readings=(),
    run_s=None,
    can_say=("the belt's name", "what can I say", "why"),
    log_path="records/2031-05-04-quint.jsonl",
    ear="LISTENING",
)
JOB = _BASE
STEP = replace(
    _BASE,
    stages=stages(7),
    act_title="Mesh the fingers",
    act_say="Mesh both ends with no gap, same side up, then say done.",
    pedal=True,
    recipe=RECIPE,
    can_say=("done", "how", "why", "what next", "say again"),
    ear="SPEAKING",
)
GATE = replace(
    _BASE,
    stages=stages(8),
    act_title="Hands clear before air",
    act_say="Say the sentence when it is so.",
    gate=GateView(
        hazard="trapped fingers, parts thrown",
        sentence="everything is fastened and my hands are clear",
        cautions=(
            "Every fastener fully engaged, as the press manual says.",
            "A metre of belt under two bar is tonnes.",
            "Nobody else reaches for the press.",
        ),
    ),
    recipe=RECIPE,
    can_say=("the sentence", "why", "how", "what can I say"),
)
DWELL = replace(
    _BASE,
    simulated=True,
    stages=stages(10),
    act_title="Hold the heat",
    act_say="Dwell. Leave the press shut; I count.",
    value="185 °C",
    value_label="upper platen",
    timers=(TimerView("dwell", "dwell", 142.0, 245.0), TimerView("cycle", "cycle", 281.0, None)),
    recipe=tuple(replace(row, agreed=True) for row in RECIPE),
    curve=curve(),
    readings=(
        ReadingPoint("upper_reading", 60.0, 84.0, True),
        ReadingPoint("lower_reading", 90.0, 121.0, True),
        ReadingPoint("upper_reading", 160.0, 186.0, True),
        ReadingPoint("edge_reading", 220.0, 120.0, False),
    ),
    run_s=281.0,
    can_say=("how long left", "upper platen one eight five", "call the time", "burnt"),
)
HELD = replace(
    DWELL,
    held="you said 'smoke'. Use the press's own stop. I cannot stop it. Say 'go on' when it was a false alarm.",
    conversation=(*TALK, Line("alarm", "Use the press's own stop, and isolate if that is safe.", 300.0)),
    can_say=("go on", "how long left"),
    ear="HEARING YOU",
)
RECIPE_ACT = replace(
    _BASE,
    stages=stages(2),
    act_title="Agree the dwell",
    act_say="Dwell four minutes five. Is that right?",
    value="4 min 05 s",
    value_label="dwell",
    recipe=RECIPE,
    curve=curve(),
    can_say=("that is right", "no, four minutes", "why"),
)
INSPECTION = replace(
    _BASE,
    stages=stages(14),
    act_title="Measure over the joint",
    act_say="Thickness over the joint, left edge, in millimetres.",
    value="1.90 mm",
    value_label="beside the joint",
    recipe=tuple(replace(row, agreed=True) for row in RECIPE),
    curve=curve(),
    can_say=("one point nine", "undo", "why"),
    ear="TYPE ONLY",
    ear_note="No microphone: connect one and start again, or type. 'loopwright doctor' says more.",
)
FINISHED = replace(
    _BASE,
    simulated=True,
    stages=stages(18),
    act_title="Done",
    act_say="",
    finished="Accepted with a note: slight gloss on the upper face. Kept as 'tray belt on the hinged press'.",
    recipe=tuple(replace(row, agreed=True) for row in RECIPE),
    curve=curve(),
    can_say=(),
)
VIEWS = {
    "job": JOB,
    "step": STEP,
    "gate": GATE,
    "dwell": DWELL,
    "held": HELD,
    "recipe": RECIPE_ACT,
    "inspection": INSPECTION,
    "finished": FINISHED,
}
