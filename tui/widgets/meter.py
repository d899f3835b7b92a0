"""The one value that matters now and the running timer, in figures for three metres."""

from __future__ import annotations

from textual.content import Content

from assistant.view import TimerView, View
from tui.lettering import letter
from tui.plain import clock, plain
from tui.widgets.drawn import Drawn, beside, styled


class Meter(Drawn):
    """`small`: one row, while a gate or a page needs the room."""

    small = False

    def part(self, view: View) -> object:
        timers = tuple((t.label, clock(t.left_s), t.total_s) for t in view.timers)
        return view.value, view.value_label, timers, self.small

    def most_rows(self, screen_height: int) -> int:
        return 1 if self.small else 8 if screen_height >= 36 else 5

    def draw(self, view: View, width: int, height: int) -> list[Content]:
        if not view.value and not view.timers:
            return []
        if self.small:
            return [_one_row(view, width)]
        half = width if not (view.value and view.timers) else width // 2
        value = _value(view, half - 2, height - 2) if view.value else []
        timer = _timer(view.timers, half - 2, height - 2) if view.timers else []
        return beside(value, timer, half if view.value else 0)


def _one_row(view: View, width: int) -> Content:
    parts = [f"{plain(t.label)} {_words(t)} {clock(t.left_s)}" for t in view.timers]
    if view.value:
        parts.insert(0, f"{plain(view.value_label).upper()} {plain(view.value)}")
    return styled("   ".join(parts)[:width], "bold $timer-ink")


def _value(view: View, width: int, rows: int) -> list[Content]:
    letters = letter(plain(view.value), width, rows)
    label = styled(plain(view.value_label).upper()[:width], "$quiet-ink")
    return [label, *(styled(row, "bold $value-ink") for row in letters.rows)]


def _timer(timers: tuple[TimerView, ...], width: int, rows: int) -> list[Content]:
    first, *others = timers
    label = f"{plain(first.label).upper()} {_words(first)}"
    for other in others:
        label += f"   {plain(other.label).upper()} {_words(other)} {clock(other.left_s)}"
    letters = letter(clock(first.left_s), width, rows)
    drawn = [styled(label[:width], "$quiet-ink")]
    drawn += [styled(row, "bold $timer-ink") for row in letters.rows]
    if first.total_s:
        gone = min(max(1 - first.left_s / first.total_s, 0.0), 1.0)
        length = min(width - 10, 40)
        full = round(gone * length)
        drawn.append(
            styled("━" * full, "$timer-ink")
            + styled(f"{'─' * (length - full)} of {clock(first.total_s)}", "$quiet-ink")
        )
    return drawn


def _words(timer: TimerView) -> str:
    if timer.total_s is None:
        return "so far"
    return "over by" if timer.left_s < 0 else "left"
