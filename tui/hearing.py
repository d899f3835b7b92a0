"""Joins microphone and ear to a running session: sound in, utterances out, in threads of its own.

Whatever is missing or fails is said once on the screen, and typing goes on.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.session import Session
from intents.grammar import phrases
from intents.meaning import Heard, NotForUs
from tui.own_voice import OwnVoice, cry_among

if TYPE_CHECKING:
    from speech.ear import Ear
    from speech.errors import Missing
    from speech.listen import Listener
    from speech.microphone import Microphone
    from speech.sound import Samples
    from speech.utterance import Utterance

LOOKS_AGAIN_S = 0.5  # at what can be said now
KEPT_BLOCKS = 4000  # two minutes of sound, should the ear fall behind
ENDED = "The microphone has ended. Type from here on."


class Hearing:
    """Microphone, ear and session joined. `close` ends it; a failure ends it too, and is said.

    hear: where each utterance goes. find_microphone, find_ear: called once, in the thread.
    """

    def __init__(
        self,
        session: Session,
        hear: Callable[[Heard], None],
        find_microphone: Callable[[], Microphone | Missing],
        find_ear: Callable[[], Ear | Missing],
    ) -> None:
        self._session, self._hear = session, hear
        self._find_microphone, self._find_ear = find_microphone, find_ear
        self._blocks: queue.Queue[tuple[Samples, float] | None] = queue.Queue(KEPT_BLOCKS)
        self._microphone: Microphone | None = None
        self._ear: Ear | None = None
        self._listener: Listener | None = None
        self._own = OwnVoice()
        self._expecting, self._looked_s = "", float("-inf")
        self._closed = threading.Event()
        self._over = ""  # why nobody listens any more
        self._thread = threading.Thread(target=self._run, name="ears", daemon=True)

    def start(self) -> None:
        """Returns at once; models load in the thread."""
        self._thread.start()

    def close(self) -> None:
        self._closed.set()
        if self._microphone is not None:
            self._microphone.close()
        with suppress(queue.Full):  # then the thread is busy, and looks at `_closed` next
            self._blocks.put_nowait(None)

    def sounding(self, began: bool, words: str) -> None:
        """Our own voice begins to say `words`, or has ended: deaf to answers meanwhile."""
        now_s = self._session.clock.now().t_s
        if began:
            self._own.began(words, now_s)
        else:
            self._own.ended(now_s)
        if self._listener is not None:
            self._listener.own_voice(began, now_s)

    def use(self, ear: Ear) -> None:
        """Listen with this ear from now on."""
        from speech.listen import Listener

        self._ear, self._listener = ear, Listener(ear)

    def take(self, block: Samples, at_s: float) -> None:
        """Sound whose last sample came at session second `at_s`; what was said in it goes to the session."""
        assert self._listener is not None, "`use` an ear first"
        if at_s - self._looked_s >= LOOKS_AGAIN_S:
            self._looked_s = at_s
            self._expect(self._listener)
        trouble = self._listener.trouble
        self._session.set_ear("HEARING YOU" if self._listener.hearing else "LISTENING", trouble)
        for utterance in self._listener.feed(block, at_s):
            self._pass_on(utterance)

    def end(self) -> None:
        """The sound has ended: what is being heard now is taken as said."""
        for utterance in self._listener.flush() if self._listener is not None else ():
            self._pass_on(utterance)

    def _run(self) -> None:
        from speech.errors import Missing, SpeechError

        try:
            ear = self._find_ear()
            if isinstance(ear, Missing):
                return self._typing_only(ear.sentence)
            microphone = self._find_microphone()
            if isinstance(microphone, Missing):
                return self._typing_only(microphone.sentence)
            self._microphone = microphone
            self.use(ear)
            self._tell(microphone, ear)
            threading.Thread(target=self._read, args=(microphone,), name="microphone", daemon=True).start()
            while not self._closed.is_set() and (item := self._blocks.get()) is not None:
                self.take(*item)
            if not self._closed.is_set():
                self.end()
            self._typing_only(ENDED)
        except SpeechError as failure:
            self._typing_only(str(failure))
        except Exception as failure:  # an engine may fail in any way; the session must not
            self._typing_only(
                f"The ears have failed ({type(failure).__name__}: {failure}). Type from here on."
            )
        finally:
            # The reader may have given up while a block was taken, which said LISTENING once more.
            if self._over:
                self._session.set_ear("TYPE ONLY", self._over)

    def _tell(self, microphone: Microphone, ear: Ear) -> None:
        from speech.ears import GOOD_FOR_GATES, TYPE_THE_GATES

        self._session.note(f"Listening through {microphone.name} with {ear.name}.")
        self._session.note(GOOD_FOR_GATES if ear.good_for_gates else TYPE_THE_GATES)

    def _typing_only(self, why: str) -> None:
        """Said once: the first reason is the one that counts."""
        if not self._closed.is_set():
            self._over = why
            self._session.set_ear("TYPE ONLY", why)
            self._session.note(why)
            self.close()

    def _read(self, microphone: Microphone) -> None:
        """Stamps each block with when it came, so that a slow ear does not shift what was said when."""
        from speech.errors import SpeechError

        try:
            for block in microphone.blocks():
                with suppress(queue.Full):  # the ear hangs: the newest is lost, and the stamps show the gap
                    self._blocks.put_nowait((block, self._session.clock.now().t_s))
        except SpeechError as failure:
            self._typing_only(str(failure))
        except Exception as failure:  # as in `_run`
            self._typing_only(
                f"The microphone has failed ({type(failure).__name__}: {failure}). Type from here on."
            )
        with suppress(queue.Full):
            self._blocks.put_nowait(None)

    def _expect(self, listener: Listener) -> None:
        """What can be said now: held engines get the list, numbers get more patience."""
        question = self._session.question()
        if question == self._expecting:
            return
        self._expecting = question
        said = self._session.sayable()
        listener.wait_for_number(said.expected is not None and said.expected.kind == "quantity")
        if self._ear is not None:
            expect_what_can_be_said(self._ear, self._session)

    def _pass_on(self, utterance: Utterance) -> None:
        if utterance.while_deaf:  # our own voice, or somebody during it: no answer
            cry = self._own.cry_in(utterance)
        else:
            cry = cry_among(utterance)
            if cry is not None and not isinstance(self._session.meaning(heard_from(utterance)), NotForUs):
                cry = None
        if cry is not None or not utterance.while_deaf:
            self._hear(heard_from(utterance if cry is None else _crying(utterance, cry)))


def expect_what_can_be_said(ear: Ear, session: Session) -> None:
    """Tells an engine that is held to a list what the list is now; the others hear freely."""
    expect = getattr(ear, "expect", None)
    if expect is not None:
        expect(phrases(session.sayable(), session.book))


def _crying(utterance: Utterance, cry: str) -> Utterance:
    """The same utterance with the words of danger first."""
    others = tuple(text for text in (utterance.text, *utterance.alternatives) if text != cry)
    return replace(utterance, text=cry, alternatives=others)


def heard_from(utterance: Utterance, at_s: float = 0.0) -> Heard:
    """What the ears deliver as the session takes it; `at_s`: session second of the sound's beginning."""
    return Heard(
        text=utterance.text,
        way="voice",
        began_s=at_s + utterance.start_s,
        ended_s=at_s + utterance.end_s,
        verified=utterance.verified,
        gate_grade=utterance.gate_grade,
        sureness=utterance.sureness,
        alternatives=utterance.alternatives,
        engine=utterance.engine,
        why_not=utterance.why_not,
    )
