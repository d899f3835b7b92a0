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
from intents.match import understand
from intents.meaning import Heard, Meaning, Understood

STEP_S = 12.0  # what a step takes a practised hand, on average
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
        """What is said next; time passes where the technician waits. None at the end."""
        while not self.session.finished:
            self.technician.follow(self.session.state)
            wish = self.technician.next(self.session.state, self.clock.now().t_s)
            if isinstance(wish, Wait):
                left = wish.seconds
                while left > 0:
                    self.clock.advance(min(TICK_S, left))
                    left -= TICK_S
                    self.session.tick()
                continue
            return wish
        return None

    def meant(self, words: str) -> Understood:
        """What the words mean here and now, had they been typed."""
        now = self.clock.now().t_s
        return understand(Heard(words, "typed", now, now), self.session.sayable(), self.session.book)

    def typed(self, words: str) -> None:
        self.clock.advance(STEP_S)
        self.session.typed(words)

    def spoken(self, make: Callable[[float], Heard], seconds: float, meant: Understood) -> bool:
        """An utterance that takes `seconds`; `make` gets the session second at which its sound begins.

        Returns: whether it got across: taken for what was meant, and heard well enough to count.
        """
        self.clock.advance(STEP_S)
        heard = make(self.clock.now().t_s)
        self.clock.advance(seconds)
        refusals = self.session.state.gate_refusals
        understood = understand(heard, self.session.sayable(), self.session.book)
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
    return type(understood).__name__
