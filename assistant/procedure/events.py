"""Everything that can have happened in a session. The log is these, in order; the state is their fold.

Values are SI (K, s, Pa, m) or a choice's key or words. The session stamps the time; no event holds a clock.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from assistant.procedure.model import GateId

Value = float | str
Way = Literal["voice", "typed", "key", "file"]
Mark = Literal["heat_on", "at_set", "cool_on", "vented"]
ANSWERED = "answered"  # put instead of a question's key where a turn ends in an answer: it opens no question
TimerName = Literal["preheat", "ramp", "dwell", "cool"]
Cause = Literal["", "unknown", "went_on", "power", "pressure", "opened"]
Outcome = Literal["accepted", "accepted with a note", "cut out and redo", "stopped"]


class _Event(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Opened(_Event):
    """First line of every log. mark: the bench's signature over the rest of it; '' where there is none.

    learned: what past sessions had taught of each press by then, as in its file, so that the session goes on with
    the same values whatever is learned meanwhile; None in a log from before this was kept.
    """

    kind: Literal["opened"] = "opened"
    session: str
    program: str
    version: str
    procedure: str
    digests: dict[str, str]
    simulated: bool
    previous_head: str | None = None  # head digest of the session before, so that it leaves its own file
    learned: dict[str, dict[str, Any]] | None = None
    signed_appends: bool = False  # the last line of every append carries the bench's signature
    mark: str = ""


class HeardWords(_Event):
    """An utterance and what was made of it."""

    kind: Literal["heard"] = "heard"
    text: str
    way: Way
    began_s: float
    ended_s: float
    verified: bool
    gate_grade: bool
    sureness: float | None = None
    alternatives: tuple[str, ...] = ()
    scores: tuple[float, ...] = ()
    place: int = 0  # of the text that was understood: 0 the first, 1 the first of the alternatives
    engine: str = ""
    why_not: str = ""
    understood: str  # intent, 'asked back', or why it was dropped


class Said(_Event):
    kind: Literal["said"] = "said"
    text: str
    rank: Literal["alarm", "prompt", "chat"]


class QuestionPut(_Event):
    """The question stands on the screen, or has been said to its end; both at once where nothing speaks.

    Typed answers count from when it was shown, spoken ones from when it had been said.
    """

    kind: Literal["question_put"] = "question_put"
    question: str
    how: Literal["shown", "said", "both"] = "both"


class ValueOffered(_Event):
    """Given, and waiting to be confirmed after being read back."""

    kind: Literal["value_offered"] = "value_offered"
    slot: str
    value: Value
    said: str
    way: Way


class ValueTaken(_Event):
    """Counts from now on."""

    kind: Literal["value_taken"] = "value_taken"
    slot: str
    value: Value
    said: str
    way: Way


class ValueRefused(_Event):
    kind: Literal["value_refused"] = "value_refused"
    slot: str
    value: Value | None
    said: str
    reason: str


class ValueDropped(_Event):
    """Taken back, before or after it counted."""

    kind: Literal["value_dropped"] = "value_dropped"
    slot: str


class Option(BaseModel):
    """One way in which an utterance can have been meant."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    intent: str
    slot: str | None
    value: Value | None
    said: str


class AskedBack(_Event):
    """Understood in more ways than one; the person is asked which. An empty question: settled."""

    kind: Literal["asked_back"] = "asked_back"
    question: str
    options: tuple[Option, ...] = ()


class ActEntered(_Event):
    kind: Literal["act_entered"] = "act_entered"
    stage: str
    act: str


class ActDone(_Event):
    """Done or passed. by 'known': nothing had to be asked."""

    kind: Literal["act_done"] = "act_done"
    act: str
    by: Way | Literal["known", "timer"]


class WentBack(_Event):
    """These acts are to be done again. why 'back': the person asked; 'change': a value changed;
    'interrupted': the cycle was broken off."""

    kind: Literal["went_back"] = "went_back"
    acts: tuple[str, ...]
    why: Literal["back", "change", "interrupted"]


class GateAsked(_Event):
    kind: Literal["gate_asked"] = "gate_asked"
    gate: GateId
    act: str
    hazard: str
    sentence: str
    not_yet: tuple[str, ...] = ()  # what must stand first; while there is any, the sentence is not asked for


class GateClosed(_Event):
    """Only from a wording of the gate's own that was asked; the evidence stands beside it. sentence: the wording said."""

    kind: Literal["gate_closed"] = "gate_closed"
    gate: GateId
    act: str
    sentence: str
    way: Literal["voice", "typed"]
    heard: str
    sureness: float | None
    engine: str
    person: str
    facts: tuple[str, ...] = ()  # readings and the computed inside it rests on


class GateRefused(_Event):
    """ask_next: the approved wording in which the gate is asked from now on; '' for the same, as in older logs."""

    kind: Literal["gate_refused"] = "gate_refused"
    gate: GateId
    heard: str
    reason: str
    ask_next: str = ""


class GateRearmed(_Event):
    kind: Literal["gate_rearmed"] = "gate_rearmed"
    gate: GateId
    act: str
    reason: str


class SkipRefused(_Event):
    kind: Literal["skip_refused"] = "skip_refused"
    words: str
    count: int
    at: str  # act or gate


