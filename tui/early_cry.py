"""A path of its own for danger: looks at what is being said while it is said, and cries out at once.

It runs beside the ear that answers go through, and takes nothing from it: the utterance is cut, transcribed and
judged as ever. While our own voice sounds it also looks at the sound with that voice taken out, which no answer ever
goes through. A word of danger at the end of the sound so far may be half a word, or the beginning of a harmless
saying ('fire the press up'): it counts when the voice has fallen silent, or when the next look finds it again.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from intents.canonical import canonical
from intents.danger import danger_word, may_end_harmless
from intents.meaning import Heard
from tui.failures import Failures
from tui.own_voice import OwnVoice

if TYPE_CHECKING:
    from speech.ear import Ear
    from speech.errors import Missing
    from speech.listen import Listener
    from speech.lookout import Glimpse, Lookout
    from speech.sound import Samples

KEPT = 4  # cries that the utterance after them is compared with
WORDS_AFTER = 2  # behind the cry: then it was no half word
NOT_EARLY = "Danger is heard only when a sentence has ended, not at once: {why}"


class EarlyCry:
    """Looks, and tells. A look that is late makes way for the newest: they never queue up.

    cried: gets a cry, once for each utterance. called: our name was called while we spoke.
    on_so_far: gets when the voice began [session second] and what it seems to have said, for a screen to show.
    """

    def __init__(
        self, own: OwnVoice, callsign: str | None, cried: Callable[[Heard], None], called: Callable[[], None]
    ) -> None:
        from speech.lookout import Lookout
        from speech.own_sound import OwnSound
        from speech.under_voice import UnderVoice

        self._own, self._cried, self._called = own, cried, called
        self._callsign = canonical(callsign or "")
        self._lookout: Lookout = Lookout()
        self._sound = OwnSound()
        self._under, self._lookout_under = UnderVoice(self._sound), Lookout()
        self._ear: Ear | None = None
        # By way: the utterance, and its danger word a look ago.
        self._before: dict[bool, tuple[float, str | None]] = {}
        self._answered: tuple[tuple[float, float, str], ...] = ()  # the last cries passed on, from and to
        self._newest: dict[bool, Glimpse] = {}  # by way: the sound as it is, and without our voice
        self._change = threading.Condition()
        self._closed = False
        self._in_thread = False
        self.on_so_far: Callable[[float, str], None] = lambda _start_s, _text: None

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
        self._let_go()

    def watch(self, listener: Listener) -> None:
        """Call after each block that the listener has taken."""
        self._show(self._lookout.due(listener.cutter, while_deaf=listener.while_deaf))

    def playing(self, samples: Samples | None, at_s: float) -> None:
        """Our loudspeaker is given this now [session second]. None: it was cut off. From any thread."""
        if samples is None:
            self._sound.cut_off(at_s)
        else:
            self._sound.began(samples, at_s)

    def watch_under_our_voice(self, block: Samples, at_s: float) -> None:
        """Call with each block of the microphone, and when its last sample came [session second]."""
        if self._ear is None or not self._under.feed(block, at_s) or self._under.cutter is None:
            return
        self._show(self._lookout_under.due(self._under.cutter, while_deaf=True, cleaned=True))

    def _show(self, glimpse: Glimpse | None) -> None:
        if self._ear is None or glimpse is None:
            return
        if not self._in_thread:
            self._look(glimpse, self._ear)
            return
        with self._change:
            self._newest[glimpse.cleaned] = glimpse
            self._change.notify_all()

    def answered(self, start_s: float, end_s: float, text: str) -> bool:
        """Whether this utterance's cry was passed on already, and there is no other in it."""
        word = danger_word(text, self._callsign)
        return word is not None and any(
            word == cry and begun_s <= end_s and start_s <= until_s
            for begun_s, until_s, cry in self._answered
        )

    def _run(self, find_ear: Callable[[], Ear | Missing], note: Callable[[str], None]) -> None:
        from speech.errors import Missing

        failures = Failures()
        while not self._closed:
            try:
                ear = find_ear()
                if isinstance(ear, Missing):
                    return note(NOT_EARLY.format(why=ear.sentence))
                self._ear = ear
                while (glimpse := self._next()) is not None:
                    self._look(glimpse, ear)
            except Exception as failure:  # an engine may fail in any way; the utterances are still heard
                self._let_go()
                if self._closed:
                    return None
                if failures.too_many(time.monotonic()):
                    return note(NOT_EARLY.format(why=f"the early look has failed ({failure})."))
                note(f"The early look for danger has failed ({failure}) and is started again.")
        self._let_go()  # it may have come while we were closed
        return None

    def _let_go(self) -> None:
        ear, self._ear = self._ear, None
        close = getattr(ear, "close", None)
        if close is not None:  # it lives in a process
            close()

    def _next(self) -> Glimpse | None:
        with self._change:
            self._change.wait_for(lambda: self._newest or self._closed)
            if self._closed:
                return None
            return self._newest.pop(max(self._newest))  # without our voice first: it tells more

    def _look(self, glimpse: Glimpse, ear: Ear) -> None:
        words = ear.hear(glimpse.samples)
        if not glimpse.while_deaf:
            self.on_so_far(glimpse.start_s, words.text)
        if glimpse.while_deaf and self._own.called(
            words.text, self._callsign, glimpse.start_s, glimpse.end_s
        ):
            self._called()
        start_s, before = self._before.get(glimpse.cleaned, (float("-inf"), None))
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
        self._before[glimpse.cleaned] = (glimpse.start_s, found)

    def _pass_on(self, glimpse: Glimpse, text: str, word: str, ear: Ear) -> None:
        if self.answered(glimpse.start_s, glimpse.end_s, text):
            return
        self._answered = (*self._answered, (glimpse.start_s, glimpse.end_s, word))[-KEPT:]
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
