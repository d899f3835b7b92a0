"""The colours of the screens, as pairs that are checked for contrast (WCAG 2.2, relative luminance).

Colour never carries a meaning alone: every state is also a word.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.theme import Theme


@dataclass(frozen=True)
class Pair:
    ink: str
    ground: str


@dataclass(frozen=True)
class Palette:
    """Role -> ink on ground. `pairs()` is what the contrast test walks."""

    name: str
    text: Pair
    quiet: Pair  # labels, hints
    act: Pair
    value: Pair
    timer: Pair
    alarm: Pair  # words of alarm in the conversation
    hazard: Pair  # the gate's heading
    gate: Pair  # the gate's body
    held: Pair
    simulated: Pair
    entry: Pair  # the typed line

    def pairs(self) -> dict[str, Pair]:
        return {role: pair for role, pair in vars(self).items() if isinstance(pair, Pair)}


_DUSK = "#101614"
DUSK = Palette(
    name="loopwright-dusk",
    text=Pair("#e4e9df", _DUSK),
    quiet=Pair("#a7b5aa", _DUSK),
    act=Pair("#fbf6e6", _DUSK),
    value=Pair("#9fdcc0", _DUSK),
    timer=Pair("#f4c95d", _DUSK),
    alarm=Pair("#ffb0a0", _DUSK),
    hazard=Pair("#141000", "#f4c95d"),
    gate=Pair("#fbf6e6", "#1d1a10"),
    held=Pair("#ffffff", "#7a1f14"),
    simulated=Pair("#101614", "#c9d3ee"),
    entry=Pair("#fbf6e6", "#1d2723"),
)
CONTRAST = Palette(
    name="loopwright-contrast",
    text=Pair("#ffffff", "#000000"),
    quiet=Pair("#ffffff", "#000000"),
    act=Pair("#ffffff", "#000000"),
    value=Pair("#00ffff", "#000000"),
    timer=Pair("#ffff00", "#000000"),
    alarm=Pair("#ffff00", "#000000"),
    hazard=Pair("#000000", "#ffff00"),
    gate=Pair("#ffffff", "#000000"),
    held=Pair("#000000", "#ffffff"),
    simulated=Pair("#000000", "#ffffff"),
    entry=Pair("#ffffff", "#000000"),
)
PALETTES = (DUSK, CONTRAST)


def contrast_ratio(pair: Pair) -> float:
    """WCAG 2.2 contrast ratio, 1 to 21 [-]."""
    high, low = sorted((_luminance(pair.ink), _luminance(pair.ground)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    """WCAG 2.2 relative luminance of '#rrggbb', 0 to 1 [-]."""
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def theme_of(palette: Palette) -> Theme:
    """Textual's form of it; the style sheet uses `$<role>-ink` and `$<role>-ground`."""
    from textual.theme import Theme

    variables = {
        f"{role}-{part}": getattr(pair, part)
        for role, pair in palette.pairs().items()
        for part in ("ink", "ground")
    }
    return Theme(
        name=palette.name,
        primary=palette.value.ink,
        accent=palette.timer.ink,
        warning=palette.timer.ink,
        error=palette.alarm.ink,
        foreground=palette.text.ink,
        background=palette.text.ground,
        surface=palette.text.ground,
        panel=palette.entry.ground,
        dark=True,
        variables={
            **variables,
            "input-cursor-background": palette.entry.ink,
            "input-cursor-foreground": palette.entry.ground,
            "input-selection-background": palette.timer.ground,
        },
    )
