"""Joins ears and voice to a running session: sound in, sentences out, each in a thread of its own.

Whatever is missing or fails is said once on the screen, and typing goes on.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.procedure.turn import Rank
from assistant.session import Session
from intents.danger import is_danger
from intents.grammar import phrases
from intents.meaning import Heard
from intents.spoken_text import aloud

if TYPE_CHECKING:
    from speech.ear import Ear
    from speech.listen import Listener
    from speech.microphone import Microphone
    from speech.mouth import Mouth as SpeechMouth
    from speech.mouth import Told
    from speech.sound import Samples
    from speech.utterance import Utterance


class SpokenMouth:
    """The session's mouth on a loudspeaker: ranks to priorities, and 'ended' for each text that was said."""

    def __init__(
        self, speech: Callable[[Callable[[Told], None], Callable[[str], None]], SpeechMouth]
    ) -> None:
        self._waiting: list[tuple[str, Callable[[], None]]] = []
        self._guard = threading.Lock()
        self.on_sounding: Callable[[bool], None] = _ignore
        self.on_failed: Callable[[str], None] = _ignore
        self._speech = speech(self._told, self._failed)

    def say(self, text: str, rank: Rank, ended: Callable[[], None]) -> None:
        from speech.mouth import Priority

        words = aloud(text)
        with self._guard:
            self._waiting = [*self._waiting[-20:], (words, ended)]
        self._speech.say(words, Priority[rank.upper()])

    def hush(self) -> None:
        self._speech.hush()

    def close(self) -> None:
        self._speech.close()

    def _told(self, told: Told) -> None:
        self.on_sounding(told.began)
        if not told.began:
            self._ended(told.saying.text)

    def _failed(self, sentence: str) -> None:
        """Nothing is heard any more, but all of it is written: it counts as put."""
        self.on_failed(sentence)
        with self._guard:
            waiting, self._waiting = self._waiting, []
        for _, ended in waiting:
            ended()

    def _ended(self, words: str) -> None:
        with self._guard:
            place = next((n for n, (said, _) in enumerate(self._waiting) if said == words), None)
            found = self._waiting.pop(place)[1] if place is not None else _nothing
        found()


class Hearing:
    """Microphone, ear and session joined. `close` ends it; a failure ends it too, and is said."""

    def __init__(
        self, session: Session, hear: Callable[[Heard], None], microphone: Path | None = None
    ) -> None:
        self._session, self._hear = session, hear
        self._file = microphone
        self._blocks: queue.Queue[tuple[Samples, float] | None] = queue.Queue()
        self._microphone: Microphone | None = None
        self._listener: Listener | None = None
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._run, name="ears", daemon=True)

    def start(self) -> None:
        """Returns at once; models load in the thread."""
        self._thread.start()

    def sounding(self, began: bool) -> None:
        """Our own voice begins or has ended: deaf to answers meanwhile."""
        if self._listener is not None:
            self._listener.own_voice(began, self._session.clock.now().t_s)

    def close(self) -> None:
        self._closed.set()
        self._blocks.put(None)
        if self._microphone is not None:
            self._microphone.close()

    def _run(self) -> None:
        from speech.errors import Missing, SpeechError

        try:
            from speech.ears import GOOD_FOR_GATES, TYPE_THE_GATES, open_ear
            from speech.listen import Listener
            from speech.microphone import open_microphone

            ear = open_ear()
            if isinstance(ear, Missing):
                return self._typing_only(ear.sentence)
            microphone = open_microphone(self._file)
            if isinstance(microphone, Missing):
                return self._typing_only(microphone.sentence)
            self._microphone, self._listener = microphone, Listener(ear)
            self._session.note(f"Listening through {microphone.name} with {ear.name}.")
            self._session.note(GOOD_FOR_GATES if ear.good_for_gates else TYPE_THE_GATES)
            threading.Thread(target=self._read, args=(microphone,), name="microphone", daemon=True).start()
            self._listen(ear, self._listener)
        except SpeechError as failure:
            self._typing_only(str(failure))
        except Exception as failure:  # an engine may fail in any way; the session must not
            self._typing_only(f"The ears have failed ({type(failure).__name__}: {failure}).")

    def _typing_only(self, why: str) -> None:
        if not self._closed.is_set():
            self._session.set_ear("TYPE ONLY", why)
            self._session.note(why)

    def _read(self, microphone: Microphone) -> None:
        """Stamps each block with when it came, so that a slow ear does not shift what was said when."""
        from speech.errors import SpeechError

        try:
            for block in microphone.blocks():
                self._blocks.put((block, self._session.clock.now().t_s))
        except SpeechError as failure:
            self._typing_only(str(failure))
        self._blocks.put(None)

    def _listen(self, ear: Ear, listener: Listener) -> None:
        expecting = ""
        while not self._closed.is_set():
            item = self._blocks.get()
            if item is None:
                break
            question = self._session.question()
            if question != expecting:
                expecting = question
                self._expect(ear, listener)
            self._show(listener)
            for utterance in listener.feed(item[0], item[1]):
                self._pass_on(utterance)
        for utterance in listener.flush():
            self._pass_on(utterance)
        if not self._closed.is_set():
            self._typing_only("The microphone has ended. Type from here on.")

    def _expect(self, ear: Ear, listener: Listener) -> None:
        """What can be said now: held engines get the list, numbers get more patience."""
        said = self._session.sayable()
        listener.wait_for_number(said.expected is not None and said.expected.kind == "quantity")
        expect = getattr(ear, "expect", None)
        if expect is not None:
            expect(phrases(said, self._session.book))

    def _show(self, listener: Listener) -> None:
        trouble = listener.trouble
        self._session.set_ear("HEARING YOU" if listener.hearing else "LISTENING", trouble)

    def _pass_on(self, utterance: Utterance) -> None:
        if utterance.while_deaf and not is_danger(utterance.text):
            return  # our own voice, or somebody during it: no answer
        self._hear(heard_from(utterance))


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


def find_mouth() -> SpokenMouth | str:
    """A mouth, or the sentence that says what is missing."""
    from speech.errors import Missing, SpeechError
    from speech.mouth import Mouth
    from speech.player import find_player
    from speech.voice import find_voice

    try:
        player = find_player()
        if isinstance(player, Missing):
            return player.sentence
        voice = find_voice()
        if isinstance(voice, Missing):
            return voice.sentence
        return SpokenMouth(lambda told, failed: Mouth(voice, player, told, failed))
    except SpeechError as failure:
        return str(failure)


def _nothing() -> None:
    return


def _ignore(_: object) -> None:
    return
