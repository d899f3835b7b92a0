"""The safety rules once more, as a small model beside the program: it reads only the log, the procedure's data
files and what was put in, and shares no code with `decide`, `gates` or `evolve`.

The computed inside is the one thing taken from the program, because it has its own checks.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from pathlib import Path
from typing import Any

import assistant.procedure
from assistant.bench.catalogue import load_catalogue
from assistant.bench.job import Job
from assistant.bench.sheet import build_job
from assistant.procedure.state import Reading
from assistant.recipe.during import Timeline, inside_now
from assistant.recipe.outcome import Given, Recipe
from assistant.recipe.recipe import compute_recipe

DATA = Path(assistant.procedure.__file__).parent / "data" / "splice"

# gate -> (re-armed by, hazard lasts until this stage, or until an act with this hazard is done)
# class: common practice, no published source -- rules of locking out and of handling hot parts
TABLE: dict[str, tuple[set[str], str, str | None]] = {
    "conveyor_dead": ({"person", "resume", "back"}, "return", "locks_off"),
    "energy_released": ({"person", "resume", "back"}, "return", "locks_off"),
    "workplace_fit": ({"person", "back"}, "unfasten", None),
    "blade": ({"each"}, "ends", None),
    "lifting": ({"each"}, "unfasten", None),
    "leads_sound": ({"person", "resume", "back"}, "isolate", None),
    "closed": ({"resume", "back", "unfastened"}, "run", "start"),
    "values_agree": ({"value_changed"}, "run", None),
    "cold_inside": ({"hotter_reading", "resume"}, "release", "vent"),
    "dead_and_empty": ({"resume", "reconnect"}, "unfasten", None),
    "hot_parts": ({"each"}, "unfasten", None),
    "guards": ({"person", "back"}, "return", None),
    "own_lock": ({"person"}, "return", None),
}
# What a gate may be asked in besides the sentence that the procedure has chosen, in the order of asking.
# class: common practice, no published source -- what each gate is about, in other words
OTHER_WORDINGS: dict[str, tuple[str, ...]] = {
    "conveyor_dead": ("the conveyor is locked and it does not start",),
    "energy_released": ("the tension is gone and the belt is blocked",),
    "workplace_fit": (
        "there is fresh air and i am wearing gloves and glasses",
        "the air is moving and my gloves and glasses are on",
    ),
    "blade": ("both my hands are well behind the knife",),
    "lifting": ("two of us will lift this part together",),
    "leads_sound": ("all the leads are dry and none is damaged",),
    "closed": (
        "the press is closed and my hands are clear",
        "every fastener is closed and my hands are clear",
    ),
    "values_agree": ("the display shows the same values as the list",),
    "cold_inside": (
        "it is cold enough and i will release the pressure",
        "it is cold inside and i will let the pressure out",
    ),
    "dead_and_empty": ("the plug is in my hand and the gauge is at zero",),
    "hot_parts": ("the plates are hot and my hot gloves are on",),
    "guards": ("the guards are on and everyone is clear",),
    "own_lock": ("i have taken my own lock off the conveyor",),
}
ZERO_Pa = 2000.0  # class: common practice, no published source -- the smallest division of a gauge
READ_s = 0.7  # class: common practice, no published source -- nobody reads a sentence sooner
RECIPE = ("upper_temperature", "lower_temperature", "dwell", "pressure", "release_temperature", "preheat_temperature", "preheat_time")  # fmt: skip


@cache
def acts() -> tuple[tuple[str, dict[str, Any]], ...]:
    """Stage and act, in order, straight from the files."""
    found: list[tuple[str, dict[str, Any]]] = []
    for path in sorted(DATA.glob("[0-9]*.toml")):
        stage = tomllib.loads(path.read_text("utf-8"))
        found += [(stage["id"], act) for act in stage["acts"]]
    return tuple(found)


@cache
def applying(traits: tuple[tuple[str, Any], ...]) -> tuple[tuple[str, dict[str, Any]], ...]:
    """Those that a job with these traits has."""
    known = dict(traits)
    return tuple(
        (stage, act)
        for stage, act in acts()
        if all(known.get(trait) == value for trait, value in act.get("when", {}).items())
    )


@cache
def places() -> dict[str, int]:
    """By act: where it stands."""
    return {act["id"]: place for place, (_, act) in enumerate(acts())}


@cache
def with_hazard(hazard: str) -> frozenset[str]:
    """The acts that have this hazard."""
    return frozenset(act["id"] for _, act in acts() if hazard in act.get("hazards", ()))


@cache
def gate_acts() -> dict[str, str]:
    """Gate act to gate."""
    return {act["id"]: act["gate"] for _, act in acts() if act["kind"] == "gate"}


@cache
def stages() -> tuple[str, ...]:
    return tuple(dict.fromkeys(stage for stage, _ in acts()))


@cache
def sentences() -> dict[str, str]:
    return {g["id"]: g["sentence"] for g in tomllib.loads((DATA / "gates.toml").read_text("utf-8"))["gates"]}


def every_wording(gate: str) -> tuple[str, ...]:
    """The sentence that the procedure has chosen, then the others."""
    return (sentences()[gate], *OTHER_WORDINGS[gate])


@cache
def job_and_recipe(values: tuple[tuple[str, Any], ...]) -> tuple[Job, Recipe]:
    """From the values that count, all of the recipe's taken as given."""
    known = dict(values)
    job = build_job({**known, "technician": "-"}, load_catalogue(None))
    assert isinstance(job, Job)
    recipe = compute_recipe(job, Given(**{slot: float(known[slot]) for slot in RECIPE if slot in known}))
    assert isinstance(recipe, Recipe)
    return job, recipe


