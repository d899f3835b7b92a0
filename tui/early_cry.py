"""A path of its own for danger: looks at what is being said while it is said, and cries out at once.

It runs beside the ear that answers go through, and takes nothing from it: the utterance is cut, transcribed and
judged as ever. A word of danger at the end of the sound so far may be half a word, or the beginning of a harmless
saying ('fire the press up'): it counts when the voice has fallen silent, or when the next look finds it again.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from intents.canonical import canonical
from intents.danger import danger_word, may_end_harmless
from intents.meaning import Heard
from tui.own_voice import OwnVoice

if TYPE_CHECKING:
    from speech.ear import Ear
    from speech.errors import Missing
    from speech.listen import Listener
    from speech.lookout import Glimpse, Lookout

WORDS_AFTER = 2  # behind the cry: then it was no half word
NOT_EARLY = "Danger is heard only when a sentence has ended, not at once: {why}"


class EarlyCry:
    """Looks, and tells. A look that is late makes way for the newest: they never queue up.

    cried: gets a cry, once for each utterance. called: our name was called while we spoke.
    """

    def __init__(
        self, own: OwnVoice, callsign: str | None, cried: Callable[[Heard], None], called: Callable[[], None]
    ) -> None:
        from speech.lookout import Lookout

        self._own, self._cried, self._called = own, cried, called
        self._callsign = canonical(callsign or "")
        self._lookout: Lookout = Lookout()
        self._ear: Ear | None = None
        self._before: tuple[float, str | None] = (
            float("-inf"),
            None,
        )  # utterance, its danger word a look ago
        self._answered: dict[float, str] = {}  # by the beginning of an utterance: the cry that was passed on
        self._newest: Glimpse | None = None
        self._change = threading.Condition()
        self._closed = False
        self._in_thread = False

    def use(self, ear: Ear) -> None:
        """Look with this ear, in the caller's own thread."""
        self._ear = ear

    def start(self, find_ear: Callable[[], Ear | Missing], note: Callable[[str], None]) -> None:
        """Look in a thread of its own from now on. Returns at once; the model loads in the thread."""
        self._in_thread = True
        threading.Thread(target=self._run, args=(find_ear, note), name="lookout", daemon=True).start()

    def close(self) -> None:
        with self._change:
            self._closed = True
            self._change.notify_all()

    def watch(self, listener: Listener) -> None:
        """Call after each block that the listener has taken."""
        if self._ear is None or (glimpse := self._lookout.due(listener)) is None:
            return
        if not self._in_thread:
            self._look(glimpse, self._ear)
            return
        with self._change:
            self._newest = glimpse
            self._change.notify_all()

    def answered(self, start_s: float, text: str) -> bool:
        """Whether this utterance's cry was passed on already, and there is no other in it."""
        early = self._answered.get(start_s)
        return early is not None and danger_word(text, self._callsign) == early

    def _run(self, find_ear: Callable[[], Ear | Missing], note: Callable[[str], None]) -> None:
        from speech.errors import Missing

        try:
            ear = find_ear()
            if isinstance(ear, Missing):
                return note(NOT_EARLY.format(why=ear.sentence))
            self._ear = ear
            while (glimpse := self._next()) is not None:
                self._look(glimpse, ear)
        except Exception as failure:  # an engine may fail in any way; the utterances are still heard
            self._ear = None
            note(NOT_EARLY.format(why=f"the early look has failed ({failure})."))

    def _next(self) -> Glimpse | None:
        with self._change:
            self._change.wait_for(lambda: self._newest is not None or self._closed)
            glimpse, self._newest = self._newest, None
            return None if self._closed else glimpse

    def _look(self, glimpse: Glimpse, ear: Ear) -> None:
        words = ear.hear(glimpse.samples)
        if glimpse.while_deaf and self._own.called(
            words.text, self._callsign, glimpse.start_s, glimpse.end_s
        ):
            self._called()
        start_s, before = self._before
        found = None
        for text in (words.text, *words.alternatives):
            word = self._own.early_cry(text, glimpse.start_s, glimpse.end_s)
            if word is None:
                continue
            found = found or word
            again = start_s == glimpse.start_s and before == word
            if counts(text, word, self._callsign, fell_silent=glimpse.fell_silent, again=again):
                self._pass_on(glimpse, text, word, ear)
                break
        self._before = (glimpse.start_s, found)

    def _pass_on(self, glimpse: Glimpse, text: str, word: str, ear: Ear) -> None:
        if self._answered.get(glimpse.start_s) == word:
            return
        self._answered = {glimpse.start_s: word}
        self._cried(
            Heard(
                text=text, way="voice", began_s=glimpse.start_s, ended_s=glimpse.end_s, engine=ear.name,
                verified=False, gate_grade=False, why_not="it was heard before it had ended",
            )
        )  # fmt: skip


def counts(text: str, word: str, callsign: str = "", *, fell_silent: bool, again: bool) -> bool:
    """Whether a word of danger in a text that may go on is to be acted on now.

    callsign: canonical. again: the look before this one found it too.
    """
    if fell_silent:
        return True
    if may_end_harmless(text, callsign):
        return False
    return again or len(canonical(text).split(word)[-1].split()) >= WORDS_AFTER
