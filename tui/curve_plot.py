"""Temperature against time, drawn in braille dots: two by four to a character."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from assistant.view import CurvePoint, ReadingPoint

_BIT = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # [row][column] of a braille cell
_MARK = {"upper_reading": "U", "lower_reading": "L", "edge_reading": "E"}
_GUTTER = 5  # '185 ┤'
_STEP_DEGC = 50
LEGEND = "line: platen   dots: inside the belt   U L E: read   !: not plausible"


@dataclass
class _Canvas:
    """Dots and signs over a window of time [s] and temperature [°C]."""

    columns: int
    rows: int
    end_s: float
    low: float
    high: float

    def __post_init__(self) -> None:
        self.dots = [[0] * self.columns for _ in range(self.rows)]
        self.signs: dict[tuple[int, int], str] = {}

    def at(self, t_s: float, degC: float) -> tuple[int, int]:
        """Dot column and dot row, kept inside."""
        x = round(t_s / self.end_s * (self.columns * 2 - 1))
        y = round((self.high - degC) / (self.high - self.low) * (self.rows * 4 - 1))
        return min(max(x, 0), self.columns * 2 - 1), min(max(y, 0), self.rows * 4 - 1)

    def dot(self, x: int, y: int) -> None:
        self.dots[y // 4][x // 2] |= _BIT[y % 4][x % 2]

    def trace(self, points: Sequence[tuple[float, float]], every: int) -> None:
        """A line through the points; of its columns only each `every`-th is drawn."""
        for (t0, a), (t1, b) in pairwise(points):
            (x0, y0), (x1, y1) = self.at(t0, a), self.at(t1, b)
            steps = max(abs(x1 - x0), abs(y1 - y0), 1)
            for i in range(steps + 1):
                x, y = round(x0 + (x1 - x0) * i / steps), round(y0 + (y1 - y0) * i / steps)
                if x % every == 0:
                    self.dot(x, y)

    def rows_drawn(self) -> list[str]:
        return [
            "".join(
                self.signs.get((row, column)) or (chr(0x2800 + dots) if dots else " ")
                for column, dots in enumerate(line)
            )
            for row, line in enumerate(self.dots)
        ]


def draw_curve(
    curve: Sequence[CurvePoint],
    readings: Sequence[ReadingPoint],
    run_s: float | None,
    width: int,
    height: int,
) -> list[str]:
    """Rows of the predicted curve, what was read, and a bar at the present moment.

    Args:
        width, height: columns and rows to fill; under 24 by 6 the plot says so instead.
    """
    if not curve:
        return ["No curve yet: it comes with the recipe."][: max(height, 0)]
    if width < 24 or height < 6:
        return ["Too small for the curve."][: max(height, 0)]
    end_s = max(curve[-1].t_s, *(r.t_s for r in readings), run_s or 0.0, 1.0)
    tops = [max(p.upper_degC, p.lower_degC, p.hottest_degC) for p in curve] + [r.degC for r in readings]
    high = (int(max(tops)) // _STEP_DEGC + 1) * float(_STEP_DEGC)
    canvas = _Canvas(width - _GUTTER, height - 3, end_s, 0.0, high)
    if run_s is not None:
        now = canvas.at(run_s, 0.0)[0] // 2
        canvas.signs |= {(row, now): "│" for row in range(canvas.rows)}
    canvas.trace([(p.t_s, p.upper_degC) for p in curve], 1)
    canvas.trace([(p.t_s, p.lower_degC) for p in curve], 1)
    canvas.trace([(p.t_s, p.hottest_degC) for p in curve], 4)
    canvas.trace([(p.t_s, p.coldest_degC) for p in curve], 4)
    for reading in readings:
        x, y = canvas.at(reading.t_s, reading.degC)
        canvas.signs[y // 4, x // 2] = _MARK[reading.slot] if reading.plausible else "!"
    labels = _labels(canvas)
    rows = [labels.get(row, "    │") + line for row, line in enumerate(canvas.rows_drawn())]
    return [*rows, *_foot(end_s, run_s, width), LEGEND[:width]]


def _labels(canvas: _Canvas) -> dict[int, str]:
    marks = range(0, int(canvas.high) + 1, _STEP_DEGC)
    return {canvas.at(0.0, degC)[1] // 4: f"{degC:>3} ┤" for degC in marks}


def _foot(end_s: float, run_s: float | None, width: int) -> list[str]:
    end = f"{end_s / 60:.0f} min"
    now = f"now {run_s / 60:.0f}" if run_s is not None else "°C, minutes from heat on"
    return ["    └" + "─" * (width - _GUTTER), " " * _GUTTER + now.ljust(width - _GUTTER - len(end)) + end]
