"""The disk fails in the middle of the dwell: it is said and shown, the session holds, and nothing acknowledged is lost."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest
from failing_disk import WAYS, at_the_dwell
from log_bytes import read_bytes
from textual.widgets import Input

from assistant.review.verify import verify
from tui.bench import BenchApp
from tui.leaving import of_the_record
from tui.running import RunningSession


@dataclass
class Ledger(press.SlowMouth):
    """Keeps what it was given to say, with its rank."""

    said: list[tuple[str, str]] = field(default_factory=list)

    def say(self, text: str, rank: str, ended: Any) -> None:
        self.said.append((rank, text))
        ended()


@pytest.mark.parametrize("way", sorted(WAYS))
def test_it_is_said_and_shown_and_held_while_alarms_go_on_and_the_job_is_taken_up_when_the_disk_is_well(
    way: str, tmp_path: Path
) -> None:
    mouth = Ledger()
    talk, broken = at_the_dwell(way, tmp_path, mouth)
    path = talk.session.writer.path
    talk.type("how long left")
    kept, state, act = read_bytes(path).whole, talk.state, talk.act
    deadline_s = talk.state.timer("dwell").deadline_s

    broken.append(True)
    mouth.said.clear()
    talk.type("note something")
    rank, said = mouth.said[-1]
    assert rank == "alarm"
    assert "I can't write the record, so I hold." in said
    assert "open the session again" in said  # how to go on
    view = talk.session.view()
    assert view.held.startswith("the record can't be written")
    assert view.unrecorded
    assert "taken up where the record ends" in of_the_record(view)
    assert (talk.state, talk.act) == (state, act)

    mouth.said.clear()
    talk.wait(deadline_s - talk.clock.t_s + 2)
    assert ("alarm", "The dwell is over. Not recorded.") in [(rank, text[-32:]) for rank, text in mouth.said]
    for words in ("i have done that", "that is correct", "the temperature is reached"):
        assert "I can't write the record" in talk.type(words)
    assert (talk.state, talk.act) == (state, act)
    talk.session.writer.close()
    # One entry more may be there where it could not be cut back: whole, and told to nobody.
    assert read_bytes(path).whole.startswith(kept)
    assert (read_bytes(path).whole == kept) is (way != "EIO on sync, and cutting back fails")

    again = press.reopened(path, gap_s=5.0)  # the disk is well again
    assert again.state.timer("dwell").deadline_s == deadline_s
    again.type("it went on as it was", "that is correct")
    press.close_open_gates(again, "dwell") if again.act.startswith("gate_") else None
    assert not again.session.view().unrecorded
    assert read_bytes(path).raw.startswith(kept)
    assert bool(again.events("torn_tail")) is ("cutting back fails" in way and "half" in way)
    again.session.writer.close()
    assert verify(path).ok


def test_the_bench_screen_shows_the_failure_and_that_it_holds(tmp_path: Path) -> None:
    talk, broken = at_the_dwell("EIO on sync", tmp_path, press.SlowMouth())
    port = RunningSession(talk.session)

    async def work() -> str:
        app = BenchApp(port)
        async with app.run_test(size=(100, 30)) as pilot:
            broken.append(True)
            app.screen.query_one(Input).value = "note something"
            await pilot.press("enter")
            while not port.idle():
                await asyncio.sleep(0.01)
            await pilot.pause()
            await pilot.pause()
            return app.export_screenshot()

    drawn = asyncio.run(work()).replace("&#160;", " ")
    port.close()
    assert "HELD" in drawn
    assert "record" in drawn
    assert port.view().unrecorded