def bare(text: str) -> str:
    """Only the words."""
    return " ".join(re.findall(r"[a-z]+", text.lower().replace("'", "")))


@dataclass(frozen=True)
class Put:
    """What was put in in one step. text None: time, a resume, nothing said."""

    text: str | None = None
    way: str = ""
    began_s: float = 0.0
    clear: bool = True  # heard well enough for a gate, or typed
    resumed: bool = False
    against: bool = False  # another text, as likely, turns the sentence round


@dataclass
class Model:
    """What the log says, line by line; `wrong` collects every broken rule in a sentence."""

    traits: Mapping[str, Any]  # of the job, without what the recipe brings
    done: set[str] = field(default_factory=set)
    closed_at: dict[str, int] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    recipe: dict[str, float] = field(default_factory=dict)
    marks: dict[str, float] = field(default_factory=dict)
    readings: list[dict[str, Any]] = field(default_factory=list)
    asked: tuple[str, str] | None = None  # gate and act
    wordings: list[str] = field(default_factory=list)  # those put since it was asked, the latest last
    wording: str = ""  # the one asked now, put or not
    waits: bool = False  # something must stand before its sentence is asked for
    shown_s: float | None = None
    said_s: float | None = None
    held: bool = False
    danger: bool = False
    skips: int = 0
    timers: dict[str, float | None] = field(default_factory=dict)
    called: set[tuple[str, int]] = field(default_factory=set)
    heard_vent_s: float | None = None
    over: bool = False
    taken_over: int = 0  # hand-overs
    unchecked: list[tuple[float, float]] = field(
        default_factory=list
    )  # from and to, by a clock nothing checks
    broken_off: bool = False  # in this step the cycle was found broken off
    wrong: list[str] = field(default_factory=list)

    def read(self, lines: Iterable[bytes], put: Put | None) -> None:
        """Reads the lines that a step has added; `put` None: a recording, whose inputs are not known."""
        self.follow((json.loads(raw) for raw in lines), put)

    def copy(self) -> Model:
        """As it stands, on its own."""
        return replace(
            self,
            **{
                each.name: getattr(self, each.name).copy()
                for each in fields(self)
                if isinstance(getattr(self, each.name), set | dict | list)
            },
        )

    def follow(self, lines: Iterable[Mapping[str, Any]], put: Put | None) -> None:
        """The same with the lines' objects."""
        self.broken_off = False
        for line in lines:
            self._event(line["event"], float(line["t"]), put)

    # -- what applies, what stands before what

    def listed(self) -> tuple[tuple[str, dict[str, Any]], ...]:
        """Stage and act, in order, of those that apply."""
        traits = dict(self.traits)
        if "job_kind" in self.values:  # both may be changed while there is a recipe
            traits["job_kind"] = self.values["job_kind"]
        if "new_pair" in self.values:
            traits["new_pair"] = self.values["new_pair"] == "yes"
        if self.recipe:
            traits["preheat"] = "preheat_temperature" in self.recipe
            traits["asymmetric"] = self.recipe["upper_temperature"] != self.recipe["lower_temperature"]
        return applying(tuple(sorted(traits.items())))

    def current(self) -> tuple[str, dict[str, Any]] | None:
        return next(((s, a) for s, a in self.listed() if a["id"] not in self.done), None)

    def open_before(self, act_id: str) -> list[str]:
        """Gate acts that stand before `act_id` and are open."""
        missing = []
        for _, act in self.listed():
            if places()[act["id"]] >= places()[act_id]:
                break
            if act["kind"] == "gate" and act["id"] not in self.done:
                missing.append(act["id"])
        return missing

    def hazard_stands(self, gate: str) -> bool:
        if self.current() is None:
            return False
        # A gate that was opened again does not tell how far the job has come.
        to_do = (s for s, a in self.listed() if a["kind"] != "gate" and a["id"] not in self.done)
        stage = next(to_do, stages()[-1])
        _, until, until_hazard = TABLE[gate]
        past = until_hazard is not None and not self.done.isdisjoint(with_hazard(until_hazard))
        return stages().index(stage) <= stages().index(until) and not past

    def closed_gates(self) -> dict[str, str]:
        """Gate act to gate, of those closed now."""
        return {act: gate for act, gate in gate_acts().items() if act in self.done}

    # -- one event

    def _event(self, event: Mapping[str, Any], t_s: float, put: Put | None) -> None:
        match event["kind"]:
            case "value_taken":
                self.values[event["slot"]] = event["value"]
                if event["slot"] == "vent_heard":
                    self.heard_vent_s = t_s
            case "value_dropped":
                self.values.pop(event["slot"], None)
            case "computed":
                if event["topic"] == "recipe":
                    self.recipe = event["results"].get("values", {})
            case "act_done":
                self._act_done(event, put)
            case "gate_asked":
                self.asked, self.shown_s, self.said_s = (event["gate"], event["act"]), None, None
                self.wordings, self.wording, self.waits = [], event["sentence"], bool(event["not_yet"])
                first = sentences()[event["gate"]]
                self._must(self.wording == first, f"'{event['act']}' was asked first as '{self.wording}'")
            case "question_put" if self.asked and event["question"] == f"gate:{self.asked[1]}":
                self.shown_s = t_s if event["how"] in ("shown", "both") else self.shown_s
                self.said_s = t_s if event["how"] in ("said", "both") else self.said_s
                self.wordings = [w for w in self.wordings if w != self.wording] + [self.wording]
            case "gate_refused":
                self._asked_in_other_words(event.get("ask_next", ""), put)
                self.shown_s = self.said_s = None
            case "gate_closed":
                self._gate_closed(event, t_s, put)
            case "gate_rearmed":
                self.done.discard(event["act"])
                self.asked = None
            case "went_back":
                self.done -= set(event["acts"])
                self.asked = None
            case "act_entered" | "resumed" | "handed_over":
                self.asked = None
                if event.get("unchecked"):
                    self.unchecked.append((t_s - event["gap_s"], t_s))
                self.taken_over += event["kind"] == "handed_over"
            case "interrupted":
                self.broken_off = True
            case "reading":
                self.readings.append({**event, "t": t_s})
            case "run_marked":
                self._marked(event["mark"], t_s)
            case "held" | "danger":
                self.held, self.danger = True, self.danger or event["kind"] == "danger"
            case "released" | "false_alarm":
                self.held = self.danger = False
            case "skip_refused":
                self.skips += 1
                self._must(
                    event["count"] == self.skips, f"refusal {self.skips} was counted as {event['count']}"
                )
            case "timer_started":
                self.timers[event["name"]] = event["deadline_s"]
                self.called = {c for c in self.called if c[0] != event["name"]}
            case "timer_called":
                call = (event["name"], event["mark_s"])
                self._must(call not in self.called, f"{call} was called out twice")
                self.called.add(call)
            case "timer_ended":
                self.timers.pop(event["name"], None)
            case "closed":
                self.over = True

    def _must(self, so: bool, otherwise: str) -> None:
        if not so:
            self.wrong.append(otherwise)

    def _act_done(self, event: Mapping[str, Any], put: Put | None) -> None:
        act = event["act"]
        stage, kind = next((stage, a["kind"]) for stage, a in acts() if a["id"] == act)
        self._must(kind != "gate", f"gate act '{act}' was done without its sentence")
        # Timers go on whatever is open, and what is left of a broken heating is not waited for: it cools.
        left = self.broken_off and event["by"] == "known" and stage == "run" and kind in ("timer", "reading")
        if event["by"] != "timer" and not left:
            self._must(
                not self.open_before(act), f"'{act}' was done while {self.open_before(act)} stood open"
            )
            self._must(not self.held, f"'{act}' was done while held")
        if event["by"] == "key":
            self._must(kind == "step", f"the key did '{act}', a {kind}")
        if put is not None and put.way == "key" and event["by"] not in ("key", "known", "timer"):
            self._must(False, f"the key did '{act}' by {event['by']}")
        self.done.add(act)

    def _marked(self, mark: str, t_s: float) -> None:
        self.marks[mark] = t_s
        if mark == "vented":
            self.heard_vent_s = None
            self.values.pop("vent_heard", None)

    def _gate_closed(self, event: Mapping[str, Any], t_s: float, put: Put | None) -> None:
        gate, act = event["gate"], event["act"]
        self._must(self.asked == (gate, act), f"'{act}' closed while {self.asked} was asked")
        self._must(not self.held, f"'{act}' closed while held")
        self._must(not self.open_before(act), f"'{act}' closed while {self.open_before(act)} stood open")
        said = event["sentence"]
        self._must(said in self.wordings, f"'{act}' closed by '{said}', which was not put")
        self._must(said in every_wording(gate), f"'{act}' closed by '{said}', which is not its own")
        self._must(bare(event["heard"]) == said, f"'{act}' closed by '{event['heard']}'")
        self._must(event["way"] in ("typed", "voice"), f"'{act}' closed by {event['way']}")
        if put is not None:
            put_s = self.said_s if put.way == "voice" else self.shown_s
            self._must(put.text is not None and bare(put.text) == said, f"'{act}' closed by {put}")
            self._must(not put.against, f"'{act}' closed although it may have been turned round: {put}")
            self._must(put.clear and put.way in ("typed", "voice"), f"'{act}' closed by {put}")
            self._must(
                put_s is not None and put.began_s > put_s, f"'{act}' closed by an answer before its question"
            )
            read_s = READ_s if put.way == "typed" else 0.0
            self._must(
                put_s is not None and put.began_s >= put_s + read_s,
                f"'{act}' closed sooner than it can be read",
            )
        if gate == "cold_inside":
            self._cold(act, t_s)
        if gate == "dead_and_empty":
            self._dead(act)
        self.done.add(act)
        self.asked = None

    def _asked_in_other_words(self, wording: str, put: Put | None) -> None:
        """Only after a spoken answer that was clear, to a question that had been said; one wording after the other."""
        if not wording or self.asked is None:
            self._must(not wording, f"'{wording}' was asked for no gate")
            return
        gate, act = self.asked
        every = every_wording(gate)
        after = every[(every.index(self.wording) + 1) % len(every)]
        self._must(wording == after, f"'{act}' was asked as '{wording}', not as '{after}'")
        self._must(not self.waits, f"'{act}' was asked in other words while something must stand first")
        if put is not None:
            clear = put.way == "voice" and put.clear and self.said_s is not None and put.began_s > self.said_s
            self._must(clear, f"'{act}' was asked in other words after {put}")
        self.wording = wording

    def _cold(self, act: str, t_s: float) -> None:
        release, cool_s = self.values.get("release_temperature"), self.marks.get("cool_on")
        if release is None or cool_s is None:
            self.wrong.append(f"'{act}' closed before cooling")
            return
        for slot in ("upper_reading", "lower_reading", "edge_reading"):
            known_s = max([cool_s, *(until_s for _, until_s in self.unchecked)])
            since = [r for r in self.readings if r["slot"] == slot and r["t"] >= known_s]
            if not since and slot == "edge_reading":
                continue
            self._must(bool(since), f"'{act}' closed without a reading of {slot} since cooling began")
            if since:
                self._must(since[-1]["plausible"], f"'{act}' closed on a reading that can't be")
                self._must(since[-1]["value"] <= release + 1e-6, f"'{act}' closed at {since[-1]['value']} K")
        hottest_K = self.inside_K(t_s)
        self._must(hottest_K <= release + 1e-6, f"'{act}' closed at {hottest_K} K inside")

    def inside_K(self, t_s: float) -> float:
        """The upper end of the hottest point inside, computed afresh from what the log says."""
        job, recipe = job_and_recipe(
            tuple(sorted((k, v) for k, v in self.values.items() if k != "technician"))
        )

        def surely_s(at_s: float) -> float:  # an unchecked time may have been none
            return at_s - sum(
                min(at_s, until_s) - from_s for from_s, until_s in self.unchecked if at_s > from_s
            )

        line = Timeline(self.marks["heat_on"], self.marks.get("at_set"), surely_s(self.marks["cool_on"]))
        readings = [
            Reading(r["slot"], r["value"], surely_s(r["t"]), r["plausible"], "") for r in self.readings
        ]
        return inside_now(job, recipe, line, readings, surely_s(t_s)).hottest_upper_K

    def _dead(self, act: str) -> None:
        vented_s = self.marks.get("vented")
        if vented_s is None:
            self.wrong.append(f"'{act}' closed before the pressure was let out")
            return
        gauges = [r for r in self.readings if r["slot"] == "gauge_reading" and r["t"] >= vented_s]
        self._must(bool(gauges) and gauges[-1]["value"] <= ZERO_Pa, f"'{act}' closed with {gauges[-1:]}")
        self._must(
            self.values.get("vent_heard") == "yes"
            and self.heard_vent_s is not None
            and self.heard_vent_s >= vented_s,
            f"'{act}' closed although nobody heard the vent",
        )
        for needed in ("controller_off", "plug_out", "air_off"):
            self._must(needed in self.done, f"'{act}' closed before '{needed}'")
