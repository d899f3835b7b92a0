"""A session that stands still: shows the view it is given, and notes what the screen sends."""

from __future__ import annotations

from collections.abc import Callable

from assistant.view import Line, View


class StillPort:
    def __init__(self, view: View) -> None:
        self._view = view
        self._callbacks: list[Callable[[View], None]] = []
        self.submitted: list[str] = []
        self.presses = 0
        self.closed = False

    def submit(self, text: str) -> None:
        self.submitted.append(text)

    def key(self) -> None:
        self.presses += 1

    def view(self) -> View:
        return self._view

    def subscribe(self, callback: Callable[[View], None]) -> None:
        self._callbacks.append(callback)

    def lines_since(self, count: int) -> tuple[Line, ...]:
        return self._view.conversation[count:]

    def idle(self) -> bool:
        return True

    def awaits_sound(self) -> bool:
        return False

    def close(self) -> None:
        self.closed = True

    def publish(self, view: View) -> None:
        self._view = view
        for callback in self._callbacks:
            callback(view)
