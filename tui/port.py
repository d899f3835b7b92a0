"""The little that a screen needs of a session; whatever fulfils it can be shown."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from assistant.view import Line, View


class Port(Protocol):
    """A running session as seen from a screen. Every call returns at once and may come from any thread."""

    def submit(self, text: str) -> None:
        """A typed line, as entered."""

    def key(self) -> None:
        """The pedal, or the key that stands for it."""

    def view(self) -> View:
        """The latest snapshot."""

    def subscribe(self, callback: Callable[[View], None]) -> None:
        """`callback` gets each new snapshot, from the session's own thread; it must return at once."""

    def lines_since(self, count: int) -> tuple[Line, ...]:
        """The conversation after its first `count` lines."""

    def idle(self) -> bool:
        """True when everything submitted has been answered."""

    def awaits_sound(self) -> bool:
        """True while ears that have listened may still hear something, now or when their microphone is back."""

    def close(self) -> None:
        """Stops the session; what is on disk can be taken up again. May be called twice."""
