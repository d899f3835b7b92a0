"""Makes the golden records of the program as it is: real sessions of this version, kept to be opened for ever.

    python tests/golden/make.py tests/golden/NAME

To make them with an older program's code, put its checkout first: PYTHONPATH=OLD python tests/golden/make.py FOLDER.
For that it imports nothing of the tests, and little of the program. Nothing here is simulated but time, except in
the session that says so. The bench's key is one for tests, known to everybody (`golden_records.py`).

Never make a folder anew that is there: what an earlier version wrote is the point.
"""

from __future__ import annotations

import lzma
import sys
import tempfile
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta, timezone
from pathlib import Path

sys.path.insert(1, str(Path(__file__).parent))

from golden_records import KEY, describe, public_half, put_key

from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet import build_job
from assistant.opening import begin_session, open_bench
from assistant.practice.press import SimulatedPress
from assistant.practice.script import load_script
from assistant.practice.technician import Technician, Wait
from assistant.procedure.rules import current
from assistant.record.keys import PUBLIC_NAME
from assistant.record.stamp import Stamp

try:
    from assistant.bench.sheet_file import read_sheet
except ImportError:  # an older program has it elsewhere
    from assistant.bench.sheet import read_sheet

BEGUN = datetime(2026, 11, 25, 14, 5, tzinfo=timezone(timedelta(hours=1)))
TICK_S, ANSWER_S = 15.0, 4.0


class Clock:
    def __init__(self) -> None:
        self.t_s = 0.0

    def now(self) -> Stamp:
        wall = (BEGUN + timedelta(seconds=self.t_s)).isoformat(timespec="milliseconds")
        return Stamp(round(self.t_s, 3), wall, round(5000 + self.t_s, 3), "0badcafe")

    def note(self) -> str:
        return ""


class Typed:
    """A session at a press, typed by the scripted technician without his slips; `first` is said where it belongs."""

    def __init__(self, folder: Path, script: str, *, simulated: bool = False) -> None:
        bench, told = open_bench(folder), load_script(script)
        sheet = read_sheet(PACKAGED / "jobs" / f"{told.job}.toml")
        job = build_job(sheet, bench.rules.catalogue)
        assert not isinstance(job, tuple), job
        told = told.model_copy(update={"usual": {**told.usual, "keep": "do not keep it"}, "spoken": ()})
        self.clock = Clock()
        self.session = begin_session(bench, sheet, self.clock, simulated=simulated)
        self.hand = Technician(bench.rules, told, SimulatedPress(job, told.press_seed))
        self._first: dict[str, list[str]] = {}

    @property
    def act(self) -> str:
        here = current(self.session.rules, self.session.state)
        return here[1].id if here is not None else ""

    def first(self, act: str, *lines: str) -> None:
        """What is typed at that act before all else."""
        self._first[act] = list(lines)

    def type(self, words: str) -> None:
        self.clock.t_s += ANSWER_S
        self.session.typed(words)

    def wait(self, seconds: float) -> None:
        self.clock.t_s += seconds
        self.session.tick()

    def go_on(self, stop: Callable[[], bool] = lambda: False) -> None:
        for _ in range(3000):
            if self.session.finished or stop():
                return
            if lines := self._first.get(self.act):
                self.type(lines.pop(0))
                continue
            self.hand.follow(self.session.state)
            wish = self.hand.next(self.session.state, self.clock.t_s)
            assert wish is not None, f"nothing to say at '{self.act}'"
            if isinstance(wish, Wait):
                self.wait(min(TICK_S, wish.seconds))
            else:
                self.type(getattr(wish, "words", wish))
        raise AssertionError(f"stuck at '{self.act}'")


def flat(folder: Path) -> Path:
    """The flat belt in the shop, from the sheet to the seal."""
    typed = Typed(folder, "demo")
    typed.go_on()
    assert typed.session.state.closed == "accepted"
    return typed.session.writer.path


def guided(folder: Path) -> Path:
    """The guided belt on the conveyor, with refusals, a what-if, a hold and a hand-over; accepted."""
    typed = Typed(folder, "guided")
    typed.first("gate_conveyor_dead", "yes", "just do it", "the conveyor is not locked and it will not start")
    typed.first("agree_dwell", "what if the shop is five degrees", "note the shop is cold", "why")
    typed.first(
        "dwell", "hold on", "carry on", "that is correct", "i am handing over to Mara", "that is correct", "how long left"
    )  # fmt: skip
    typed.go_on()
    assert typed.session.state.closed == "accepted"
    return typed.session.writer.path


def left(folder: Path) -> Path:
    """The flat belt, left in the middle of its dwell as by a killed program: no line tells of the end."""
    typed = Typed(folder, "demo")
    typed.go_on(lambda: typed.act == "dwell")
    typed.wait(20.0)
    typed.session.writer.close()
    return typed.session.writer.path


def simulated(folder: Path) -> Path:
    """A simulated session, stopped at its first safety question and sealed."""
    typed = Typed(folder, "demo", simulated=True)
    typed.go_on(lambda: typed.act.startswith("gate_"))
    typed.type("stop the session")
    typed.type("that is correct")
    assert typed.session.state.closed == "stopped"
    return typed.session.writer.path


def reworded(folder: Path) -> Path:
    """The flat belt, left after its first safety question was asked again in other words, and answered in those."""
    from intents.meaning import Heard

    typed = Typed(folder, "demo")
    typed.go_on(lambda: typed.act.startswith("gate_"))
    act = typed.act
    for words in ("everything here is fine with me", "we have made sure of it"):
        typed.clock.t_s += ANSWER_S
        now = typed.clock.t_s
        typed.session.hear(Heard(words, "voice", now - 1.0, now - 0.1, True, True, engine="golden"))
    typed.go_on(lambda: typed.act != act)
    typed.session.writer.close()
    return typed.session.writer.path


KINDS = {made.__name__: made for made in (flat, guided, left, simulated, reworded)}


def make(folder: Path, kinds: Iterable[str]) -> None:
    folder.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as records:
        put_key(Path(records))
        for kind in kinds:
            log = KINDS[kind](Path(records))
            (folder / f"{kind}.jsonl.xz").write_bytes(lzma.compress(log.read_bytes(), preset=9))
    (folder / PUBLIC_NAME).write_bytes(public_half(KEY))
    for kind in kinds:
        describe(folder, kind)


if __name__ == "__main__":
    make(Path(sys.argv[1]), sys.argv[2:] or KINDS)
