"""The demo: the example job whole, unattended, spoken by a synthetic voice where one can be had."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.opening import open_bench
from assistant.practice.bench import PracticeBench
from assistant.practice.script import load_script
from assistant.practice.technician import Say
from assistant.review.verify import verify
from tui.demo_summary import Tally, summary
from tui.plain import plain

if TYPE_CHECKING:
    from tui.spoken_way import SpokenWay

TRIES_BY_EAR = 2
STUCK = 6  # times the same words at the same question: the script does not fit the procedure
ACCEPTED = ("accepted", "accepted with a note")


def run_demo(
    folder: Path | None, typed: bool, say: Callable[[str], None], over_noise_db: float | None = None
) -> int:
    """Runs the job to its end. Returns: 0 when the joint was accepted and the log verifies, else 1."""
    begun = time.monotonic()
    say("SIMULATED: the press is a model with constants of its own, and its time is accelerated.")
    way = None if typed else _way(say, over_noise_db)
    say(f"{way.name}." if way is not None else "The technician types.")
    bench = open_bench(folder or _demo_folder(), callsign=None)
    demo = Demo(PracticeBench(bench, load_script(), datetime.now().astimezone()), way, say)
    demo.run()
    session = demo.practice.session
    verdict = verify(session.writer.path)
    summary(demo.practice, verdict, demo.tally, say)
    say(f"Took {time.monotonic() - begun:.0f} s for {demo.practice.clock.now().t_s / 60:.0f} min of job.")
    return 0 if session.state.closed in ACCEPTED and verdict.ok and verdict.closed else 1


def _demo_folder() -> Path:
    from assistant.record.store import default_folder

    return default_folder() / "simulated"


def _way(say: Callable[[str], None], over_noise_db: float | None) -> SpokenWay | None:
    """The way by voice; None: it has been said what is missing."""
    from speech.errors import SpeechError
    from tui.spoken_way import find_way

    try:
        found = find_way() if over_noise_db is None else find_way(over_noise_db)
    except SpeechError as error:
        found = [str(error)]
    if not isinstance(found, list):
        return found
    for sentence in found:
        say(sentence)
    return None


class Demo:
    """The technician at the practice bench, and what is told of it."""

    def __init__(self, practice: PracticeBench, way: SpokenWay | None, say: Callable[[str], None]) -> None:
        self.practice, self.tally = practice, Tally()
        self._way, self._say = way, say
        self._told = 0
        self._tried = Counter[tuple[str, object]]()  # by act and value: how often it was understood wrongly

    def run(self) -> None:
        """To the end, or until the script is stuck."""
        stuck = Counter[str]()
        while (wish := self.practice.next()) is not None:
            self._print_new()
            state = self.practice.session.state
            about = state.offered.slot if state.offered is not None else ""
            stuck[f"{state.act} {about} {self.practice.session.question()} {wish.words}"] += 1
            if max(stuck.values()) > STUCK:
                self._say(f"The scripted technician is stuck at: {self.practice.session.view().act_say}")
                break
            self._get_across(wish)
        self._print_new()

    def _get_across(self, wish: Say) -> None:
        """By ear, again, then typed: as a person would. A value put right is its second try."""
        value = (self.practice.session.state.act, wish.meant)
        before = self._tried[value] if wish.meant is not None else 0
        asked = self.practice.session.question()
        for attempt in range(before + 1, TRIES_BY_EAR + 1):
            if self._way is None:
                break
            if self._spoken(self._way, self.practice.again(wish.words)):
                self.tally.by_ear[attempt] += 1
                return
            if self.practice.session.question() != asked:
                self.tally.put_right += 1
                self._tried[value] += 1
                return  # something else was understood: the technician sees to that next
        self.practice.typed(self.practice.again(wish.words))
        self._print_new()
        if self._way is None:
            self.tally.typed_only += 1
        else:
            self.tally.typed.append(wish.words)

    def _spoken(self, way: SpokenWay, words: str) -> bool:
        from speech.errors import SpeechError
        from tui.heard_as import heard_from

        try:
            heard, seconds = way.hear(words, self.practice.session)
        except SpeechError as error:
            self._say(f"{error} The technician types from here on.")
            self._way = None
            return False
        if heard is None:
            self._say(f"{self._place()} (nothing was heard of '{words}')")
            return False
        across = self.practice.spoken(words, partial(heard_from, heard), seconds)
        self._print_new()
        if not across:
            self._say(f"{self._place()} (what had been said: '{words}')")
        return across

    def _print_new(self) -> None:
        """The conversation since the last call, each line with how far the job has got."""
        fresh = self.practice.session.lines_since(self._told)
        self._told += len(fresh)
        for line in fresh:
            way = f" ({line.way})" if line.way else ""
            self._say(f"{self._place(line.t_s)} {line.who}{way}: {plain(line.text)}")

    def _place(self, t_s: float | None = None) -> str:
        stages = self.practice.session.view().stages
        place = next((n for n, stage in enumerate(stages, 1) if stage.status == "now"), len(stages))
        t_s = self.practice.clock.now().t_s if t_s is None else t_s
        return f"[{place:>2}/{len(stages)} {t_s / 60:5.1f} min]"
