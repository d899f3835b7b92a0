"""A session running in a thread of its own: inputs queue up, time ticks, screens read snapshots."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Sequence
from functools import partial

from assistant.session import Session
from assistant.view import Line, View
from intents.meaning import Heard

BEAT_S = 0.25
BOUNCES_S = 0.3  # a pedal that chatters, or is held down, has been pressed once


class RunningSession:
    """The session as a screen's port. The thread is the only one that gives it inputs."""

    def __init__(self, session: Session, closing: Sequence[Callable[[], None]] = ()) -> None:
        self.session = session
        self._closing = closing
        self.awaits: Callable[[], bool] = _never  # whether something may still be heard
        self._inputs: queue.Queue[tuple[str, str | Heard, float]] = queue.Queue()
        self._stop = threading.Event()
        self._failure: BaseException | None = None
        self._pressed_s = float("-inf")  # of the last press, dropped ones too
        self._thread = threading.Thread(target=self._run, name="session", daemon=True)
        self._thread.start()

    def submit(self, text: str) -> None:
        self._inputs.put(("typed", text, self.session.clock.now().t_s))

    def key(self) -> None:
        before_s, self._pressed_s = self._pressed_s, time.monotonic()
        if self._pressed_s - before_s < BOUNCES_S:
            return
        self._inputs.put(("key", "", self.session.clock.now().t_s))

    def hear(self, heard: Heard) -> None:
        self._inputs.put(("heard", heard, heard.began_s))

    def view(self) -> View:
        self._raise_failure()
        return self.session.view()

    def subscribe(self, callback: Callable[[View], None]) -> None:
        self.session.subscribe(callback)

    def lines_since(self, count: int) -> tuple[Line, ...]:
        return self.session.lines_since(count)

    def idle(self) -> bool:
        self._raise_failure()
        return self._inputs.unfinished_tasks == 0

    def awaits_sound(self) -> bool:
        return self.awaits()

    def close(self) -> None:
        if self._stop.is_set():
            return
        self._stop.set()
        self._thread.join(timeout=10)
        for close in self._closing:
            close()
        self.session.writer.close()

    def _raise_failure(self) -> None:
        if self._failure is not None:
            raise self._failure

    def _run(self) -> None:
        """Inputs as they come; a tick whenever it is due, however fast they come."""
        due_s = time.monotonic() + BEAT_S
        while not self._stop.is_set():
            left_s = due_s - time.monotonic()
            if left_s <= 0:
                self._guarded(self.session.tick)
                due_s = time.monotonic() + BEAT_S
                continue
            try:
                kind, what, at_s = self._inputs.get(timeout=left_s)
            except queue.Empty:
                continue
            if isinstance(what, Heard):
                self._guarded(partial(self.session.hear, what))
            elif kind == "key":
                self._guarded(partial(self.session.key, at_s))
            else:
                self._guarded(partial(self.session.typed, what, at_s))
            self._inputs.task_done()

    def _guarded(self, act: Callable[[], None]) -> None:
        """A fault of ours must reach the command line, not die in a thread."""
        try:
            act()
        except BaseException as failure:
            self._failure = failure
            self._stop.set()


def _never() -> bool:
    return False
