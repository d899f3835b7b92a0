"""Says sentences one after another, the urgent ones first, and can be silenced at once.

Rendering and playing happen in threads of their own: whoever calls `say` or `hush` never waits for a voice
or a device. A loudspeaker that fails or hangs is told once, and looked for again every few seconds, and at each
alarm at once; until it is back nothing is said, and nobody waits. That it is back is told once, too. One that is
not here when the mouth is made is looked for likewise.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

from speech.earcons import Earcon, earcon
from speech.errors import Missing, SpeechError
from speech.loudspeaker import Loudspeaker
from speech.pieces import pieces
from speech.player import Player
from speech.sound import Sound, louder
from speech.voice import DEFAULT_SPEAKER, DEFAULT_WORDS_PER_MINUTE, FASTEST, SLOWEST, Voice

RETRY_S = 3.0  # until a loudspeaker that was lost is looked for again
LOST = "All is written until it is back; I look for it again."
LOUDER_DB = 4.0  # a step that is noticed
MOST_GAIN_DB = 12.0
RATE_STEP = 0.85
LOUDER_ALARM_DB = 6.0  # what an alarm's tones can still gain below full scale


class Priority(IntEnum):
    """Higher is spoken first. An alarm cuts in; a prompt replaces a prompt and chat."""

    CHAT = 0
    PROMPT = 1
    ALARM = 2


@dataclass(frozen=True)
class Saying:
    """ticket: the caller's own mark, by which it knows one of two sayings with the same words.

    cue: a short sound in place of words; `text` is empty then.
    """

    text: str
    priority: Priority
    ticket: int = 0
    cue: Earcon | None = None


@dataclass(frozen=True)
class Told:
    """What the mouth reports: a saying began to sound, or ended.

    finished: to its end, not cut off. again: an alarm cut it off, and it is said again after that.
    """

    saying: Saying
    began: bool
    finished: bool = False
    again: bool = False


def silent(_: object) -> None:
    """Tell nobody."""


class Mouth:
    """Speaks. `on_told`, `on_failed` and `on_back` are called from the mouth's thread and must return quickly.

    player: Missing: there is none yet, and whoever makes the mouth has told so. find: looks for a player while there is
    none; None: the same one is tried again. on_back: it plays again, or at last.
    """

    def __init__(
        self,
        voice: Voice,
        player: Player | Missing,
        on_told: Callable[[Told], None] = silent,
        on_failed: Callable[[str], None] = silent,
        speaker: str = DEFAULT_SPEAKER,
        find: Callable[[], Player | Missing] | None = None,
    ) -> None:
        self.words_per_minute = DEFAULT_WORDS_PER_MINUTE
        self.gain_db = 0.0
        self.earcons = True  # short sounds, and tones before each alarm
        self.on_playing: Callable[[Sound | None], None] = silent  # given to the player now; None: cut off
        self.on_back: Callable[[str], None] = silent
        self._voice, self._speaker = voice, speaker
        self._loudspeaker = Loudspeaker(player, find or (lambda: player))
        self._tried: Saying | None = None  # the alarm under which it was lost, to be said once more
        self._on_told, self._on_failed = on_told, on_failed
        self._waiting: deque[Saying] = deque()
        self._now: Saying | None = None
        self._cancel = threading.Event()
        self._voice_guard = threading.Lock()
        self._change = threading.Condition()
        self._closed = False
        self._thread = threading.Thread(target=self._speak, name="mouth", daemon=True)
        self._thread.start()

    def adjust(self, how: Literal["slower", "faster", "louder", "quieter"]) -> None:
        """From the next sentence on: 15 % slower or faster, or 4 dB louder or quieter, within what a voice and an ear can do."""
        if how == "slower":
            self.words_per_minute = max(SLOWEST, round(self.words_per_minute * RATE_STEP))
        elif how == "faster":
            self.words_per_minute = min(FASTEST, round(self.words_per_minute / RATE_STEP))
        else:
            step_db = LOUDER_DB if how == "louder" else -LOUDER_DB
            self.gain_db = min(MOST_GAIN_DB, max(-MOST_GAIN_DB, self.gain_db + step_db))

    @property
    def speaking(self) -> bool:
        """Whether something is being said or waits to be said."""
        with self._change:
            return self._now is not None or bool(self._waiting)

    def say(self, text: str, priority: Priority = Priority.PROMPT, ticket: int = 0) -> bool:
        """Say it after what is as urgent or more.

        A new prompt cuts off and replaces older prompts and chat. An alarm cuts off a prompt or chat, which is
        said again from its beginning after the alarm.

        Returns:
            False: it is not said; the mouth is closed, or its loudspeaker is lost and this is no alarm.
        """
        with self._change:
            if self._closed or (self._loudspeaker.lost and priority is not Priority.ALARM):
                return False
            now = None if self._cancel.is_set() else self._now
            if priority is Priority.PROMPT:
                self._waiting = deque(s for s in self._waiting if s.priority is Priority.ALARM or s.cue)
            cuts = now is not None and priority > Priority.CHAT and now.priority < Priority.ALARM
            if now is not None and cuts and not (now.cue and priority is Priority.PROMPT):
                self._cancel.set()
                if priority is Priority.ALARM and not now.cue:
                    self._waiting.insert(sum(1 for s in self._waiting if s.priority > now.priority), now)
            self._waiting.insert(
                sum(1 for s in self._waiting if s.priority >= priority), Saying(text, priority, ticket)
            )
            self._change.notify_all()
        return True

    def cue(self, which: Earcon) -> None:
        """A short sound before all that waits; none while an alarm sounds or waits, nor where earcons are off."""
        with self._change:
            now = () if self._now is None else (self._now,)
            if self._closed or self._loudspeaker.lost or not self.earcons:
                return
            if any(s.priority is Priority.ALARM or s.cue for s in (*now, *self._waiting)):
                return
            self._waiting.appendleft(Saying("", Priority.PROMPT, cue=which))
            self._change.notify_all()

    def hush(self) -> None:
        """Silence at once, and what waits is dropped; except alarms, which are always said to their end."""
        with self._change:
            self._waiting = deque(s for s in self._waiting if s.priority is Priority.ALARM)
            if self._now is None or self._now.priority is not Priority.ALARM:
                self._cancel.set()

    def close(self, within_s: float = 1.0) -> None:
        """End the thread; a hanging device is left behind after `within_s` seconds."""
        with self._change:
            self._closed = True
            self._waiting.clear()
            self._cancel.set()
            self._change.notify_all()
        self._thread.join(within_s)

    def _speak(self) -> None:
        while True:
            with self._change:
                self._now = None
                wait_s = RETRY_S if self._loudspeaker.lost else None
                self._change.wait_for(lambda: self._waiting or self._closed, wait_s)
                if self._closed:
                    return
                self._cancel.clear()
            if self._loudspeaker.lost:
                self._look_again()
                continue
            with self._change:
                if not self._waiting:
                    continue
                saying = self._now = self._waiting.popleft()
                self._cancel.clear()
            if saying.cue is None:
                self._say_in_pieces(saying)
            else:
                self._on_told(Told(saying, began=True))
                finished = self._sound(louder(earcon(saying.cue), self.gain_db))
                self._on_told(Told(saying, began=False, finished=finished))

    def _say_in_pieces(self, saying: Saying) -> None:
        """Sounds as soon as the first piece is rendered; each next one is rendered while one sounds."""
        began = finished = failed = False  # failed: told once, however many pieces it takes
        parts = pieces(saying.text)
        coming = self._render(parts[0])
        if saying.priority is Priority.ALARM and self.earcons:
            began = True
            self._on_told(Told(saying, began=True))
            self._sound(louder(earcon("alarm"), min(LOUDER_ALARM_DB, max(0.0, self.gain_db))))
        for following in (*parts[1:], None):
            sound = coming()
            if following is not None and not self._cancel.is_set():
                coming = self._render(following)
            if isinstance(sound, str):  # this piece only: the next may go
                if not failed:
                    failed = True
                    self._on_failed(sound)
                continue
            finished = False
            if self._cancel.is_set():
                break
            if not began:
                began = True
                self._on_told(Told(saying, began=True))
            finished = self._sound(sound)
            if not finished:
                break
        if began:
            with self._change:
                again = any(waits is saying for waits in self._waiting)
            self._on_told(Told(saying, began=False, finished=finished, again=again))

    def _render(self, text: str) -> Callable[[], Sound | str]:
        """Begins to render; what is given waits for the sound, or the sentence that says why there is none."""
        made: list[Sound | str] = []

        def render() -> None:
            with self._voice_guard:
                try:
                    sound = self._voice.render(text, self.words_per_minute, self._speaker)
                    made.append(louder(sound, self.gain_db))
                except SpeechError as error:
                    made.append(str(error))
                except Exception as error:  # a voice may fail in any way; the mouth must not
                    made.append(f"The voice failed ({type(error).__name__}: {error}); it is written only.")

        worker = threading.Thread(target=render, name="voice", daemon=True)
        worker.start()

        def wait() -> Sound | str:
            worker.join()
            return made[0]

        return wait

    def _look_again(self) -> None:
        """For a loudspeaker that is lost. Alarms that wait are given up where there is none: they are written."""
        here = "is back" if self._loudspeaker.name else "is here now"
        if self._loudspeaker.found_again(self._cancel):
            self.on_back(f"The loudspeaker ({self._loudspeaker.name}) {here}.")
            return
        with self._change:
            given_up, self._waiting = tuple(self._waiting), deque()
        for saying in given_up:
            self._on_told(Told(saying, began=False))

    def _sound(self, sound: Sound) -> bool:
        """True: to its end. A loudspeaker that is lost is told; an alarm is said once more where it is found again."""
        outcome = self._loudspeaker.play(sound, self._cancel, self.on_playing)
        if isinstance(outcome, bool):
            return outcome
        with self._change:
            now = self._now
            self._waiting = deque(s for s in self._waiting if s.priority is Priority.ALARM)
            if now is not None and now.priority is Priority.ALARM and now is not self._tried:
                self._tried = now
                self._waiting.appendleft(now)
        self._cancel.set()
        self._on_failed(f"{outcome} {LOST}")
        return False
