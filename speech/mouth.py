"""Says sentences one after another, the urgent ones first, and can be silenced at once.

Rendering and playing happen in a thread of its own: whoever calls `say` or `hush` never waits for a voice
or a device, and a failure of either is told once and leaves the session silent, not stuck.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

from speech.errors import SpeechError
from speech.player import Player
from speech.voice import DEFAULT_SPEAKER, DEFAULT_WORDS_PER_MINUTE, Voice


class Priority(IntEnum):
    """Higher is spoken first. An alarm cuts off all else; a prompt cuts off a prompt and chat."""

    CHAT = 0
    PROMPT = 1
    ALARM = 2


@dataclass(frozen=True)
class Saying:
    text: str
    priority: Priority


@dataclass(frozen=True)
class Told:
    """What the mouth reports: a saying began to sound, or ended. finished: to its end, not cut off."""

    saying: Saying
    began: bool
    finished: bool = False


def silent(_: object) -> None:
    """Tell nobody."""


class Mouth:
    """Speaks. `on_told` and `on_failed` are called from the mouth's thread and must return quickly."""

    def __init__(
        self,
        voice: Voice,
        player: Player,
        on_told: Callable[[Told], None] = silent,
        on_failed: Callable[[str], None] = silent,
        speaker: str = DEFAULT_SPEAKER,
    ) -> None:
        self.words_per_minute = DEFAULT_WORDS_PER_MINUTE
        self._voice, self._player, self._speaker = voice, player, speaker
        self._on_told, self._on_failed = on_told, on_failed
        self._waiting: deque[Saying] = deque()
        self._now: Saying | None = None
        self._cancel = threading.Event()
        self._change = threading.Condition()
        self._closed = False
        self._thread = threading.Thread(target=self._speak, name="mouth", daemon=True)
        self._thread.start()

    @property
    def speaking(self) -> bool:
        """Whether something is being said or waits to be said."""
        with self._change:
            return self._now is not None or bool(self._waiting)

    def say(self, text: str, priority: Priority = Priority.PROMPT) -> None:
        """Say it after what is as urgent or more. A new prompt cuts off and replaces older prompts and chat."""
        with self._change:
            if self._closed:
                return
            self._waiting = deque(s for s in self._waiting if not _gives_way(s, priority))
            if self._now is not None and _gives_way(self._now, priority):
                self._cancel.set()
            place = sum(1 for s in self._waiting if s.priority >= priority)
            self._waiting.insert(place, Saying(text, priority))
            self._change.notify_all()

    def hush(self) -> None:
        """Silence at once; what waits is dropped, except alarms."""
        with self._change:
            self._waiting = deque(s for s in self._waiting if s.priority is Priority.ALARM)
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
                self._change.wait_for(lambda: self._waiting or self._closed)
                if self._closed:
                    return
                saying = self._now = self._waiting.popleft()
                self._cancel.clear()
            began = False
            try:
                sound = self._voice.render(saying.text, self.words_per_minute, self._speaker)
                if not self._cancel.is_set():
                    began = True
                    self._on_told(Told(saying, began=True))
                    finished = self._player.play(sound, self._cancel)
                    began = False
                    self._on_told(Told(saying, began=False, finished=finished))
            except SpeechError as error:
                self._on_failed(str(error))
                if began:
                    self._on_told(Told(saying, began=False))


def _gives_way(old: Saying, priority: Priority) -> bool:
    """A prompt makes older prompts and chat stale; an alarm cuts off what is less urgent, chat nothing."""
    if priority is Priority.PROMPT:
        return old.priority <= Priority.PROMPT
    return priority is Priority.ALARM and old.priority < Priority.ALARM
