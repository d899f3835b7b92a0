"""What all parts of the screen share: rows drawn from a `View`, redrawn only when their own part changed."""

from __future__ import annotations

import textwrap
from typing import Any

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from assistant.view import View
from tui.plain import plain


class Drawn(Widget):
    """Rows of a view. Text is never read as markup, and control characters do not get through.

    Subclasses give `part` (what of the view they show; equal parts are not drawn again) and `draw`.
    """

    def __init__(self, *, id: str) -> None:  # noqa: A002 -- Textual's name
        super().__init__(id=id, markup=False)
        self._view: View | None = None
        self._part: object = None

    def show(self, view: View) -> None:
        part = self.part(view)
        changed = self._view is None or part != self._part
        self._view, self._part = view, part
        if changed:
            self.refresh(layout=True)

    def part(self, view: View) -> object:
        raise NotImplementedError

    def draw(self, view: View, width: int, height: int) -> list[Content]:
        """Rows of at most `width` columns; `height` is the most that will be shown."""
        raise NotImplementedError

    def most_rows(self, screen_height: int) -> int:
        """Rows it may take when its height is its own to choose."""
        return screen_height

    def render(self) -> Content:
        if self._view is None:
            return Content("")
        # The same room as in `get_content_height`, so that what was measured is what is drawn.
        height = self.most_rows(self.app.size.height) if self.styles.is_auto_height else self.size.height
        return Content("\n").join(self.draw(self._view, self.size.width, height))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002 -- Textual's
        if self._view is None:
            return 0
        return len(self.draw(self._view, width, self.most_rows(self.app.size.height)))


class Paged(Drawn):
    """A part with more rows than room, moved through with `turn`. `from_end`: newest rows at the foot."""

    from_end = False
    _behind = 0  # rows moved away from the resting end

    def turn(self, pages: int) -> None:
        """Positive moves away from the resting end."""
        step = max(self.size.height - 1, 1)
        self._behind = max(0, self._behind + pages * step)
        self.refresh()

    def draw_all(self, view: View, width: int) -> list[Content]:
        raise NotImplementedError

    def draw(self, view: View, width: int, height: int) -> list[Content]:
        rows = self.draw_all(view, width)
        self._behind = min(self._behind, max(len(rows) - height, 0))
        first = max(len(rows) - height - self._behind, 0) if self.from_end else self._behind
        shown = rows[first : first + height]
        hidden = len(rows) - first - len(shown)
        if hidden > 0 and height > 1:
            shown[-1] = Content.styled(f"… {hidden + 1} more rows: Page Down"[:width], "$quiet-ink")
        return shown


def wrapped(text: str, width: int, hang: str = "") -> list[str]:
    """Cleaned text in rows; rows after the first begin with `hang`."""
    return textwrap.wrap(plain(text), max(width, 8), subsequent_indent=hang, break_on_hyphens=False)


def styled(text: str, style: str) -> Content:
    return Content.styled(text, style)


def beside(left: list[Content], right: list[Content], column: int) -> list[Content]:
    """Two blocks of rows side by side, the right one beginning at `column`."""
    height = max(len(left), len(right))
    blank: Any = Content("")
    pairs = zip(left + [blank] * (height - len(left)), right + [blank] * (height - len(right)), strict=True)
    return [a.pad_right(max(column - a.cell_length, 0)) + b for a, b in pairs]
