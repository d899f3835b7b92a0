"""The conversation as screens show it: the last of what was said on both sides, and lines about the bench itself."""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.events import Event
from assistant.procedure.turn import Utter
from assistant.view import By, Line, Who

KEPT_LINES = 400  # for a screen
LAST_LINES = 12  # of it, told anew to whoever takes the session up


class Conversation:
    """count: how many lines there have been, with those that are kept no more."""

    def __init__(self) -> None:
        self._lines: list[Line] = []
        self.count = 0

    def add(self, who: Who, text: str, t_s: float, way: By = "") -> None:
        self._lines.append(Line(who, text, t_s, way))
        self.count += 1
        del self._lines[:-KEPT_LINES]

    def add_said(self, utter: Utter, t_s: float) -> None:
        self.add("alarm" if utter.rank == "alarm" else "bench", utter.text, t_s)

    def add_logged(self, event: Event, t_s: float) -> None:
        """An entry of a log that is taken up; most are no conversation."""
        if isinstance(event, e.HeardWords):
            self.add("you", event.text, t_s, event.way if event.way != "file" else "")
        elif isinstance(event, e.Said):
            self.add_said(Utter(event.text, event.rank), t_s)

    def tell_only_the_last(self) -> None:
        """All but the last lines count as told long ago."""
        self.count = min(LAST_LINES, len(self._lines))

    def lines(self) -> tuple[Line, ...]:
        return tuple(self._lines)

    def since(self, count: int) -> tuple[Line, ...]:
        """After its first `count` lines."""
        new = self.count - count
        return tuple(self._lines[-new:]) if new > 0 else ()
