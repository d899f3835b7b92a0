"""The two sheets laid over the bench: help, and the question before leaving."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from assistant.view import View
from tui.plain import plain

KEYS = (
    ("F1", "this help"),
    ("F2", "high contrast on and off"),
    ("F3", "next page: conversation, recipe, curve"),
    ("F8", "the pedal: talk now, or 'done' where a step only asks that; never a gate"),
    ("Page Up, Page Down", "move through the page"),
    ("Enter", "sends the typed line"),
    ("Ctrl+Q", "leave; asks first, and nothing is lost"),
)


class Help(ModalScreen[None]):
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1,enter", "dismiss", "close")]

    def __init__(self, view: View) -> None:
        super().__init__()
        self._view = view

    def compose(self) -> ComposeResult:
        keys = "\n".join(f"{key:<20}{what}" for key, what in KEYS)
        say = plain(" · ".join(self._view.can_say)) or "nothing: wait"
        with Vertical(classes="sheet"):
            yield Static("HELP", classes="sheet-title", markup=False)
            yield Static(keys, markup=False)
            yield Static(f"You can say or type now: {say}", markup=False)
            yield Static(f"The record: {plain(self._view.log_path)}", markup=False)
            yield Static("Esc or Enter closes this.", classes="sheet-foot", markup=False)


class Leave(ModalScreen[bool]):
    """Dismissed with True to leave. Enter and Escape stay: leaving takes a key of its own."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "leave", "leave"),
        Binding("s,escape,enter", "stay", "stay"),
    ]

    def __init__(self, view: View) -> None:
        super().__init__()
        self._view = view

    def compose(self) -> ComposeResult:
        with Vertical(classes="sheet"):
            yield Static("LEAVE THE BENCH?", classes="sheet-title", markup=False)
            if self._view.timers:
                yield Static(
                    "A timer is running. The press goes on by itself; nobody is watching it for you.",
                    markup=False,
                )
            yield Static(
                f"Nothing is lost: the record is on disk at {plain(self._view.log_path)}, "
                "and 'loopwright' takes this job up again.",
                markup=False,
            )
            yield Static("S, Esc or Enter: stay.     L: leave.", classes="sheet-foot", markup=False)

    def action_leave(self) -> None:
        self.dismiss(True)

    def action_stay(self) -> None:
        self.dismiss(False)
