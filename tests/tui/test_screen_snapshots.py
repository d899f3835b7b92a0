"""The bench screen as it was last looked at and found good, at the smallest and at a large size."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from fixed_views import VIEWS
from still_port import StillPort
from textual.widgets import Input

from tui.bench import BenchApp


async def _still(pilot: Any) -> None:
    pilot.app.query_one(Input).cursor_blink = False
    await pilot.pause()


@pytest.mark.parametrize("size", [(80, 24), (160, 45)], ids=["80x24", "160x45"])
@pytest.mark.parametrize("name", list(VIEWS))
def test_the_screen_is_as_it_was_found_good(
    snap_compare: Callable[..., bool], name: str, size: tuple[int, int]
) -> None:
    assert snap_compare(BenchApp(StillPort(VIEWS[name])), terminal_size=size, run_before=_still)


@pytest.mark.parametrize(
    ("name", "keys"),
    [("step", ["f3"]), ("dwell", ["f3", "f3"]), ("gate", ["f2"]), ("dwell", ["ctrl+q"]), ("step", ["f1"])],
    ids=["recipe-page", "curve-page", "gate-high-contrast", "leaving", "help"],
)
def test_the_sheet_is_as_it_was_found_good(
    snap_compare: Callable[..., bool], name: str, keys: list[str]
) -> None:
    assert snap_compare(
        BenchApp(StillPort(VIEWS[name])), terminal_size=(80, 24), press=keys, run_before=_still
    )


@pytest.mark.parametrize("size", [(60, 20), (100, 30), (120, 36)], ids=["60x20", "100x30", "120x36"])
def test_a_gate_is_whole_at_other_sizes(snap_compare: Callable[..., bool], size: tuple[int, int]) -> None:
    assert snap_compare(BenchApp(StillPort(VIEWS["gate"])), terminal_size=size, run_before=_still)
