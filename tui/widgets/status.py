"""The first line: SIMULATED where it is so, who works or what they seem to be saying, whether the session is held, what the ears do."""

from __future__ import annotations

from textual.content import Content

from assistant.view import Ear, View
from tui.plain import plain
from tui.widgets.drawn import Drawn, styled

_SIGN: dict[Ear, str] = {
    "LISTENING": "●",
    "HEARING YOU": "◉",
    "SPEAKING": "»",
    "DEAF": "×",
    "TYPE ONLY": "_",
}


def _end_of(text: str, cells: int) -> str:
    """The newest words, as many as there is room for; some letters take two cells."""
    if Content(text).cell_length <= cells:
        return text
    while text and Content(text).cell_length > cells - 1:
        text = text[1:]
    return f"…{text}" if cells else ""


class Status(Drawn):
    def part(self, view: View) -> object:
        return (
            view.simulated, view.technician, bool(view.held), view.gate is None, view.ear, view.finished,
            view.heard_so_far,
        )  # fmt: skip

    def draw(self, view: View, width: int, height: int) -> list[Content]:  # noqa: ARG002 -- one row
        left = Content(" ")
        if view.simulated:
            left += styled(" SIMULATED ", "bold $simulated-ink on $simulated-ground") + " "
        state = "HELD" if view.held else "FINISHED" if view.finished else "GATE" if view.gate else "WORKING"
        right = styled(f"{state}   ", "bold") + styled(f"{_SIGN[view.ear]} {view.ear} ", "bold $timer-ink")
        room = max(width - left.cell_length - right.cell_length - 1, 0)
        if so_far := plain(view.heard_so_far):
            left += styled(_end_of(so_far, room), "$quiet-ink")
        else:
            name = Content(f"loopwright · {plain(view.technician) or 'nobody yet'}")
            left += styled(name.truncate(room).plain, "$quiet-ink")
        return [left.pad_right(max(width - left.cell_length - right.cell_length, 1)) + right]
