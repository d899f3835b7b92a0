"""The bench screen: what to do now in large letters, and around it all that a glance may look for.

It only renders snapshots. The session runs in its own thread and posts; typed lines and the pedal go to it
through a `Port`.
"""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.widgets import Input, Static

from assistant.view import View
from tui.asking import Help, Leave
from tui.palette import CONTRAST, DUSK, PALETTES, theme_of
from tui.plain import plain
from tui.port import Port
from tui.widgets.act import ActPanel, HeldBand
from tui.widgets.drawn import Drawn, Paged
from tui.widgets.gate import GatePanel
from tui.widgets.meter import Meter
from tui.widgets.pages import Conversation, CurvePage, RecipePage
from tui.widgets.stages import StageLine, StageList
from tui.widgets.status import Status

PAGES = ("conversation", "recipe", "curve")
KEY_LINE = " F1 help   F2 contrast   F3 page   F8 pedal   Ctrl+Q leave"
_ROOMY = (120, 36)  # columns and rows from which all pages show at once


class Shown(Message):
    """A new snapshot; one not yet drawn gives way to the next."""

    def __init__(self, view: View) -> None:
        super().__init__()
        self.view = view

    def can_replace(self, message: Message) -> bool:
        return isinstance(message, Shown)


class BenchApp(App[None]):
    """The whole bench screen on one `Port`. Closing the port is the caller's."""

    CSS_PATH = "bench.tcss"
    TITLE = "loopwright"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "help", priority=True),
        Binding("f2", "contrast", "high contrast", priority=True),
        Binding("f3", "page", "next page", priority=True),
        Binding("f8", "pedal", "pedal", priority=True),
        Binding("ctrl+q,ctrl+c", "leave", "leave", priority=True),
        Binding("pageup", "turn(1)", "back", priority=True),
        Binding("pagedown", "turn(-1)", "on", priority=True),
    ]

    def __init__(self, port: Port) -> None:
        super().__init__()
        self._port = port
        self._latest = port.view()
        self._page = 0
        self._pages_asked = self._latest.pages_asked
        self._roomy = False
        self._alarm_s = -1.0
        self.failure: Exception | None = None
        for palette in PALETTES:
            self.register_theme(theme_of(palette))
        self.theme = DUSK.name

    def _handle_exception(self, error: Exception) -> None:
        # Textual would print a traceback on leaving; the caller raises `failure` instead.
        self.failure = self.failure or error
        super()._handle_exception(error)

    def _print_error_renderables(self) -> None:
        self._exit_renderables.clear()

    def compose(self) -> ComposeResult:
        yield Status(id="status")
        yield StageLine(id="stage-line")
        yield HeldBand(id="held")
        with Vertical(id="now"):
            yield GatePanel(id="gate")
            yield ActPanel(id="act")
            yield Meter(id="meter")
        with Horizontal(id="pages"):
            yield StageList(id="stages")
            yield Conversation(id="conversation")
            with Vertical(id="side"):
                yield RecipePage(id="recipe")
                yield CurvePage(id="curve")
        with Vertical(id="foot"):
            yield Static(id="ear-note", markup=False)
            yield Static(id="can-say", markup=False)
            with Horizontal(id="entry-line"):
                yield Static(" > ", markup=False)
                yield Input(id="entry", placeholder="type here, Enter sends", compact=True)
            yield Static(KEY_LINE, id="keys", markup=False)

    def on_mount(self) -> None:
        self.query_one("#entry", Input).focus()
        for name in ("stages", *PAGES):
            self.query_one(f"#{name}").border_title = name.upper()
        self._port.subscribe(self._published)
        self.set_interval(0.5, self._port.idle)  # raises what the session's thread failed on
        self._arrange()

    def _published(self, view: View) -> None:
        """Called from the session's thread."""
        self.post_message(Shown(view))

    def on_resize(self, event: events.Resize) -> None:
        self._roomy = event.size.width >= _ROOMY[0] and event.size.height >= _ROOMY[1]
        self._arrange()

    def on_shown(self, message: Shown) -> None:
        self._latest = message.view
        alarm_s = max((line.t_s for line in message.view.conversation if line.who == "alarm"), default=-1.0)
        if alarm_s > self._alarm_s:
            self.bell()
        self._alarm_s = max(alarm_s, self._alarm_s)
        self._arrange()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if text := plain(event.value).strip():
            self._port.submit(text)
        event.input.clear()

    def _arrange(self) -> None:
        """Hands the snapshot to every part, with the room that each may take."""
        view = self._latest
        base = self.screen_stack[0]
        if view.pages_asked != self._pages_asked and view.page:
            self._pages_asked, self._page = view.pages_asked, PAGES.index(view.page)
        page = PAGES[self._page]
        base.set_class(self._roomy, "-roomy")
        for name in PAGES:
            base.set_class(name == page, f"-page-{name}")
            label = name.upper()
            base.query_one(f"#{name}").border_title = (
                f"{label}, Page keys" if self._roomy and name == page else label
            )
        reading = page != "conversation" and not self._roomy
        gated = view.gate is not None
        base.set_class(gated, "-gate")
        base.query_one(ActPanel).small = reading
        base.query_one(GatePanel).small = reading
        base.query_one(Meter).small = reading or gated
        for part in base.query(Drawn):
            part.show(view)
        say = f" you can say: {plain(' · '.join(view.can_say))}" if view.can_say else ""
        base.query_one("#can-say", Static).update(say)
        note = base.query_one("#ear-note", Static)
        note.display = bool(view.ear_note)
        note.update(f" {plain(view.ear_note)}")

    def action_pedal(self) -> None:
        self._port.key()

    def action_help(self) -> None:
        if len(self.screen_stack) == 1:
            self.push_screen(Help(self._latest))

    def action_contrast(self) -> None:
        self.theme = DUSK.name if self.theme == CONTRAST.name else CONTRAST.name

    def action_page(self) -> None:
        self._page = (self._page + 1) % len(PAGES)
        self._arrange()

    def action_turn(self, pages: int) -> None:
        page = self.screen_stack[0].query_one(f"#{PAGES[self._page]}")
        if isinstance(page, Paged):
            page.turn(pages if page.from_end else -pages)

    def action_leave(self) -> None:
        if len(self.screen_stack) == 1:
            self.push_screen(Leave(self._latest), lambda leave: self.exit() if leave else None)
