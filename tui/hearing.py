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
from intents.canonical import canonical
from intents.match import understand
from intents.meaning import Heard, Meaning, NotForUs
from tui.early_cry import EarlyCry
from tui.ears_say import EarsSay
from tui.failures import Failures
from tui.heard_as import crying, heard_from
from tui.held_ear import expect_what_can_be_said, words_it_lacks
from tui.own_voice import OwnVoice, cry_among

if TYPE_CHECKING:
    from speech.ear import Ear
    from speech.errors import Missing
    from speech.listen import Listener
    from speech.microphone import Microphone
    from speech.sound import Samples
    from speech.utterance import Utterance

LOOKS_AGAIN_S = 0.5  # at what can be said now
RETRY_S = 3.0  # until a microphone that was lost is looked for again
KEPT_BLOCKS = 4000  # two minutes of sound, should the ear fall behind
ENDED = "The microphone has ended. Type from here on."


class Hearing:
    """Microphone, ear and session joined. `close` ends it; so does an ear that fails, and is said.

    A microphone that is lost is said, and looked for again: nothing has to be started anew when it is back.

    hear: where each utterance goes. find_microphone, find_ear: called in the thread, the second once.
    find_quick_ear: of the early look for danger, in a thread of its own; None: `look_early` gives one, or there is none.
    """

    def __init__(
        self,
        session: Session,
        hear: Callable[[Heard], None],
        find_microphone: Callable[[], Microphone | Missing],
        find_ear: Callable[[], Ear | Missing],
        find_quick_ear: Callable[[], Ear | Missing] | None = None,
    ) -> None:
        self._session, self._hear = session, hear
        self._find_microphone, self._find_ear = find_microphone, find_ear
        self._find_quick_ear = find_quick_ear
        self._blocks: queue.Queue[tuple[Samples, float] | None] = queue.Queue(KEPT_BLOCKS)
        self._microphone: Microphone | None = None
        self._ear: Ear | None = None
        self._listener: Listener | None = None
        self._callsign = session.sayable().callsign or ""
        self._own = OwnVoice(canonical(self._callsign))
        self._say = EarsSay(self._callsign)
        self._early = EarlyCry(self._own, self._callsign, hear, session.interrupt)
        self._early.on_so_far = self._heard_so_far
        self._so_far = (float("-inf"), "")  # when the voice began, and what it seems to have said
        self._expecting, self._looked_s = "", float("-inf")
        self._failures = Failures()
        self._closed = threading.Event()
        self._over = ""  # why nobody listens any more, or just now
        self._introduced = False  # what listens, and what it is good for, has been told
        self._said_over = ""  # the last such reason that was told
        self._thread = threading.Thread(target=self._run, name="ears", daemon=True)

    def start(self) -> None:
        """Returns at once; models load in the thread."""
        self._thread.start()

    def close(self) -> None:
        self._closed.set()
        self._early.close()
        if self._microphone is not None:
            self._microphone.close()
        with suppress(queue.Full):  # then the thread is busy, and looks at `_closed` next
            self._blocks.put_nowait(None)
        close = getattr(self._ear, "close", None)
        if close is not None:  # it lives in a process
            close()

    def sounding(self, began: bool, words: str) -> None:
        """Our own voice begins to say `words`, or has ended: deaf to answers meanwhile. '': a short sound, no voice."""
        from speech.listen import CUE_TAIL_S, DEAF_TAIL_S

        now_s = self._session.clock.now().t_s
        if words and began:
            self._own.began(words, now_s)
        elif words:
            self._own.ended(now_s)
        if self._listener is not None:
            self._listener.own_voice(began, now_s, DEAF_TAIL_S if words else CUE_TAIL_S)

    def playing(self, samples: Samples | None) -> None:
        """The loudspeaker is given this now: for taking it out of what is looked at for danger. None: it was cut off."""
        self._early.playing(samples, self._session.clock.now().t_s)

    def somebody_speaks(self) -> bool:
        """Whether a voice is being heard now: a short sound would make us deaf to it."""
        return self._listener is not None and self._listener.hearing

    @property
    def awaits_sound(self) -> bool:
        """Whether sound may still come, or waits to be looked at; a lost microphone is looked for again."""
        return self._introduced and not self._closed.is_set() and self._thread.is_alive()

    def use(self, ear: Ear) -> None:
        """Listen with this ear from now on."""
        from speech.listen import Listener

        self._ear, self._listener = ear, Listener(ear)

    def look_early(self, ear: Ear) -> None:
        """Look for danger with this ear while something is being said, in the thread that takes the sound."""
        self._early.use(ear)

    def take(self, block: Samples, at_s: float) -> None:
        """Sound whose last sample came at session second `at_s`; what was said in it goes to the session."""
        assert self._listener is not None, "`use` an ear first"
        if at_s - self._looked_s >= LOOKS_AGAIN_S:
            self._looked_s = at_s
            self._expect(self._listener)
        trouble = self._listener.trouble
        self._show(self._listener, trouble)
        now_s = self._session.clock.now().t_s
        self._tell(self._say.behind(now_s - at_s, now_s))
        self._tell(self._say.trouble(trouble, now_s))
        for utterance in self._listener.feed(block, at_s):
            self._pass_on(utterance)
        self._early.watch(self._listener)
        self._early.watch_under_our_voice(block, at_s)

    def _heard_so_far(self, start_s: float, text: str) -> None:
        self._so_far = start_s, text

    def _show(self, listener: Listener, trouble: str) -> None:
        start_s, text = self._so_far
        if not listener.hearing:
            self._session.set_ear("LISTENING", trouble)
        elif listener.while_deaf or start_s != round(listener.cutter.span_s[0], 3):
            self._session.set_ear("HEARING YOU", trouble)
        else:
            self._session.set_ear("HEARING YOU", trouble, text)

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
            self.use(ear)
            if self._find_quick_ear is not None:
                self._early.start(self._find_quick_ear, self._session.note)
            while self._listen(ear):
                self._closed.wait(RETRY_S)
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

    def _listen(self, ear: Ear) -> bool:
        """Through one microphone, to its end. Returns: whether to look for another."""
        from speech.errors import Missing, SpeechError

        try:
            microphone = self._find_microphone()
        except SpeechError as failure:
            microphone = Missing(str(failure))
        except Exception as failure:  # what lists the devices may fail in any way; it is asked again
            microphone = Missing(f"The microphones cannot be listed ({failure}). Type meanwhile.")
        if isinstance(microphone, Missing):
            self._without_microphone(microphone.sentence)
            return not self._closed.is_set()
        self._microphone = microphone
        lost, self._over = bool(self._over), ""
        if not self._introduced:
            lost = False
            self._introduce(microphone, ear)
        reader = threading.Thread(target=self._read, args=(microphone,), name="microphone", daemon=True)
        reader.start()
        while not self._closed.is_set() and (item := self._blocks.get()) is not None:
            if lost:
                lost, self._said_over = False, ""
                self._session.tell(f"Listening again through {microphone.name}.")
            try:
                self.take(*item)
            except Exception as failure:
                self._another_ear(failure)
        if self._closed.is_set():
            return False
        self.end()
        if not self._over:
            self._typing_only(ENDED)
            return False
        self._session.set_ear("TYPE ONLY", self._over)
        return True

    def _another_ear(self, failure: Exception) -> None:
        """The ear has failed over a sound, and its engine could not be started again by itself. Raises: failure."""
        from speech.errors import Missing

        if self._closed.is_set() or self._failures.too_many(self._session.clock.now().t_s):
            raise failure
        close = getattr(self._ear, "close", None)
        if close is not None:
            close()
        ear = self._find_ear()
        if isinstance(ear, Missing):
            raise failure
        self.use(ear)
        self._expecting = ""  # it has been told of no question yet
        self._tell(f"{failure} The ears were started again: say it again.")

    def _tell(self, sentence: str) -> None:
        """On the screen, on the talk's lines and aloud, behind whatever is being said."""
        if sentence:
            self._session.tell(sentence)

    def _introduce(self, microphone: Microphone, ear: Ear) -> None:
        from speech.ears import GOOD_FOR_GATES, TYPE_THE_GATES

        self._introduced = True
        call = f" Begin with '{self._callsign}'." if self._callsign else ""
        self._session.note(f"Listening through {microphone.name} with {ear.name}.{call}")
        self._session.note(GOOD_FOR_GATES if ear.good_for_gates else TYPE_THE_GATES)
        self._tell(words_it_lacks(ear, self._session))
        self._session.ears_ready()

    def _typing_only(self, why: str) -> None:
        """For good. Said once: the first reason is the one that counts."""
        if not self._closed.is_set():
            self._without_microphone(why)
            self.close()

    def _without_microphone(self, why: str) -> None:
        """Until one is found. Said once, however often it is looked for."""
        if self._closed.is_set():
            return
        self._over = why
        self._session.set_ear("TYPE ONLY", why)
        if why != self._said_over:
            self._said_over = why
            (self._session.tell if self._introduced else self._session.note)(why)

    def _read(self, microphone: Microphone) -> None:
        """Stamps each block with when it came, so that a slow ear does not shift what was said when."""
        from speech.errors import SpeechError
        from speech.sound import BLOCK, RATE_HZ

        lost, dropped_before = 0, 0  # blocks that found no place
        try:
            for block in microphone.blocks():
                lost += microphone.dropped - dropped_before
                dropped_before = microphone.dropped
                try:
                    self._blocks.put_nowait((block, self._session.clock.now().t_s))
                except queue.Full:  # the ear hangs: the newest is lost, and the stamps show the gap
                    lost += 1
                    continue
                self._note_lost(lost * BLOCK / RATE_HZ)
                lost = 0
        except SpeechError as failure:
            self._without_microphone(str(failure))
        except Exception as failure:  # as in `_run`
            self._without_microphone(
                f"The microphone has failed ({type(failure).__name__}: {failure}). Type from here on."
            )
        self._note_lost(lost * BLOCK / RATE_HZ)
        microphone.close()
        self._blocks.put(None)  # waits for a place: else the ears would wait for ever

    def _note_lost(self, seconds: float) -> None:
        if seconds and (told := self._say.lost(seconds, self._session.clock.now().t_s)):
            self._session.tell(told)

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
        called = False
        if utterance.while_deaf:  # our own voice, or somebody during it: no answer
            cry = self._own.cry_in(utterance)
            called = self._calls_us(utterance)
        else:
            cry = cry_among(utterance, canonical(self._callsign))
            if cry is not None and not isinstance(self._session.meaning(heard_from(utterance)), NotForUs):
                cry = None
        if self._early.answered(utterance.start_s, utterance.end_s, cry or utterance.text):
            return
        if cry is not None or called or not utterance.while_deaf:
            heard = heard_from(utterance if cry is None else crying(utterance, cry))
            missed = self._without_callsign(heard)
            self._hear(heard)
            self._tell(missed)

    def _without_callsign(self, heard: Heard) -> str:
        """What is to be told to whoever forgets the callsign. The utterance itself stays dropped."""
        understood = self._session.meaning(heard)
        if not isinstance(understood, NotForUs) or understood.reason != "no callsign":
            self._say.taken()
            return ""
        said = replace(self._session.sayable(), callsign=None)
        meant = understand(heard, said, self._session.book)
        return self._say.unnamed(isinstance(meant, Meaning) and meant.place == 0, heard.ended_s)

    def _calls_us(self, utterance: Utterance) -> bool:
        """Whether somebody speaks to us by name while we speak. It is not verified: it can move the screen only."""
        named = f"{canonical(utterance.text)} ".startswith(f"{canonical(self._callsign)} ")
        return named and self._own.called(
            utterance.text, canonical(self._callsign), utterance.start_s, utterance.end_s
        )
