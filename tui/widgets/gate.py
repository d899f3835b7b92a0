"""An open gate: the hazard, the cautions, and the one sentence that closes it. Nothing else looks like it."""

from __future__ import annotations

from textual.content import Content

from assistant.view import View
from tui.lettering import letter
from tui.plain import plain
from tui.widgets.drawn import Drawn, styled, wrapped

_HATCH = "▞▞▞▞"


class GatePanel(Drawn):
    small = False

    def part(self, view: View) -> object:
        return view.gate, view.act_title, self.small, self.most_rows(24)

    def most_rows(self, screen_height: int) -> int:
        """Leaves the first line, three rows of conversation, the entry and the keys; on a tall screen more."""
        view = self._view
        if view is None or screen_height >= 36:
            return max(screen_height - 12, 6)
        beside = bool(view.timers or view.value) + 2 * bool(view.held) + bool(view.ear_note)
        return max(screen_height - 6 - beside, 6)

    def draw(self, view: View, width: int, height: int) -> list[Content]:
        gate = view.gate
        if gate is None:
            return []
        airy = height >= 24
        rows = _heading(plain(gate.hazard), width, airy)
        body: list[Content] = [styled(plain(view.act_title)[: width - 2], "bold")]
        for caution in gate.cautions:
            body += [styled(row, "$gate-ink") for row in wrapped(f"! {caution}", width - 2, "  ")]
        body.append(styled("SAY ALL OF THIS, OR TYPE IT:", "bold $timer-ink"))
        if airy:
            body = [Content(""), *body[:-1], Content(""), body[-1], Content("")]
        room = 1 if self.small else max(height - len(rows) - len(body) - airy, 1)
        sentence = letter(plain(gate.sentence), width - 2, room)
        said = [styled(row, "bold $act-ink") for row in sentence.rows]
        if sentence.face != "plain" and airy:
            # Block letters have no case: the words as they are typed stand below.
            said += [styled(row, "$gate-ink") for row in wrapped(gate.sentence, width - 2)]
        if len(rows) + len(body) + len(said) > height:
            # Too small for all of it: the sentence comes first, whole, and the cautions as far as they go.
            said = [styled(row, "bold $act-ink") for row in wrapped(gate.sentence.upper(), width - 2)]
            body = [body[-1], *said, *body[:-1]]
        else:
            body += said
        return rows + [Content(" ") + row for row in body]


def _heading(hazard: str, width: int, airy: bool) -> list[Content]:
    style = "bold $hazard-ink on $hazard-ground"
    letters = letter(f"stop - {hazard}", width - 4, 3, "small") if airy else letter("", 1, 1, "plain")
    if airy and letters.face == "small":
        edge = styled(("▞" * width)[:width], style)
        return [edge, *(styled(f"  {row}".ljust(width), style) for row in letters.rows), edge]
    rows = wrapped(f"{_HATCH} STOP {_HATCH}  {hazard.upper()}", width)
    return [styled(row.ljust(width), style) for row in rows]
