"""A whole session as its events, told at our orchard co-operative, and its sealed log."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.procedure.events import parse_event
from assistant.record.log import LogWriter
from assistant.record.seal import seal
from assistant.record.stamp import Stamp

ZERO_K = 273.15


def stamp_at(t_s: float) -> Stamp:
    hours, rest = divmod(t_s, 3600)
    minutes, seconds = divmod(rest, 60)
    wall = f"2026-11-25T{14 + int(hours):02d}:{int(minutes):02d}:{seconds:06.3f}+01:00"
    return Stamp(t_s, wall, 5000.0 + t_s, "0badcafe")


def taken(slot: str, value: float | str, said: str = "", way: str = "voice") -> dict[str, Any]:
    return {"kind": "value_taken", "slot": slot, "value": value, "said": said, "way": way}


def heard(text: str, understood: str, way: str = "voice", **more: Any) -> dict[str, Any]:
    whole = {
        "verified": True,
        "gate_grade": way != "voice",
        "sureness": -0.21 if way == "voice" else None,
        "engine": "ear",
    }
    return (
        {"kind": "heard", "text": text, "way": way, "began_s": 1.0, "ended_s": 2.0, "understood": understood}
        | whole
        | more
    )


def gate(
    name: str, hazard: str, sentence: str, person: str, way: str = "voice", facts: tuple[str, ...] = ()
) -> list[dict[str, Any]]:
    act = f"gate_{name}"
    return [
        {"kind": "gate_asked", "gate": name, "act": act, "hazard": hazard, "sentence": sentence},
        {"kind": "question_put", "question": f"gate:{act}"},
        {
            "kind": "gate_closed", "gate": name, "act": act, "sentence": sentence, "way": way, "heard": sentence,
            "sureness": -0.18 if way == "voice" else None, "engine": "ear", "person": person, "facts": list(facts),
        },
    ]  # fmt: skip


def curve() -> list[list[float]]:
    rows = []
    for t_s in range(0, 1000, 10):
        platen = min(185.0, 20 + t_s * 0.9) if t_s < 420 else max(30.0, 185 - (t_s - 420) * 0.32)
        inside = platen - 25 * (2.718 ** (-t_s / 120)) if t_s < 420 else platen + min(20.0, (t_s - 420) / 8)
        rows.append([float(t_s), platen, platen - 1.5, max(20.0, inside - 3), inside])
    return rows


RECIPE = {
    "upper_temperature": 185 + ZERO_K, "lower_temperature": 185 + ZERO_K, "dwell": 240.0, "pressure": 2.0e5,
    "release_temperature": 70 + ZERO_K,
}  # fmt: skip


def reading(
    slot: str, degC: float, since_s: float, plausible: bool = True, sentence: str = "As predicted."
) -> dict[str, Any]:
    return {
        "kind": "reading", "slot": slot, "value": degC + ZERO_K, "since_heat_s": since_s, "plausible": plausible,
        "sentence": sentence,
    }  # fmt: skip


@pytest.fixture(scope="session")
def appends() -> list[tuple[float, list[dict[str, Any]]]]:
    """(session seconds, events written together), without closing line and seal."""
    reasons = {
        "upper_temperature": "Covers fuse at 165 °C; the edges of the platen are 4 K colder.",
        "dwell": "Fusion, lag and edges.",
    }
    results = {
        "values": RECIPE, "computed": RECIPE, "reasons": reasons, "curve": curve(), "warnings": ["The lead is long."],
        "dwell_items": [["fusion of the coldest point", 31.0, "x"], ["colder edges", 88.5, "y"], ["holding time", 120.5, "z"]],
    }  # fmt: skip
    hand = ["It is damp.", "Ana <b>bold</b> & Söhne"]
    story: list[tuple[float, list[dict[str, Any]]]] = [
        (0.0, [{"kind": "opened", "session": "2026-11-25-1400-a1b2", "program": "loopwright", "version": "0.1.0",
                "procedure": "splice", "digests": {"procedure": "ab" * 32}, "simulated": False}]),
        (5.0, [heard("nora", "value"), taken("technician", "Nora", "nora"), taken("job_kind", "shop", "in the shop")]),
        (9.0, [taken("belt", "orchard_flat_2"), taken("press", "hinged_300"), taken("belt_width", 0.045, "forty five")]),
        (20.0, [{"kind": "value_refused", "slot": "belt_width", "value": 4.5, "said": "4500 mm", "reason": "No belt is 4500 mm wide."}]),
        (25.0, [{"kind": "value_offered", "slot": "belt_thickness", "value": 0.018, "said": "one eight", "way": "voice"}]),
        (28.0, [{"kind": "value_offered", "slot": "belt_thickness", "value": 0.0018, "said": "one point eight", "way": "voice"}]),
        (31.0, [taken("belt_thickness", 0.0018, "one point eight")]),
        (40.0, [{"kind": "computed", "topic": "recipe", "inputs": {}, "results": results}]),
        (60.0, [taken(slot, value, "that is right") for slot, value in RECIPE.items() if slot != "dwell"] + [taken("dwell", 300.0, "five minutes")]),
        (70.0, [{"kind": "skip_refused", "words": "just do it", "count": 1, "at": "gate_workplace_fit"}]),
        (75.0, [{"kind": "gate_refused", "gate": "workplace_fit", "heard": "yes", "reason": "A yes alone is not the sentence."}]),
        (80.0, gate("workplace_fit", "Fumes, a wet floor.", "the air is moving and my gloves are on", "Nora")),
        (300.0, [{"kind": "handed_over", "giver": "Nora", "taker": "Ilse"}]),
        (310.0, gate("closed", "Trapped fingers.", "everything is fastened and my hands are clear", "Ilse", "typed")),
        (320.0, [taken("shown_upper_temperature", 185 + ZERO_K, "one eight five"), taken("shown_dwell", 300.0, "300")]),
        (330.0, [{"kind": "run_marked", "mark": "heat_on"}, {"kind": "timer_started", "name": "ramp", "deadline_s": None, "total_s": None}]),
        (450.0, [reading("upper_reading", 128, 120.0), reading("lower_reading", 61, 120.0, False, "67 K under what is expected.")]),
        (520.0, [{"kind": "run_marked", "mark": "at_set"}, {"kind": "timer_ended", "name": "ramp"},
                 {"kind": "timer_started", "name": "dwell", "deadline_s": 820.0, "total_s": 300.0}]),
        (600.0, [{"kind": "torn_tail", "cut_bytes": 17}, {"kind": "resumed", "gap_s": 31.0, "note": ""}, {"kind": "clock_noted", "text": "The clock was set back by 30 s."}]),
        (640.0, [{"kind": "danger", "words": "smoke"}, {"kind": "false_alarm"}, {"kind": "held", "reason": "Fetching a cloth."}, {"kind": "released"}]),
        (820.0, [{"kind": "timer_called", "name": "dwell", "mark_s": 0}, {"kind": "timer_ended", "name": "dwell"}, {"kind": "run_marked", "mark": "cool_on"}]),
        (1200.0, [reading("upper_reading", 66, 870.0), reading("lower_reading", 65, 871.0), reading("edge_reading", 68, 872.0)]),
        (1205.0, gate("cold_inside", "Burns, a burst joint.", "it is cold and i am letting the pressure out", "Ilse", "voice",
                      ("upper 66 °C, lower 65 °C", "computed inside 69 °C"))),
        (1210.0, [{"kind": "run_marked", "mark": "vented"}, {"kind": "gate_rearmed", "gate": "dead_and_empty", "act": "gate_dead", "reason": "the session was taken up again"}]),
        (1500.0, [{"kind": "inspected", "item": "upper_face", "finding": "nothing", "severity": "pass", "sentence": "Closed."},
                  {"kind": "inspected", "item": "joint_width", "finding": 0.0456, "severity": "cosmetic", "sentence": "0.6 mm wider than beside."}]),
        (1510.0, [{"kind": "deviation", "person": "Olga", "reason": "Thermometer was away."}, *({"kind": "noted", "text": t} for t in hand),
                  {"kind": "noted", "text": "\x1b]0;title\x07 \u202egnp.exe <script>alert(1)</script> [bold]x[/bold]"}]),
        (1520.0, [{"kind": "decided", "outcome": "accepted with a note", "note": "a little wide", "causes": ["channel too wide"]},
                  {"kind": "kept", "name": "flat 45 <i>hinged</i>"}]),
    ]  # fmt: skip
    for _, events in story:
        for event in events:
            parse_event(event)  # the story must be told in real entries
    return story


@pytest.fixture(scope="session")
def key() -> Ed25519PrivateKey:
    return Ed25519PrivateKey.from_private_bytes(bytes(range(32)))


def write_session(
    path: Path,
    appends: list[tuple[float, list[dict[str, Any]]]],
    key: Ed25519PrivateKey | None,
    *,
    simulated: bool = False,
) -> Path:
    """The log of `appends`, closed, and sealed where a key is given."""
    (t_s, [opening]), *rest = appends
    with LogWriter.create(path, opening | {"simulated": simulated}, stamp_at(t_s)) as writer:
        for t_s, events in rest:
            writer.append(events, stamp_at(t_s))
        writer.append(
            [{"kind": "closed", "outcome": "accepted with a note", "count": writer.count}], stamp_at(1530.0)
        )
        if key is not None:
            seal(writer, key, stamp_at(1531.0), simulated=simulated)
    return path


@pytest.fixture
def write(appends: Any, key: Ed25519PrivateKey) -> Any:
    """write(path, simulated=False, sealed=True): the session on disk."""

    def _write(path: Path, *, simulated: bool = False, sealed: bool = True) -> Path:
        return write_session(path, appends, key if sealed else None, simulated=simulated)

    return _write


@pytest.fixture
def sealed(write: Any, tmp_path: Path) -> Path:
    path: Path = write(tmp_path / "log.jsonl")
    return path
