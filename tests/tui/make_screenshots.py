"""Draws the screenshots that the README shows: `python tests/tui/make_screenshots.py [FOLDER]`.

The scripted technician types the example job into a real session on the simulated press; at certain moments the
bench screen draws the session's own snapshot at two sizes. FOLDER: default tests/tui/screenshots.
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from still_port import StillPort
from textual.widgets import Input

from assistant.opening import open_bench
from assistant.practice.bench import PracticeBench
from assistant.practice.script import load_script
from assistant.procedure.state import State
from assistant.view import View
from tui.bench import BenchApp

HERE = Path(__file__).parent / "screenshots"
SIZES = ((80, 24), (160, 45))
BEGUN = datetime(2026, 11, 25, 8, 5, tzinfo=UTC)
_FONT_FROM_THE_NET = re.compile(r"@font-face \{.*?\}\s*", re.DOTALL)


@dataclass(frozen=True)
class Moment:
    """now: whether a snapshot and the state behind it are the moment; the first that is, is drawn."""

    name: str
    now: Callable[[View, State], bool]
    keys: Sequence[str] = ()  # pressed at 80 by 24, where pages do not show at once


MOMENTS = (
    Moment(
        "recipe",
        lambda view, state: (
            state.act == "agree_dwell" and any(line.text == "why" for line in view.conversation[-2:])
        ),
        ("f3",),
    ),
    Moment("gate", lambda view, state: state.act == "gate_closed" and view.gate is not None),
    Moment(
        "dwell",
        lambda view, state: (
            state.act == "dwell" and any(t.name == "dwell" and t.left_s <= 75 for t in view.timers)
        ),
    ),
    Moment("inspection", lambda view, state: state.act == "joint_thickness_2" and view.gate is None),
)


def snapshots() -> dict[str, View]:
    """By moment, from one whole job."""
    taken: dict[str, View] = {}
    with tempfile.TemporaryDirectory() as folder:
        practice = PracticeBench(open_bench(Path(folder)), load_script(), BEGUN)

        def look(view: View) -> None:
            for moment in MOMENTS:
                if moment.name not in taken and moment.now(view, practice.session.state):
                    taken[moment.name] = view

        practice.session.subscribe(look)
        while (wish := practice.next()) is not None:
            practice.typed(wish.words)
    return taken


async def drawn(view: View, size: tuple[int, int], keys: Sequence[str]) -> str:
    """The screen as SVG that needs nothing from elsewhere: its fonts are the reader's own."""
    app = BenchApp(StillPort(view))
    async with app.run_test(size=size) as pilot:
        app.query_one(Input).cursor_blink = False
        await pilot.press(*keys)
        await pilot.pause()
        return _FONT_FROM_THE_NET.sub("", app.export_screenshot())


def main(folder: Path = HERE) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    taken = snapshots()
    for moment in MOMENTS:
        for size in SIZES:
            keys = moment.keys if size == SIZES[0] else ()
            picture = asyncio.run(drawn(taken[moment.name], size, keys))
            (folder / f"{moment.name}-{size[0]}x{size[1]}.svg").write_text(picture, encoding="utf-8")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
