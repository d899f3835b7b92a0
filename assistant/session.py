"""The session: the one loop that decides, writes and answers. Joins the pure core, the record and the outside.

Order is everything here: what an input causes is on disk before anybody is told of it. When the disk
fails, nothing has happened: the state stays as it was, the session says so and holds.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Literal, Protocol

from assistant.procedure import decide
from assistant.procedure import events as e
from assistant.procedure.events import Event, Value, parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.prompt import prompt
from assistant.procedure.rules import Rules, current
from assistant.procedure.sayable import sayable
from assistant.procedure.state import State
from assistant.procedure.turn import Rank, Turn
from assistant.publish import publish
from assistant.record.chain import Line as LogLine
from assistant.record.chain import RecordError
from assistant.record.log import LogWriter, RecordFailed
from assistant.record.stamp import Clock, Stamp
from assistant.view import Ear, Line, View
from intents.match import understand
from intents.meaning import Heard, Meaning, Sayable, Understood, Way
from intents.phrasebook import Phrasebook

KEPT_LINES = 400  # of the conversation, for a screen
LISTENS_S = 10.0  # after the key, without the callsign
PRESSED_LATE_S = 0.3  # people press and speak at once
ANSWERED = "answered"  # put instead of a question's key where a turn ends in an answer: it opens no question


Adjust = Literal["slower", "louder", "quieter"]
_ADJUSTS: dict[str, Adjust] = {"slower": "slower", "louder": "louder", "quieter": "quieter"}
Page = Literal["", "conversation", "recipe", "curve"]
_PAGES: dict[str, Page] = {
    "recipe": "recipe",
    "until_cold": "curve",
    "where": "conversation",
    "job": "conversation",
}


class Mouth(Protocol):
    """Says things aloud; returns at once. `ended` is called when the text has been said or cut short."""

    def say(self, text: str, rank: Rank, ended: Callable[[], None]) -> None: ...
    def hush(self) -> None: ...
    def adjust(self, how: Adjust) -> None: ...


class Session:
    """One session on one log. `lock` guards it: inputs come from several threads, one at a time.

    seal: called once after the closing line; writes the seal and returns what to say of it.
    """

    def __init__(
        self,
        rules: Rules,
        book: Phrasebook,
        writer: LogWriter,
        clock: Clock,
        mouth: Mouth | None = None,
        seal: Callable[[LogWriter, Stamp, State], str] | None = None,
    ) -> None:
        self.rules, self.book, self.writer, self.clock, self.mouth = rules, book, writer, clock, mouth
        self.state = State()
        self.lock = threading.RLock()
        self.failed = ""  # the disk's sentence, once writing has failed
        self._page: Page = ""
        self._pages_asked = 0
        self._seal = seal
        self._opened_s = float("-inf")  # when the key opened the ear
        self._asked = 0  # which of the texts that may be answered was said last
        self._lines: list[Line] = []
        self._shown_lines = 0
        self._ear: tuple[Ear, str] = ("TYPE ONLY", "")
        self._watchers: list[Callable[[View], None]] = []

    # -- beginnings

    def begin(self, opened: e.Opened, sheet: Mapping[str, Value], stamp: Stamp) -> None:
        """A new session whose log holds its opening line already, as `LogWriter.create` wrote it."""
        with self.lock:
            turn = decide.begin(self.rules, opened, dict(sheet), stamp.t_s)
            turn.events = turn.events[1:]  # the opening line is on disk
            self._commit(turn, stamp)

    def take_up(self, lines: Sequence[LogLine], torn_bytes: int) -> None:
        """A session from its log: the same fold as ever, then 'taken up again'."""
        with self.lock:
            state = State()
            for line in lines:
                event = parse_event(dict(line.event))
                state = evolve(state, event, line.stamp.t_s)
                self._remember(event, line.stamp.t_s)
            self.state = state
            stamp = self.clock.now()
            note = self.clock.note()
            if torn_bytes:
                self._append_now([e.TornTail(cut_bytes=torn_bytes)], stamp)
            turn = decide.resume(
                self.rules, self.state, max(0.0, stamp.t_s - lines[-1].stamp.t_s), note, stamp.t_s
            )
            self._commit(turn, stamp)

    # -- inputs

    def typed(self, text: str, began_s: float | None = None) -> None:
        """A typed line; `began_s`: when it was entered, now if not given."""
        self.hear(self._heard(text, "typed", began_s))

    def key(self, began_s: float | None = None) -> None:
        """The key or pedal: 'done' where a step asks for no more than that; else the ear is open for a while.

        It never answers a safety question: there, nothing of a press goes into the record.
        """
        with self.lock:
            stamp = self.clock.now()
            here = current(self.rules, self.state)
            step = here[1] if here is not None and here[1].kind == "step" else None
            if step is not None and prompt(self.rules, self.state, stamp.t_s).key == step.id:
                self.hear(self._heard("done", "key", began_s))
            elif not self._refuse_when_over():
                self._open_ear(stamp.t_s if began_s is None else began_s)

    def hear(self, heard: Heard) -> None:
        with self.lock:
            if self._refuse_when_over():
                return
            if self.mouth is not None and heard.way != "voice":
                self.mouth.hush()  # whoever types or presses has read it
            stamp = self.clock.now()
            understood = self.meaning(heard)
            self._show_or_adjust(understood)
            turn = decide.hear(self.rules, self.state, heard, understood, stamp.t_s)
            self._line("you", heard.text, stamp.t_s, heard.way)
            self._commit(turn, stamp)

    def _show_or_adjust(self, understood: Understood) -> None:
        """What concerns the screen and the voice only: nothing of the job moves by it."""
        if not isinstance(understood, Meaning):
            return
        if (page := _PAGES.get(understood.intent)) is not None:
            self._page, self._pages_asked = page, self._pages_asked + 1
        if self.mouth is not None and (how := _ADJUSTS.get(understood.intent)) is not None:
            self.mouth.adjust(how)

    def meaning(self, heard: Heard) -> Understood:
        """What it means here and now. Nothing comes of it."""
        with self.lock:
            said = sayable(self.rules, self.state, self.clock.now().t_s)
            if 0.0 <= heard.began_s - self._opened_s <= LISTENS_S:
                said = replace(said, asked_s=self._opened_s, open_for_s=LISTENS_S)
            return understand(heard, said, self.book)

    def tick(self) -> None:
        """Time has passed; call a few times a second."""
        with self.lock:
            if self.failed or self.state.closed is not None:
                return
            stamp = self.clock.now()
            note = self.clock.note()
            turn = decide.tick(self.rules, self.state, stamp.t_s)
            if note:
                turn.emit(e.ClockNoted(text=note))
            if turn.events:
                self._commit(turn, stamp)
            else:
                self._publish(stamp.t_s)

    def sayable(self) -> Sayable:
        """All that can be said now."""
        with self.lock:
            return sayable(self.rules, self.state, self.clock.now().t_s)

    def question(self) -> str:
        """The key of the question that stands; another key, another question."""
        with self.lock:
            return prompt(self.rules, self.state, self.clock.now().t_s).key

    def set_ear(self, ear: Ear, note: str = "") -> None:
        self._ear = (ear, note)

    # -- what screens read

    def view(self) -> View:
        with self.lock:
            return self._view(self.clock.now().t_s)

    def subscribe(self, watcher: Callable[[View], None]) -> None:
        """`watcher` gets each new snapshot from whatever thread made it; it must return at once."""
        self._watchers.append(watcher)

    @property
    def finished(self) -> bool:
        return self.state.closed is not None

    # -- inside

    def _open_ear(self, at_s: float) -> None:
        """For a while no callsign is needed. A safety question is said to its end before it can be answered."""
        gate = self.state.gate
        if self._ear[0] == "TYPE ONLY":
            self.note("The key answers 'done?' here. Nothing listens, so type the rest.")
            return
        if self.mouth is not None and (gate is None or gate.said_s is not None):
            self.mouth.hush()
        self._opened_s = at_s - PRESSED_LATE_S
        self.note("listening")

    def _heard(self, text: str, way: Way, began_s: float | None) -> Heard:
        at = self.clock.now().t_s if began_s is None else began_s
        return Heard(text=text, way=way, began_s=at, ended_s=at, engine="" if way == "key" else way)

    def _refuse_when_over(self) -> bool:
        if self.failed:
            self._say(f"I can't write the record, so I hold. {self.failed}", "alarm", self.clock.now().t_s)
            return True
        return self.state.closed is not None

    def _commit(self, turn: Turn, stamp: Stamp) -> None:
        """Disk first, then state, then voice and screen."""
        events: list[Event] = list(turn.events)
        events += [e.Said(text=u.text, rank=u.rank) for u in turn.say]
        if turn.finish is not None:
            events.append(e.Closed(outcome=turn.finish, count=self.writer.count + len(events)))
        if not self._append(events, stamp):
            return
        state = turn.state
        for event in events[len(turn.events) :]:
            state = evolve(state, event, stamp.t_s)
        self.state = state
        for event in turn.events:
            if isinstance(event, e.HeardWords) and event.understood in ("no callsign", "nothing"):
                self._line("note", "not for me", stamp.t_s)
        asking = bool(turn.say) and turn.finish is None
        for utter in turn.say[:-1] if asking else turn.say:
            self._say(utter.text, utter.rank, stamp.t_s)
        if asking:
            self._ask(turn.say[-1].text, turn.say[-1].rank, turn.asked or ANSWERED, stamp.t_s)
        if turn.finish is not None:
            self._close(stamp)
        self._publish(stamp.t_s)

    def _ask(self, text: str, rank: Rank, key: str, t_s: float) -> None:
        """The last thing said in a turn is the question that stands, or an answer: when it is put is recorded."""
        self._asked += 1
        asked = self._asked
        if self.mouth is None:
            self._say(text, rank, t_s)
            self._put(key, "both", asked)
            return
        self._line("alarm" if rank == "alarm" else "bench", text, t_s)
        self._publish(t_s)
        self._put(key, "shown", asked)
        self.mouth.say(text, rank, lambda: self._put(key, "said", asked))

    def _put(self, key: str, how: Literal["shown", "said", "both"], asked: int) -> None:
        with self.lock:
            if asked != self._asked or self.failed or self.state.closed is not None:
                return  # cut short by the next one, or over
            stamp = self.clock.now()
            if key != ANSWERED and prompt(self.rules, self.state, stamp.t_s).key != key:
                return  # another question stands by now
            self._append_now([e.QuestionPut(question=key, how=how)], stamp)

    def _append_now(self, events: list[Event], stamp: Stamp) -> None:
        if self._append(events, stamp):
            for event in events:
                self.state = evolve(self.state, event, stamp.t_s)

    def _append(self, events: list[Event], stamp: Stamp) -> bool:
        try:
            self.writer.append([event.model_dump(mode="json") for event in events], stamp)
        except RecordFailed as failure:
            self.failed = str(failure)
        except RecordError as refused:
            # This one entry can't be written as it is; nothing of it counts and the log goes on.
            self._say(str(refused), "alarm", stamp.t_s)
            return False
        if self.failed:
            self._say(f"I can't write the record, so I hold. {self.failed}", "alarm", stamp.t_s)
            self._publish(stamp.t_s)
            return False
        return True

    def _close(self, stamp: Stamp) -> None:
        if self._seal is not None:
            try:
                self._say(self._seal(self.writer, stamp, self.state), "prompt", stamp.t_s)
            except RecordError as failure:
                self._say(f"The session is closed, but not sealed: {failure}", "alarm", stamp.t_s)
        self.writer.close()

    def _say(self, text: str, rank: Rank, t_s: float) -> None:
        if not text:
            return
        self._line("alarm" if rank == "alarm" else "bench", text, t_s)
        if self.mouth is not None:
            self.mouth.say(text, rank, _nothing)

    def note(self, text: str) -> None:
        """A line on the screen that is about the bench itself: what is missing, what the ears are good for."""
        with self.lock:
            t_s = self.clock.now().t_s
            self._line("note", text, t_s)
            self._publish(t_s)

    def _line(self, who: str, text: str, t_s: float, way: str = "") -> None:
        self._lines.append(Line(who, text, t_s, way))  # type: ignore[arg-type]
        self._shown_lines += 1
        del self._lines[:-KEPT_LINES]

    def lines_since(self, count: int) -> tuple[Line, ...]:
        """The conversation after its first `count` lines."""
        with self.lock:
            new = self._shown_lines - count
            return tuple(self._lines[-new:]) if new > 0 else ()

    def _remember(self, event: Event, t_s: float) -> None:
        if isinstance(event, e.HeardWords):
            self._line("you", event.text, t_s, event.way if event.way != "file" else "")
        elif isinstance(event, e.Said):
            self._line("alarm" if event.rank == "alarm" else "bench", event.text, t_s)

    def _view(self, t_s: float) -> View:
        view = publish(self.rules, self.state, t_s, tuple(self._lines), str(self.writer.path))
        held = f"the record can't be written. {self.failed}" if self.failed else view.held
        return replace(
            view,
            ear=self._ear[0],
            ear_note=self._ear[1],
            held=held,
            page=self._page,
            pages_asked=self._pages_asked,
        )

    def _publish(self, t_s: float) -> None:
        if self._watchers:
            view = self._view(t_s)
            for watcher in self._watchers:
                watcher(view)


def _nothing() -> None:
    return
