"""What to do now, in letters for three metres, and the sentence that was last asked."""

from __future__ import annotations

from textual.content import Content

from assistant.view import View
from tui.lettering import Face, letter
from tui.plain import plain
from tui.widgets.drawn import Drawn, styled, wrapped


class ActPanel(Drawn):
    """Hidden while a gate is open: then the gate is what matters. `small` makes room for a page below."""

    small = False

    def part(self, view: View) -> object:
        return view.act_title, view.act_say, view.finished, view.held, view.pedal, self.small

    def most_rows(self, screen_height: int) -> int:
        return 2 if self.small else max(screen_height * 2 // 5, 4)

    def draw(self, view: View, width: int, height: int) -> list[Content]:
        say = wrapped(view.finished or view.act_say, width)
        title = "finished" if view.finished else plain(view.act_title)
        face: Face = "plain" if self.small else "large"
        letters = letter(title, width, max(height - min(len(say), 2) - 1, 1), face)
        rows = [styled(row, "bold $act-ink") for row in letters.rows]
        if letters.face == "small":
            rows.append(Content(""))  # the large face ends with an empty row of its own
        # A long sentence gives way to the title: the whole of it stands in the conversation.
        room = max(height - len(rows), 1)
        if len(say) > room:
            say = [*say[: room - 1], f"{say[room - 1][: width - 2]} …"]
        pedal = "   [F8 or pedal: done]"
        if view.pedal and say and len(say[-1]) + len(pedal) <= width:
            return [
                *rows,
                *(styled(row, "$text-ink") for row in say[:-1]),
                styled(say[-1], "$text-ink") + styled(pedal, "$quiet-ink"),
            ]
        return rows + [styled(row, "$text-ink") for row in say]


class HeldBand(Drawn):
    """Why the session is held; no rows at all when it is not."""

    def part(self, view: View) -> object:
        return view.held

    def draw(self, view: View, width: int, height: int) -> list[Content]:  # noqa: ARG002 -- its own height
        if not view.held:
            return []
        rows = wrapped(f"HELD: {view.held}", width - 2)
        return [styled(f" {row}".ljust(width), "bold $held-ink on $held-ground") for row in rows]
