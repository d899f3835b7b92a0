"""The session: the one loop that decides, writes and answers. Joins the pure core, the record and the outside.

Order is everything here: what an input causes is on disk before anybody is told of it. When the disk
fails, nothing has happened: the state stays as it was, the session says so and holds. Danger, the timers
that run and questions about them are answered all the same, from a copy of the state that is not recorded.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Literal

from assistant.conversation import Conversation
from assistant.mouth import Adjust, Mouth, no_more, say_together
from assistant.procedure import decide
from assistant.procedure import events as e
from assistant.procedure.events import ANSWERED, Event, Value, parse_event
from assistant.procedure.evolve import evolve
from assistant.procedure.prompt import prompt
from assistant.procedure.rules import Rules, current
from assistant.procedure.sayable import sayable
from assistant.procedure.state import State
from assistant.procedure.turn import Turn, Utter
from assistant.publish import publish
from assistant.record.chain import Line as LogLine
from assistant.record.chain import RecordError
from assistant.record.log import LogWriter, RecordFailed
from assistant.record.stamp import Clock, Stamp
from assistant.unrecorded import CANT_WRITE, Unrecorded, cannot_write
from assistant.view import Ear, Line, View
from intents.match import understand
from intents.meaning import Heard, Meaning, NotForUs, Sayable, Understood, Way
from intents.phrasebook import Phrasebook

LISTENS_S = 10.0  # after the key, without the callsign
PRESSED_LATE_S = 0.3  # people press and speak at once
LONGEST_CRY = 200  # letters of words of danger that the record does not take as they are
_ADJUSTS: dict[str, Adjust] = {
    "slower": "slower",
    "faster": "faster",
    "louder": "louder",
    "quieter": "quieter",
}
Page = Literal["", "conversation", "recipe", "curve"]
_PAGES: dict[str, Page] = {
    "recipe": "recipe",
    "until_cold": "curve",
    "where": "conversation",
    "job": "conversation",
}


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
        self.unsealed = ""  # why the closed log has no seal; taking it up again makes it
        self._unrecorded = Unrecorded(rules)  # from then on
        self._page: Page = ""
        self._pages_asked = 0
        self._seal = seal
        self._opened_s = float("-inf")  # when the key opened the ear
        self._asked = 0  # which of the texts that may be answered was said last
        self._conversation = Conversation()
        self._ear: tuple[Ear, str, str] = ("TYPE ONLY", "", "")
        self._watchers: list[Callable[[View], None]] = []

    # -- beginnings

    def begin(self, opened: e.Opened, sheet: Mapping[str, Value], stamp: Stamp) -> None:
        """A new session whose log holds its opening line already, as `LogWriter.create` wrote it."""
        with self.lock:
            turn = decide.begin(self.rules, opened, dict(sheet), stamp.t_s)
            turn.events = turn.events[1:]  # the opening line is on disk
            self._commit(turn, stamp)

    def take_up(self, lines: Sequence[LogLine], torn_bytes: int, of_record: str = "") -> None:
        """A session from its log: the same fold as ever, then 'taken up again'. One that was closed and not
        sealed, because the power or the disk failed just then, is sealed, and that is all. of_record: what is to be
        said of the record itself, and noted in it.
        """
        with self.lock:
            state = State()
            for line in lines:
                event = parse_event(dict(line.event))
                state = evolve(state, event, line.stamp.t_s)
                self._conversation.add_logged(event, line.stamp.t_s)
            self._conversation.tell_only_the_last()
            self.state = state
            stamp = self.clock.now()
            note = " ".join(filter(None, (self.clock.note(), of_record)))
            torn: list[Event] = [e.TornTail(cut_bytes=torn_bytes)] if torn_bytes else []
            if self.state.closed is not None:
                self._append_now(torn, stamp)
                told = [Utter(of_record, "prompt")] if of_record else []  # no line may follow the closing one
                self._utter([*told, *self._close(stamp)], None, stamp.t_s)
                self._publish(stamp.t_s)
                return
            # What an earlier taking up wrote of a torn tail tells nothing of when somebody was last here.
            last = next((line for line in reversed(lines) if line.kind != "torn_tail"), lines[-1]).stamp
            turn = decide.resume(
                self.rules, self.state, max(0.0, stamp.t_s - last.t_s), note, stamp.t_s,
                unchecked=not stamp.boot or stamp.boot != last.boot,
            )  # fmt: skip
            turn.events[:0] = (
                torn  # of one append with it: killed in between, the time away would be forgotten
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
            if self.mouth is not None and heard.way != "voice":
                self.mouth.hush()  # whoever types or presses has read it
            stamp = self.clock.now()
            understood = self.meaning(heard)
            if self.failed or self.state.closed is not None:
                self._hear_unrecorded(heard, understood, stamp)
                return
            self._show_or_adjust(understood)
            self._conversation.add("you", heard.text, stamp.t_s, heard.way)
            turn = decide.hear(self.rules, self.state, heard, understood, stamp.t_s, stamp.wall)
            cue = heard.way == "voice" and _is_taken(understood)
            if self._commit(turn, stamp, cue=cue) or not _is_danger(understood):
                return
            # Whatever the record makes of the words: danger is answered, and held.
            if not self.failed:
                turn = decide.hear(self.rules, self.state, _recordable(heard), understood, stamp.t_s)
                self._commit(turn, stamp)
            if self.failed:
                self._say(self._unrecorded.danger(heard, stamp, self.failed), stamp.t_s)
                self._publish(stamp.t_s)

    def _hear_unrecorded(self, heard: Heard, understood: Understood, stamp: Stamp) -> None:
        """The record has failed or is closed: danger and questions are answered, and nothing of the job moves."""
        reply = self._unrecorded.hear(heard, understood, stamp, self.failed)
        if reply is not None:
            self._conversation.add("you", heard.text, stamp.t_s, heard.way)
            self._say(reply, stamp.t_s)
            self._publish(stamp.t_s)

    def _show_or_adjust(self, understood: Understood) -> None:
        """What concerns the screen and the voice only: nothing of the job moves by it."""
        if not isinstance(understood, Meaning):
            return
        if (page := _PAGES.get(understood.intent)) is not None:
            self._page, self._pages_asked = page, self._pages_asked + 1
        if understood.intent == "silence":
            self.interrupt()
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
            if self.state.closed is not None:
                return
            stamp = self.clock.now()
            if self.failed:
                for utter in self._unrecorded.tick(stamp):
                    self._say(utter, stamp.t_s)
                self._publish(stamp.t_s)
                return
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

    def set_ear(self, ear: Ear, note: str = "", so_far: str = "") -> None:
        """so_far: what somebody seems to be saying; it is shown, and nothing is done about it."""
        self._ear = (ear, note, so_far)

    def ears_ready(self) -> None:
        """Whoever was asked before the ears could hear gets the time to answer without the callsign now."""
        with self.lock:
            self._opened_s = self.clock.now().t_s

    def interrupt(self) -> None:
        """Somebody wants to speak: what is being said stops; an alarm goes on, and so does a safety question's first putting."""
        with self.lock:
            gate = self.state.gate
            if self.mouth is not None and (gate is None or gate.said_s is not None):
                self.mouth.hush()

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
        if self._ear[0] == "TYPE ONLY":
            self.note("The key answers 'done?' here. Nothing listens, so type the rest.")
            return
        self.interrupt()
        self._opened_s = at_s - PRESSED_LATE_S
        self.note("listening")
        if self.mouth is not None:
            self.mouth.cue("listening")

    def _heard(self, text: str, way: Way, began_s: float | None) -> Heard:
        at = self.clock.now().t_s if began_s is None else began_s
        return Heard(text=text, way=way, began_s=at, ended_s=at, engine="" if way == "key" else way)

    def _refuse_when_over(self) -> bool:
        if self.failed:
            self._say(cannot_write(self.failed), self.clock.now().t_s)
            return True
        return self.state.closed is not None

    def _commit(self, turn: Turn, stamp: Stamp, *, cue: bool = False) -> bool:
        """Disk first, then state, then voice and screen; `cue`: a short sound too. False: nothing of it has happened."""
        events: list[Event] = list(turn.events)
        events += [e.Said(text=u.text, rank=u.rank) for u in turn.say]
        if turn.finish is not None:
            events.append(e.Closed(outcome=turn.finish, count=self.writer.count + len(events)))
        if not self._append(events, stamp):
            return False
        if cue and self.mouth is not None:
            self.mouth.cue("taken")
        state = turn.state
        for event in events[len(turn.events) :]:
            state = evolve(state, event, stamp.t_s)
        self.state = state
        for event in turn.events:
            if isinstance(event, e.HeardWords) and event.understood in ("no callsign", "nothing"):
                self._conversation.add("note", "not for me", stamp.t_s)
        if turn.finish is not None:
            self._utter([*turn.say, *self._close(stamp)], None, stamp.t_s)
        elif turn.say:
            self._utter(turn.say, turn.asked or ANSWERED, stamp.t_s)
        self._publish(stamp.t_s)
        return True

    def _utter(self, says: Sequence[Utter], key: str | None, t_s: float) -> None:
        """Says and shows what belongs together. key: of the question that it ends in; when it is put is recorded."""
        for utter in says:
            self._conversation.add_said(utter, t_s)
        ended = no_more
        if key is not None:
            self._asked += 1
            ended = partial(self._put, key, "said", self._asked)
            self._publish(t_s)
            self._put(key, "both" if self.mouth is None else "shown", self._asked)
        if self.mouth is not None:
            say_together(self.mouth, says, ended)

    def _put(self, key: str, how: Literal["shown", "said", "both"], asked: int) -> None:
        with self.lock:
            if asked != self._asked or self.failed or self.state.closed is not None:
                return  # cut short by the next one, or over
            stamp = self.clock.now()
            if key != ANSWERED and prompt(self.rules, self.state, stamp.t_s).key != key:
                return  # another question stands by now
            self._append_now([e.QuestionPut(question=key, how=how)], stamp)
            if key != ANSWERED and how == "said" and self.mouth is not None:
                self.mouth.cue("listening")

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
            self._say(Utter(str(refused), "alarm"), stamp.t_s)
            return False
        if self.failed:
            self._unrecorded.begin(self.state, stamp)
            self._say(cannot_write(self.failed), stamp.t_s)
            self._publish(stamp.t_s)
            return False
        return True

    def _close(self, stamp: Stamp) -> list[Utter]:
        """Seals and closes the log. Returns: what is to be said of it."""
        said: list[Utter] = []
        if self._seal is not None:
            try:
                said = [Utter(self._seal(self.writer, stamp, self.state), "prompt")]
            except RecordError as failure:
                self.unsealed = str(failure)
                said = [Utter(f"The session is closed, but not sealed: {failure}", "alarm")]
        self.writer.close()
        return said

    def _say(self, utter: Utter, t_s: float) -> None:
        if not utter.text:
            return
        self._conversation.add_said(utter, t_s)
        if self.mouth is not None:
            self.mouth.say(utter.text, utter.rank, no_more)

    def note(self, text: str) -> None:
        """A line on the screen that is about the bench itself: what is missing, what the ears are good for."""
        with self.lock:
            t_s = self.clock.now().t_s
            self._conversation.add("note", text, t_s)
            self._publish(t_s)

    def tell(self, text: str) -> None:
        """As `note`, and said aloud behind whatever is being said."""
        self.note(text)
        if self.mouth is not None:
            self.mouth.say(text, "chat", no_more)

    def lines_since(self, count: int) -> tuple[Line, ...]:
        """The conversation after its first `count` lines."""
        with self.lock:
            return self._conversation.since(count)

    def _view(self, t_s: float) -> View:
        state = self.state
        if self.failed:
            state = replace(state, timers=self._unrecorded.state.timers, danger=self._unrecorded.state.danger)
        view = publish(self.rules, state, t_s, self._conversation.lines(), str(self.writer.path))
        held = f"{CANT_WRITE}. {self.failed}" if self.failed else view.held
        return replace(
            view,
            ear=self._ear[0],
            ear_note=self._ear[1],
            heard_so_far=self._ear[2],
            held=held,
            unrecorded=self.failed or self.unsealed,
            page=self._page,
            pages_asked=self._pages_asked,
        )

    def _publish(self, t_s: float) -> None:
        if self._watchers:
            view = self._view(t_s)
            for watcher in self._watchers:
                watcher(view)


def _is_danger(understood: Understood) -> bool:
    return isinstance(understood, Meaning) and understood.intent == "danger"


def _is_taken(understood: Understood) -> bool:
    """Whether a short sound tells so: danger has its alarm, what was not for us has none."""
    return not isinstance(understood, NotForUs) and not _is_danger(understood)


def _recordable(heard: Heard) -> Heard:
    """A cry in words that can be written, should those heard be too long or hold broken letters."""
    text = heard.text[:LONGEST_CRY].encode("ascii", "replace").decode()
    return replace(heard, text=text, alternatives=(), engine="", why_not="")
