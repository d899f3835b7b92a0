"""Whole jobs on the simulated press, driven as a person drives them: lines into `talk`, keys into the screen."""

from __future__ import annotations

import asyncio
import io
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from textual.widgets import Input

from assistant.opening import open_bench
from assistant.practice.bench import STEP_S, PracticeBench
from assistant.practice.script import load_script
from assistant.review.verify import verify
from tui.bench import BenchApp
from tui.running import RunningSession
from tui.talk import run_talk


class LiveTechnician(io.StringIO):
    """Standard input as a person makes it: the next line only when the bench has answered the last."""

    def __init__(self, practice: PracticeBench, port: RunningSession) -> None:
        super().__init__()
        self._practice, self._port = practice, port
        self._answered = -1

    def readline(self, _size: int | None = -1, /) -> str:
        # What was said makes at least one entry in the log; then it has been answered.
        while not (self._port.idle() and self._port.session.state.count > self._answered):
            time.sleep(0.002)
        wish = self._practice.next()
        self._practice.clock.advance(STEP_S)
        self._answered = self._port.session.state.count
        return "" if wish is None else wish.words + "\n"


def practice_bench(folder: Path, script: str) -> PracticeBench:
    return PracticeBench(open_bench(folder), load_script(script), datetime(2026, 11, 25, 8, 0, tzinfo=UTC))


@pytest.mark.slow
@pytest.mark.parametrize("script", ["demo", "guided", "solid"])
def test_a_whole_job_goes_through_talk_line_by_line(tmp_path: Path, script: str) -> None:
    """Flat in the shop, guided and notched on the conveyor, solid with water cooling."""
    practice = practice_bench(tmp_path, script)
    port = RunningSession(practice.session)
    out = io.StringIO()
    code = run_talk(port, LiveTechnician(practice, port), out)
    port.close()
    told = out.getvalue()
    assert code == 0
    assert "SIMULATED" in told.splitlines()[0]
    assert practice.session.state.closed == "accepted"
    assert "finished: accepted" in told
    verdict = verify(practice.session.writer.path)
    assert verdict.ok
    assert verdict.closed
    assert verdict.sealed
    assert verdict.simulated


@pytest.mark.slow
def test_a_whole_job_goes_through_the_screen(tmp_path: Path) -> None:
    """Each line typed into the screen's own input; the end is shown and the log verifies."""
    practice = practice_bench(tmp_path, "solid")
    port = RunningSession(practice.session)

    async def work() -> None:
        app = BenchApp(port)
        async with app.run_test(size=(80, 24)) as pilot:
            line = app.screen.query_one(Input)
            while (wish := await asyncio.to_thread(practice.next)) is not None:
                practice.clock.advance(STEP_S)
                line.value = wish.words
                await pilot.press("enter")
                while not port.idle():
                    await asyncio.sleep(0.005)
            await pilot.pause()
            assert port.view().finished == "accepted"

    asyncio.run(work())
    port.close()
    assert verify(practice.session.writer.path).ok
