"""The predicted and the read temperatures as inline SVG: prints in black and white, needs nothing from outside.

What a line means is told by its dashes and by words at it, not by colour alone.
"""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from assistant.review.story import Story

_WIDTH, _HEIGHT = 760, 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 44, 12, 30, 34
_ZERO_K = 273.15
_CURVES = (
    ("upper platen", "upper"),
    ("lower platen", "lower"),
    ("coldest in the weld", "coldest"),
    ("hottest inside", "hottest"),
)
_MARKS = {"heat_on": "heat on", "at_set": "at set", "cool_on": "cooling on", "vented": "pressure out"}
_DOTS = {"upper_reading": "upper", "lower_reading": "lower", "edge_reading": "edge"}
_Scale = Callable[[float], float]
_STEPS_S = (30, 60, 120, 300, 600, 1200, 1800, 3600)
_DRAWN_degC, _DRAWN_s = (-60.0, 1000.0), (-86_400.0, 7 * 86_400.0)  # beyond it nothing is of a press


def chart_svg(story: Story) -> str:
    """An <svg> element, or '' where there is neither a predicted curve nor a reading in the run.

    What no press can have been is not drawn, and the drawing says so.
    """
    told = [
        r
        for r in story.readings
        if r.slot in _DOTS and r.since_heat_s is not None and isinstance(r.value, int | float)
    ]
    dots = [r for r in told if _can_be(r.since_heat_s or 0.0, r.value - _ZERO_K)]
    curve = [row for row in story.curve if _can_be(*row)]
    marks = {mark: t_s for mark, t_s in story.marks.items() if _can_be(t_s)}
    left_out = len(told) + len(story.curve) + len(story.marks) - len(dots) - len(curve) - len(marks)
    times = [row[0] for row in curve] + [r.since_heat_s for r in dots if r.since_heat_s is not None]
    if not times:
        return ""
    heats = [x for row in curve for x in row[1:]] + [r.value - _ZERO_K for r in dots]
    end_s = max(60.0, *times, *marks.values())
    top: float = 20.0 * (max(0.0, *heats) // 20 + 1)

    def x(t_s: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * max(0.0, t_s) / end_s

    def y(degC: float) -> float:
        return _HEIGHT - _BOTTOM - (_HEIGHT - _TOP - _BOTTOM) * max(0.0, degC) / top

    parts = [_grid(x, y, end_s, top)]
    parts += [_mark(x(t_s), _MARKS[mark]) for mark, t_s in marks.items() if mark in _MARKS]
    release = next((v.agreed or v.computed for v in story.recipe if v.slot == "release_temperature"), None)
    if isinstance(release, int | float) and _can_be(0.0, release - _ZERO_K):
        level = y(release - _ZERO_K)
        parts.append(
            f'<line class="release" x1="{_LEFT}" x2="{_WIDTH - _RIGHT}" y1="{level:.1f}" y2="{level:.1f}"/>'
        )
        parts.append(_text(_LEFT + 0.42 * _WIDTH, level - 3, f"release {release - _ZERO_K:.0f} °C", "middle"))
    for column, (_, css) in enumerate(_CURVES, start=1):
        points = " ".join(f"{x(row[0]):.1f},{y(row[column]):.1f}" for row in curve)
        if points:
            parts.append(f'<polyline class="{css}" points="{points}"/>')
    for reading in dots:
        parts.append(
            _dot(
                x(reading.since_heat_s or 0.0),
                y(reading.value - _ZERO_K),
                _DOTS[reading.slot],
                reading.plausible,
            )
        )
    if left_out:
        parts.append(
            _text(_LEFT + 4, _TOP + 12, f"{left_out} not drawn: beyond what a press can be", "start")
        )
    return (
        f'<svg class="curve" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" '
        f'aria-label="Predicted temperatures as lines, readings as marks">{"".join(parts)}{_legend(bool(curve))}</svg>'
    )


def _can_be(t_s: float, *degC: float) -> bool:
    return _DRAWN_s[0] <= t_s <= _DRAWN_s[1] and all(_DRAWN_degC[0] <= one <= _DRAWN_degC[1] for one in degC)


def _grid(x: _Scale, y: _Scale, end_s: float, top: float) -> str:
    parts = []
    step_s = next((s for s in _STEPS_S if end_s / s <= 12), _STEPS_S[-1] * (1 + end_s // (12 * _STEPS_S[-1])))
    for k in range(int(end_s // step_s) + 1):
        at = x(k * step_s)
        label = f"{k * step_s / 60:g}"
        parts.append(f'<line class="grid" x1="{at:.1f}" x2="{at:.1f}" y1="{_TOP}" y2="{_HEIGHT - _BOTTOM}"/>')
        parts.append(_text(at, _HEIGHT - _BOTTOM + 13, label, "middle"))
    step = 20 if top <= 240 else 50
    for k in range(int(top // step) + 1):
        at = y(k * step)
        parts.append(f'<line class="grid" x1="{_LEFT}" x2="{_WIDTH - _RIGHT}" y1="{at:.1f}" y2="{at:.1f}"/>')
        parts.append(_text(_LEFT - 5, at + 3.5, f"{k * step}", "end"))
    parts.append(_text(_WIDTH - _RIGHT, _HEIGHT - 6, "minutes since heat on", "end"))
    parts.append(_text(6, _TOP - 8, "°C", "start"))
    return "".join(parts)


def _mark(at: float, words: str) -> str:
    line = f'<line class="mark" x1="{at:.1f}" x2="{at:.1f}" y1="{_TOP}" y2="{_HEIGHT - _BOTTOM}"/>'
    anchor = "start" if at < _WIDTH - 90 else "end"
    return line + _text(at + (3 if anchor == "start" else -3), _HEIGHT - _BOTTOM - 4, words, anchor)


def _dot(at: float, level: float, css: str, plausible: bool) -> str:
    """Upper: a circle; lower: a square; edge: a triangle; crossed out where not plausible."""
    match css:
        case "upper":
            shape = f'<circle class="dot upper" cx="{at:.1f}" cy="{level:.1f}" r="3.6"/>'
        case "lower":
            shape = (
                f'<rect class="dot lower" x="{at - 3.2:.1f}" y="{level - 3.2:.1f}" width="6.4" height="6.4"/>'
            )
        case _:
            shape = f'<path class="dot edge" d="M{at - 4:.1f} {level + 3.5:.1f}h8l-4 -7.5z"/>'
    if plausible:
        return shape
    return shape + f'<path class="cross" d="M{at - 6:.1f} {level - 6:.1f}l12 12m0 -12l-12 12"/>'


def _legend(curves: bool) -> str:
    parts, at = [], float(_LEFT)
    if curves:
        parts.append(_text(at, 12, "predicted:", "start"))
        at += 56
        for words, css in _CURVES:
            parts.append(f'<line class="{css}" x1="{at:.0f}" x2="{at + 24:.0f}" y1="9" y2="9"/>')
            parts.append(_text(at + 28, 12, words, "start"))
            at += 40 + 5.3 * len(words)
    parts.append(_text(at + 4, 12, "read:", "start"))
    at += 36
    for css in ("upper", "lower", "edge"):
        parts.append(_dot(at, 9, css, plausible=True) + _text(at + 8, 12, css, "start"))
        at += 48
    return "".join(parts)


def _text(at: float, level: float, words: str, anchor: str) -> str:
    return f'<text x="{at:.1f}" y="{level:.1f}" text-anchor="{anchor}">{escape(words)}</text>'