class Computed(_Event):
    kind: Literal["computed"] = "computed"
    topic: str
    inputs: dict[str, Any]
    results: dict[str, Any]


class TimerStarted(_Event):
    """deadline_s in session seconds; None: counts up until told."""

    kind: Literal["timer_started"] = "timer_started"
    name: TimerName
    deadline_s: float | None
    total_s: float | None


class TimerCalled(_Event):
    kind: Literal["timer_called"] = "timer_called"
    name: TimerName
    mark_s: int  # seconds left that were called out; 0: done


class TimerEnded(_Event):
    kind: Literal["timer_ended"] = "timer_ended"
    name: TimerName


class RunMarked(_Event):
    kind: Literal["run_marked"] = "run_marked"
    mark: Mark


class ReadingTaken(_Event):
    kind: Literal["reading"] = "reading"
    slot: str
    value: float
    since_heat_s: float | None
    plausible: bool
    sentence: str


class Inspected(_Event):
    kind: Literal["inspected"] = "inspected"
    item: str
    finding: Value  # as looked or measured: a choice's key or SI
    found: str = "nothing"  # key of the defect it shows
    severity: Literal["pass", "cosmetic", "fail"]
    sentence: str


class Decided(_Event):
    kind: Literal["decided"] = "decided"
    outcome: Outcome
    note: str = ""
    causes: tuple[str, ...] = ()


class Kept(_Event):
    """name None: not kept."""

    kind: Literal["kept"] = "kept"
    name: str | None


class Held(_Event):
    kind: Literal["held"] = "held"
    reason: str


class Released(_Event):
    kind: Literal["released"] = "released"


class HandedOver(_Event):
    kind: Literal["handed_over"] = "handed_over"
    giver: str
    taker: str


class Resumed(_Event):
    """gap_s: since the last entry. unchecked: by a clock that nothing checks, the computer was restarted."""

    kind: Literal["resumed"] = "resumed"
    gap_s: float
    note: str = ""
    unchecked: bool = False


class Inquired(_Event):
    """What happened at the press is being asked, or was answered in part; cause '' where it is not known yet.

    since_s: the last moment at which the cycle is known to have gone on. at_s: when it happened, where told.
    'went_on': nothing happened, and nothing more is asked.
    """

    kind: Literal["inquired"] = "inquired"
    cause: Cause
    since_s: float
    at_s: float | None = None


class Interrupted(_Event):
    """The cycle was broken off. heat_off_s: since when there was no heat, None: it stayed on.

    back_s: when it was put right; None: not yet. heat_again: it is heated again and the dwell begins anew;
    waits: what was lost is waited for. counts_anew: nothing before `back_s` counts. at_set_s,
    cool_on_s: as they stood. A second one with the same at_s takes the place of the first.
    """

    kind: Literal["interrupted"] = "interrupted"
    cause: Literal["unknown", "power", "pressure", "opened"]
    at_s: float
    back_s: float | None = None
    heat_off_s: float | None = None
    cooled: bool = False
    heat_again: bool = False
    waits: bool = False
    counts_anew: bool = False
    at_set_s: float | None = None
    cool_on_s: float | None = None


class Danger(_Event):
    kind: Literal["danger"] = "danger"
    words: str


class FalseAlarm(_Event):
    kind: Literal["false_alarm"] = "false_alarm"


class Deviation(_Event):
    """An entry for the supervisor; opens nothing."""

    kind: Literal["deviation"] = "deviation"
    person: str
    reason: str


class Noted(_Event):
    kind: Literal["noted"] = "noted"
    text: str


class MannerSet(_Event):
    """How much the bench says: 'brief' or 'full'."""

    kind: Literal["manner"] = "manner"
    manner: Literal["brief", "full"]


class ClockNoted(_Event):
    kind: Literal["clock_noted"] = "clock_noted"
    text: str


class TornTail(_Event):
    kind: Literal["torn_tail"] = "torn_tail"
    cut_bytes: int


class Closed(_Event):
    """Last line but the seal. count: lines before this one."""

    kind: Literal["closed"] = "closed"
    outcome: Outcome
    count: int


class Sealed(_Event):
    """Signature over the head digest and the count, by the bench's key, or by a supervisor's after it."""

    kind: Literal["sealed"] = "sealed"
    head: str
    count: int
    simulated: bool
    public_key: str
    signature: str
    code: str
    by: str = "bench"
    name: str = ""  # of the supervisor


Event = (
    Opened | HeardWords | Said | QuestionPut | ValueOffered | ValueTaken | ValueRefused | ValueDropped | AskedBack
    | ActEntered | ActDone | WentBack | GateAsked | GateClosed | GateRefused | GateRearmed | SkipRefused | Computed
    | TimerStarted | TimerCalled | TimerEnded | RunMarked | ReadingTaken | Inspected | Decided | Kept | Held | Released
    | HandedOver | Resumed | Inquired | Interrupted | Danger | FalseAlarm | Deviation | Noted | MannerSet | ClockNoted | TornTail | Closed | Sealed
)  # fmt: skip

_ADAPTER: TypeAdapter[Event] = TypeAdapter(Annotated[Event, Field(discriminator="kind")])


def parse_event(raw: dict[str, Any]) -> Event:
    """An event from its JSON object. Raises: pydantic.ValidationError where it is none of ours."""
    return _ADAPTER.validate_python(raw)
