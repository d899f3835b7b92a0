"""Contrast of every pair of colours that the screen uses."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import tui.bench
from tui.palette import CONTRAST, PALETTES, Pair, Palette, contrast_ratio

HERE = Path(tui.bench.__file__).parent


@pytest.mark.parametrize("palette", PALETTES, ids=lambda palette: palette.name)
def test_every_pair_reaches_the_ratio_for_small_text(palette: Palette) -> None:
    for role, pair in palette.pairs().items():
        # class: printed -- WCAG 2.2, success criterion 1.4.6 (AAA)
        assert contrast_ratio(pair) >= 7, (role, contrast_ratio(pair))


def test_the_high_contrast_theme_is_far_above_it() -> None:
    assert min(contrast_ratio(pair) for pair in CONTRAST.pairs().values()) >= 15


@pytest.mark.parametrize(
    ("pair", "ratio"),
    [
        # class: printed -- WCAG 2.2, definition of contrast ratio: 1 to 21
        (Pair("#000000", "#ffffff"), 21.0),
        # class: analytic -- equal colours have equal luminance
        (Pair("#7a1f14", "#7a1f14"), 1.0),
        # class: analytic -- pure red on black: (0.2126 + 0.05) / 0.05
        (Pair("#ff0000", "#000000"), 5.252),
    ],
)
def test_the_ratio_is_computed_as_defined(pair: Pair, ratio: float) -> None:
    assert contrast_ratio(pair) == pytest.approx(ratio, abs=5e-4)


def test_ink_is_shown_only_on_a_ground_that_it_was_checked_against() -> None:
    """In widgets an ink without a ground of its own must belong to the text's ground, or to the gate's."""
    plain_ground = {role for role, pair in CONTRAST.pairs().items() if pair.ground == CONTRAST.text.ground}
    for path in [*HERE.glob("widgets/*.py")]:
        for ink, ground in re.findall(r"\$(\w+)-ink(?: on \$(\w+)-ground)?", path.read_text()):
            assert ground == ink or (not ground and ink in plain_ground), (path.name, ink, ground)


def test_the_inks_of_the_gate_are_legible_on_its_ground_too() -> None:
    for palette in PALETTES:
        for ink in (palette.act.ink, palette.timer.ink, palette.text.ink, palette.gate.ink):
            # class: printed -- WCAG 2.2, success criterion 1.4.6 (AAA)
            assert contrast_ratio(Pair(ink, palette.gate.ground)) >= 7
        # class: printed -- WCAG 2.2, success criterion 1.4.6 (AAA)
        assert contrast_ratio(Pair(palette.quiet.ink, palette.entry.ground)) >= 7
