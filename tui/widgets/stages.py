"""Where the job stands: one line of marks, or the whole list where there is room."""

from __future__ import annotations

from textual.content import Content

from assistant.view import View
from tui.plain import plain
from tui.widgets.drawn import Drawn, styled

_MARK = {"done": "■", "now": "▶", "to come": "□", "not needed": "-"}


class StageLine(Drawn):
    def part(self, view: View) -> object:
        return view.stages

    def draw(self, view: View, width: int, height: int) -> list[Content]:  # noqa: ARG002 -- one row
        needed = [stage for stage in view.stages if stage.status != "not needed"]
        marks = "".join(_MARK[stage.status] for stage in needed)
        now = next((i for i, stage in enumerate(needed) if stage.status == "now"), None)
        row = styled(f" {marks}  ", "$quiet-ink")
        if now is None:
            return [row + styled("all done", "bold") if needed else row]
        row += styled(f"{now + 1} of {len(needed)}  {plain(needed[now].title).upper()}", "bold")
        if now + 1 < len(needed):
            after = f"   then {plain(needed[now + 1].title).lower()}"
            if row.cell_length + len(after) <= width:
                row += styled(after, "$quiet-ink")
        return [row]


class StageList(Drawn):
    """Shows only on a wide and tall screen."""

    def part(self, view: View) -> object:
        return view.stages

    def draw(self, view: View, width: int, height: int) -> list[Content]:
        rows = []
        for stage in view.stages:
            text = f"{_MARK[stage.status]} {plain(stage.title)}"[:width]
            if stage.status == "now":
                rows.append(styled(text.ljust(width), "bold reverse"))
            else:
                rows.append(styled(text, "$text-ink" if stage.status == "done" else "$quiet-ink"))
        now = next((i for i, stage in enumerate(view.stages) if stage.status == "now"), len(rows) - 1)
        first = min(max(now - height // 2, 0), max(len(rows) - height, 0))
        return rows[first : first + height]
