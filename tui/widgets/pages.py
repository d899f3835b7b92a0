"""The pages below the act: conversation, recipe with its reasons, curve."""

from __future__ import annotations

from textual.content import Content

from assistant.view import Line, View
from tui.curve_plot import draw_curve
from tui.plain import plain
from tui.widgets.drawn import Drawn, Paged, styled, wrapped

_NAME = {"you": "you", "bench": "bench", "note": "note", "alarm": "ALARM"}
_STYLE = {"you": "bold $value-ink", "bench": "$text-ink", "note": "$quiet-ink", "alarm": "bold $alarm-ink"}
_KEPT = 400  # lines of conversation that can be paged back to


class Conversation(Paged):
    from_end = True

    def part(self, view: View) -> object:
        return view.conversation

    def draw_all(self, view: View, width: int) -> list[Content]:
        rows: list[Content] = []
        for line in view.conversation[-_KEPT:]:
            rows += _said(line, width)
        return rows


def _said(line: Line, width: int) -> list[Content]:
    way = f" ({line.way})" if line.way in ("voice", "key") else ""
    rows = wrapped(plain(line.text) + way, width - 7)
    return [
        styled((_NAME[line.who] if i == 0 else "").ljust(7), "$quiet-ink") + styled(row, _STYLE[line.who])
        for i, row in enumerate(rows)
    ]


class RecipePage(Paged):
    def part(self, view: View) -> object:
        return view.recipe

    def draw_all(self, view: View, width: int) -> list[Content]:
        if not view.recipe:
            return [styled("No recipe yet: it comes when the job sheet is complete."[:width], "$quiet-ink")]
        label_width = min(max(len(row.label) for row in view.recipe) + 1, 20)
        rows: list[Content] = []
        for row in view.recipe:
            head = styled(
                "agreed  " if row.agreed else "to agree", "$quiet-ink" if row.agreed else "bold $timer-ink"
            )
            head += styled(f"  {plain(row.label)[: label_width - 1].ljust(label_width)}", "$text-ink")
            rows.append(
                head + styled(plain(row.value)[: max(1, width - 10 - label_width)], "bold $value-ink")
            )
        # All values at a glance; the reasons below, for whoever turns the page.
        for row in view.recipe:
            if row.reason:
                rows.append(styled(f"{plain(row.label)}:"[:width], "$text-ink"))
                rows += [styled(f"  {more}", "$quiet-ink") for more in wrapped(row.reason, width - 2)]
        return rows


class CurvePage(Drawn):
    def part(self, view: View) -> object:
        return view.curve, view.readings, None if view.run_s is None else round(view.run_s / 5)

    def draw(self, view: View, width: int, height: int) -> list[Content]:
        return [
            styled(row, "$text-ink")
            for row in draw_curve(view.curve, view.readings, view.run_s, width, height)
        ]
