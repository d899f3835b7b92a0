"""Shows the fixed views one after another in a real terminal: `python tests/tui/show_views.py [name]`.

A typed name goes to that view, the pedal to the next.
"""

from __future__ import annotations

import sys

from fixed_views import VIEWS
from still_port import StillPort

from tui.bench import BenchApp


class Turning(StillPort):
    def __init__(self, name: str) -> None:
        super().__init__(VIEWS[name])
        self._name = name

    def submit(self, text: str) -> None:
        self._go(text if text in VIEWS else self._name)

    def key(self) -> None:
        names = list(VIEWS)
        self._go(names[(names.index(self._name) + 1) % len(names)])

    def _go(self, name: str) -> None:
        self._name = name
        self.publish(VIEWS[name])


if __name__ == "__main__":
    BenchApp(Turning(sys.argv[1] if len(sys.argv) > 1 else "job")).run()
