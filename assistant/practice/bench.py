"""The practice bench: a session on a simulated press in moved-on time, with the scripted technician at it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from assistant.bench.bad_data import BadData
from assistant.bench.catalogue import PACKAGED
from assistant.bench.job import Job
from assistant.bench.sheet import build_job
from assistant.bench.sheet_file import read_sheet
from assistant.opening import Bench, begin_session
from assistant.practice.clock import SimulatedClock
from assistant.practice.press import SimulatedPress
from assistant.practice.script import Script
from assistant.practice.technician import Say, Technician, Wait
from assistant.session import Session
from intents.meaning import AskBack, Heard, Meaning, Understood

STEP_S = 12.0  # what a step takes a practised hand, on average
TYPING_S = 2.0
TICK_S = 5.0


class PracticeBench:
    """Says nothing itself: `next` gives what the technician wants to say, `say` puts it to the session."""

    def __init__(self, bench: Bench, script: Script, begun: datetime) -> None:
        sheet = read_sheet(PACKAGED / "jobs" / f"{script.job}.toml")
        job = build_job(sheet, bench.rules.catalogue)
        if not isinstance(job, Job):
            raise BadData(f"The job of the script does not hold: {job[0]}")
        self.clock = SimulatedClock(begun)
        self.technician = Technician(bench.rules, script, SimulatedPress(job, script.press_seed))
        asked = {slot: value for slot, value in sheet.items() if slot not in script.leave_out}
        self.session: Session = begin_session(bench, asked, self.clock, simulated=True)

    def next(self) -> Say | None:
        """What is said next; time passes while the step is done, and where the technician waits. None at the end."""
        self._pass(STEP_S)
        while not self.session.finished:
            self.technician.follow(self.session.state)
            wish = self.technician.next(self.session.state, self.clock.now().t_s)
            if isinstance(wish, Wait):
                self._pass(wish.seconds)
                continue
            return wish
        return None

    def _pass(self, seconds: float) -> None:
        while seconds > 0:
            self.clock.advance(min(TICK_S, seconds))
            seconds -= TICK_S
            self.session.tick()

    def _meant(self, words: str) -> Understood:
        """What the words mean here and now, were they heard without a fault."""
        now = self.clock.now().t_s
        return self.session.meaning(Heard(words, "voice", now, now))

    def again(self, words: str) -> str:
        """The words of a second try."""
        return self.technician.again(self.session.state, words)

    def typed(self, words: str) -> None:
        self.clock.advance(TYPING_S)
        self.session.typed(words)

    def spoken(self, words: str, make: Callable[[float], Heard], seconds: float) -> bool:
        """`words` said in `seconds`; `make` gives what was heard, from the session second at which the sound begins.

        Returns: whether it got across: taken for what was meant, and heard well enough to count.
        """
        meant = self._meant(words)
        heard = make(self.clock.now().t_s)
        self.clock.advance(seconds)
        refusals = self.session.state.gate_refusals
        understood = self.session.meaning(heard)
        was_sentence = isinstance(meant, Meaning) and meant.intent == "sentence"
        self.session.hear(heard)
        same = _bare(understood) == _bare(meant)
        if was_sentence:
            return same and self.session.state.gate_refusals == refusals
        steers = isinstance(meant, Meaning) and meant.intent == "confirm"
        return same and (heard.verified or not steers)


def _bare(understood: Understood) -> object:
    """Without the words: what counts."""
    if isinstance(understood, Meaning):
        return (understood.intent, understood.slot, understood.value)
    if isinstance(understood, AskBack):
        return tuple((option.slot, option.value) for option in understood.options)
    return type(understood).__name__
