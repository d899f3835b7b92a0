"""The mouth: urgent first, silence at once, and no voice or device can hold up whoever calls it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from speech.earcons import earcon
from speech.errors import Missing, SpeechError
from speech.loudspeaker import MOST_LEFT, Loudspeaker
from speech.mouth import LOST, MOST_GAIN_DB, Mouth, Priority, Told
from speech.pieces import LONG_PIECE, pieces
from speech.player import PLAY_BLOCK, Player
from speech.sound import RATE_HZ, Sound
from speech.voice import FASTEST, SLOWEST


class Tone:
    """A voice that takes no engine: one second for every word, its loudness the number of words."""

    name = "tone"

    def __init__(self, words_s: float = 0.2) -> None:
        self.words_s = words_s

    def render(self, text: str, words_per_minute: int = 140, speaker: str = "en-us") -> Sound:  # noqa: ARG002
        if "unspeakable" in text:
            raise SpeechError("This text cannot be spoken.")
        return Sound(np.full(int(RATE_HZ * self.words_s * len(text.split())), 0.1, np.float32))


class Room:
    """A loudspeaker that keeps what sounded, in real time."""

    name = "room"

    def __init__(self) -> None:
        self.samples = 0

    @property
    def taken(self) -> int:
        return self.samples

    def play(self, sound: Sound, cancel: threading.Event) -> bool:
        for _ in range(0, len(sound.samples), PLAY_BLOCK):
            if cancel.wait(PLAY_BLOCK / RATE_HZ):
                return False
            self.samples += PLAY_BLOCK
        return True


class Ledger:
    def __init__(self) -> None:
        self.told: list[Told] = []
        self.failed: list[str] = []

    @property
    def ended(self) -> list[tuple[str, bool]]:
        return [(t.saying.text, t.finished) for t in self.told if not t.began]


def until(true: Callable[[], bool], within_s: float = 5.0) -> None:
    end = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.01)


@pytest.fixture
def ledger() -> Ledger:
    return Ledger()


@pytest.fixture
def mouth(ledger: Ledger) -> Mouth:
    return Mouth(Tone(), Room(), ledger.told.append, ledger.failed.append)


def test_a_saying_begins_and_ends_and_both_are_told(mouth: Mouth, ledger: Ledger) -> None:
    mouth.say("one two")
    assert mouth.speaking
    until(lambda: not mouth.speaking)
    assert [(t.began, t.finished) for t in ledger.told] == [(True, False), (False, True)]


def test_what_the_loudspeaker_is_given_is_told_before_it_sounds_and_so_is_its_cutting_off(
    mouth: Mouth,
) -> None:
    playing: list[Sound | None] = []
    mouth.on_playing = playing.append
    mouth.say("one two")
    until(lambda: not mouth.speaking)
    assert [sound.seconds for sound in playing if sound is not None] == [0.4]  # class: analytic -- 2 x 0.2 s
    mouth.say("a prompt of many words that takes long")
    until(lambda: len(playing) == 2)
    mouth.hush()
    until(lambda: not mouth.speaking)
    assert [sound is None for sound in playing] == [False, False, True]


def test_a_new_prompt_cancels_the_rest_of_an_old_one(mouth: Mouth, ledger: Ledger) -> None:
    mouth.say("an old prompt of many words that takes long")
    until(lambda: bool(ledger.told))
    mouth.say("new")
    until(lambda: not mouth.speaking)
    assert ledger.ended == [("an old prompt of many words that takes long", False), ("new", True)]


def test_an_alarm_cuts_in_and_nothing_less_cuts_off_an_alarm(mouth: Mouth, ledger: Ledger) -> None:
    mouth.say("a prompt of many words", Priority.PROMPT)
    until(lambda: bool(ledger.told))
    mouth.say("alarm", Priority.ALARM)
    mouth.say("prompt", Priority.PROMPT)
    mouth.say("chat", Priority.CHAT)
    mouth.say("second alarm", Priority.ALARM)
    until(lambda: not mouth.speaking)
    assert ledger.ended == [
        ("a prompt of many words", False),
        ("alarm", True),
        ("second alarm", True),
        ("prompt", True),
        ("chat", True),
    ]


def test_a_prompt_that_an_alarm_cut_off_is_said_again_after_it(mouth: Mouth, ledger: Ledger) -> None:
    mouth.say("a question of many words")
    until(lambda: bool(ledger.told))
    mouth.say("alarm", Priority.ALARM)
    until(lambda: not mouth.speaking)
    question = "a question of many words"
    assert ledger.ended == [(question, False), ("alarm", True), (question, True)]
    assert [told.again for told in ledger.told if not told.began] == [True, False, False]


def test_hush_is_silence_within_a_tenth_of_a_second_and_keeps_alarms_that_wait(
    mouth: Mouth, ledger: Ledger
) -> None:
    mouth.say("a prompt of very many words indeed so that it lasts", Priority.PROMPT)
    until(lambda: bool(ledger.told))
    began = time.monotonic()
    mouth.hush()
    until(lambda: len(ledger.told) == 2)
    assert time.monotonic() - began < 0.1 + 0.05
    assert not ledger.told[1].finished
    mouth.say("again")
    until(lambda: not mouth.speaking)
    assert ledger.ended[-1] == ("again", True)


def test_hush_does_not_cut_off_an_alarm(mouth: Mouth, ledger: Ledger) -> None:
    mouth.say("an alarm of some words", Priority.ALARM)
    until(lambda: bool(ledger.told))
    mouth.say("a prompt", Priority.PROMPT)
    mouth.hush()
    until(lambda: not mouth.speaking)
    assert ledger.ended == [("an alarm of some words", True)]


def test_a_text_that_cannot_be_spoken_is_told_and_the_next_one_is_spoken(
    mouth: Mouth, ledger: Ledger
) -> None:
    mouth.say("unspeakable", Priority.ALARM)
    mouth.say("fine", Priority.ALARM)
    until(lambda: not mouth.speaking)
    assert ledger.failed == ["This text cannot be spoken."]
    assert ledger.ended == [("unspeakable", False), ("fine", True)]  # an alarm's tones sound all the same


LONG = (
    "The first sentence is long enough to be a piece that stands by itself. "
    "The second one is just as long and comes after it as a piece too. "
    "The third one is never reached when somebody cuts in at the first."
)


def test_a_long_text_sounds_piece_by_piece_and_is_told_as_one(mouth: Mouth, ledger: Ledger) -> None:
    assert len(pieces(LONG)) == 3
    assert " ".join(pieces(LONG)) == LONG
    mouth._voice = Tone(0.01)
    mouth.say(LONG)
    until(lambda: not mouth.speaking)
    assert ledger.ended == [(LONG, True)]
    assert len(ledger.told) == 2


def test_a_short_sentence_is_no_piece_of_its_own() -> None:
    assert pieces("Yes. The belt is in.") == ["Yes. The belt is in."]
    assert pieces("") == [""]


CLAUSES = (
    "Switch the cooling air through both platens on and wait until it blows out at the far end, "
    "then read the upper platen, which stands at one hundred and forty two point five degrees; "
    "say what it shows: the edge of the belt at 1,000 mm, 2.5 mm and 10:30 is read by the clock - not by eye "
    "and the code is 1, 6, 0 and one, six, two hundred and five when everything has been told to the end."
)


def test_a_long_sentence_is_divided_at_clauses_and_nothing_is_lost() -> None:
    parts = pieces(CLAUSES)
    assert " ".join(parts) == CLAUSES
    assert len(parts) == 4  # class: regression
    # class: analytic -- a piece ends at the first clause after LONG_PIECE characters; the longest clause here has 92
    assert all(LONG_PIECE <= len(part) <= LONG_PIECE + 92 for part in parts[:-1])


NUMBERS = (
    "1,000",
    "2.5 mm",
    "10:30",
    "1, 6, 0",
    "two hundred and five",
    "one, six, eight",
    "two and a half",
    "-3.5 K",
)


@given(
    before=st.integers(0, 40),
    number=st.sampled_from(NUMBERS),
    mark=st.sampled_from([",", ":", ";", " and", " -", "."]),
)
def test_no_number_is_ever_divided(before: int, number: str, mark: str) -> None:
    text = f"{'press ' * before}{number}{mark} then read the platen again {'and wait ' * 20}to the end"
    parts = pieces(text)
    assert " ".join(parts) == text
    assert any(number in part for part in parts)


class Keeping(Room):
    """Keeps each sound, and takes no time."""

    def __init__(self) -> None:
        super().__init__()
        self.played: list[Sound] = []

    def play(self, sound: Sound, cancel: threading.Event) -> bool:  # noqa: ARG002
        self.played.append(sound)
        return True


@pytest.fixture
def keeping(ledger: Ledger) -> tuple[Mouth, Keeping]:
    room = Keeping()
    return Mouth(Tone(), room, ledger.told.append, ledger.failed.append), room


def test_an_alarm_has_its_tones_before_its_words_and_a_prompt_has_none(
    keeping: tuple[Mouth, Keeping],
) -> None:
    mouth, room = keeping
    mouth.say("prompt")
    mouth.say("alarm", Priority.ALARM)
    until(lambda: not mouth.speaking)
    tones = earcon("alarm").samples
    at = [k for k, sound in enumerate(room.played) if np.array_equal(sound.samples, tones)]
    assert len(at) == 1
    assert len(room.played) > at[0] + 1


def test_a_quiet_voice_has_no_quieter_alarm(keeping: tuple[Mouth, Keeping]) -> None:
    mouth, room = keeping
    mouth.gain_db = -MOST_GAIN_DB
    mouth.say("alarm", Priority.ALARM)
    until(lambda: not mouth.speaking)
    assert np.array_equal(room.played[0].samples, earcon("alarm").samples)


def test_a_short_sound_is_told_as_ours_and_its_reply_does_not_cut_it_off(
    mouth: Mouth, ledger: Ledger
) -> None:
    mouth.cue("taken")
    mouth.say("reply")
    until(lambda: not mouth.speaking)
    assert [(t.saying.cue, t.began, t.finished) for t in ledger.told] == [
        ("taken", True, False),
        ("taken", False, True),
        (None, True, False),
        (None, False, True),
    ]


def test_no_short_sound_beside_an_alarm_and_none_at_all_when_off(mouth: Mouth, ledger: Ledger) -> None:
    mouth.say("alarm", Priority.ALARM)
    mouth.cue("taken")
    until(lambda: not mouth.speaking)
    mouth.earcons = False
    mouth.cue("listening")
    mouth.say("second alarm", Priority.ALARM)
    until(lambda: not mouth.speaking)
    assert [told.saying.cue for told in ledger.told] == [None] * 4


class Counting(Tone):
    def __init__(self) -> None:
        super().__init__(0.2)
        self.rendered: list[str] = []

    def render(self, text: str, words_per_minute: int = 140, speaker: str = "en-us") -> Sound:
        self.rendered.append(text)
        return super().render(text, words_per_minute, speaker)


def test_after_a_barge_in_nothing_more_of_a_long_text_is_rendered_or_sounds(ledger: Ledger) -> None:
    voice, room = Counting(), Room()
    mouth = Mouth(voice, room, ledger.told.append, ledger.failed.append)
    mouth.say(LONG)
    until(lambda: room.samples > 0)
    mouth.hush()
    at_hush = room.samples
    until(lambda: len(ledger.told) == 2)
    # class: analytic -- the block that sounds when the flag is set, and one under way
    assert room.samples - at_hush <= 2 * PLAY_BLOCK
    assert len(voice.rendered) <= 2
    assert not ledger.told[1].finished


def test_rate_and_loudness_change_what_sounds_within_limits(mouth: Mouth) -> None:
    for _ in range(20):
        mouth.adjust("faster")
        mouth.adjust("louder")
    assert (mouth.words_per_minute, mouth.gain_db) == (FASTEST, MOST_GAIN_DB)
    for _ in range(40):
        mouth.adjust("slower")
        mouth.adjust("quieter")
    assert (mouth.words_per_minute, mouth.gain_db) == (SLOWEST, -MOST_GAIN_DB)


class Stuck(Room):
    name = "stuck"

    def play(self, sound: Sound, cancel: threading.Event) -> bool:  # noqa: ARG002
        time.sleep(60)
        return True


def test_a_hanging_loudspeaker_holds_up_nobody_and_is_told_once(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.loudspeaker.STALL_S", 0.3)
    mouth = Mouth(Tone(), Stuck(), ledger.told.append, ledger.failed.append)
    began = time.monotonic()
    mouth.say("one")
    mouth.say("alarm", Priority.ALARM)
    mouth.hush()
    assert time.monotonic() - began < 0.1
    until(lambda: not mouth.speaking)
    assert len(ledger.failed) == 1
    assert "hangs" in ledger.failed[0]
    assert ledger.told[-1].began is False
    mouth.say("after")
    assert not mouth.speaking
    mouth.close(0.5)


class Unplugged(Room):
    name = "unplugged"

    def play(self, sound: Sound, cancel: threading.Event) -> bool:  # noqa: ARG002
        raise SpeechError("The sound device is gone.")


def test_a_loudspeaker_that_fails_is_told_once_and_nothing_waits_for_it(ledger: Ledger) -> None:
    mouth = Mouth(Tone(), Unplugged(), ledger.told.append, ledger.failed.append)
    mouth.say("one")
    until(lambda: not mouth.speaking)
    assert not mouth.say("two")
    assert ledger.failed == [f"The sound device is gone. {LOST}"]
    assert not mouth.speaking


class Hiccup(Room):
    """Fails, or takes nothing, as often as it is told to; then plays."""

    def __init__(self, fails: int = 0, hangs: int = 0) -> None:
        super().__init__()
        self.fails, self.hangs, self.tried = fails, hangs, 0

    def play(self, sound: Sound, cancel: threading.Event) -> bool:
        self.tried += 1
        if self.fails:
            self.fails -= 1
            raise SpeechError("The sound device is gone.")
        if self.hangs:
            self.hangs -= 1
            time.sleep(1.5)
            return True
        return super().play(sound, cancel)


@pytest.mark.parametrize("trouble", [{"fails": 3}, {"hangs": 1}], ids=["fails", "hangs"])
def test_a_loudspeaker_that_was_lost_is_found_again_and_both_are_told_once(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch, trouble: dict[str, int]
) -> None:
    monkeypatch.setattr("speech.loudspeaker.STALL_S", 0.3)
    monkeypatch.setattr("speech.mouth.RETRY_S", 0.05)
    back: list[str] = []
    mouth = Mouth(Tone(), Hiccup(**trouble), ledger.told.append, ledger.failed.append)
    mouth.on_back = back.append
    mouth.say("lost")
    until(lambda: bool(back))
    assert mouth.say("heard")
    until(lambda: ("heard", True) in ledger.ended)
    assert len(ledger.failed) == 1
    assert back == ["The loudspeaker (room) is back."]
    mouth.close()


def test_an_alarm_looks_for_a_lost_loudspeaker_at_once(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.mouth.RETRY_S", 3600.0)
    mouth = Mouth(Tone(), Hiccup(fails=1), ledger.told.append, ledger.failed.append)
    mouth.say("lost")
    until(lambda: bool(ledger.failed) and not mouth.speaking)
    assert not mouth.say("a prompt")
    assert mouth.say("alarm", Priority.ALARM)
    until(lambda: ledger.ended[-1:] == [("alarm", True)])
    mouth.close()


def test_an_alarm_under_which_the_loudspeaker_was_lost_is_said_when_it_is_found(ledger: Ledger) -> None:
    mouth = Mouth(Tone(), Hiccup(fails=1), ledger.told.append, ledger.failed.append)
    mouth.say("alarm", Priority.ALARM)
    until(lambda: ledger.ended[-1:] == [("alarm", True)])
    assert len(ledger.failed) == 1
    mouth.close()


def test_an_alarm_that_no_loudspeaker_says_is_given_up_and_told_as_ended(ledger: Ledger) -> None:
    mouth = Mouth(Tone(), Unplugged(), ledger.told.append, ledger.failed.append)
    mouth.say("alarm", Priority.ALARM)
    until(lambda: not mouth.speaking)
    assert ledger.ended[-1] == ("alarm", False)
    assert len(ledger.failed) == 1
    mouth.close()


def test_another_loudspeaker_is_taken_where_the_first_one_stays_away(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.mouth.RETRY_S", 0.05)
    found: list[Player | Missing] = [Keeping(), Missing("No loudspeaker.")]
    second, back = found[0], threading.Event()
    mouth = Mouth(Tone(), Unplugged(), ledger.told.append, ledger.failed.append, find=found.pop)
    mouth.on_back = lambda _: back.set()
    mouth.say("lost")
    assert back.wait(5)
    mouth.say("heard")
    until(lambda: ("heard", True) in ledger.ended)
    assert isinstance(second, Keeping)
    assert second.played
    mouth.close()


def test_a_loudspeaker_that_is_not_here_at_first_is_used_when_it_comes_and_nobody_waits_meanwhile(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.mouth.RETRY_S", 0.05)
    none, connected, back = Missing("No loudspeaker."), threading.Event(), list[str]()
    mouth = Mouth(
        Tone(),
        none,
        ledger.told.append,
        ledger.failed.append,
        find=lambda: Room() if connected.is_set() else none,
    )
    mouth.on_back = back.append
    assert not mouth.say("a prompt")
    assert mouth.say("alarm", Priority.ALARM)
    until(lambda: ledger.ended == [("alarm", False)])
    connected.set()
    until(lambda: bool(back))
    assert mouth.say("heard")
    until(lambda: ("heard", True) in ledger.ended)
    assert back == ["The loudspeaker (room) is here now."]
    assert ledger.failed == []
    mouth.close()


def test_an_alarm_looks_at_once_for_a_loudspeaker_that_was_not_here_at_first(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.mouth.RETRY_S", 3600.0)
    mouth = Mouth(Tone(), Missing("No loudspeaker."), ledger.told.append, ledger.failed.append, find=Room)
    mouth.say("alarm", Priority.ALARM)
    until(lambda: ledger.ended == [("alarm", True)])
    mouth.close()


def test_a_look_for_the_loudspeaker_that_fails_in_any_way_is_followed_by_another(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.mouth.RETRY_S", 0.05)
    fails = [RuntimeError("PortAudio not initialized"), SpeechError("No.")]

    def find() -> Room:
        if fails:
            raise fails.pop()
        return Room()

    back = threading.Event()
    mouth = Mouth(Tone(), Missing("No loudspeaker."), ledger.told.append, ledger.failed.append, find=find)
    mouth.on_back = lambda _: back.set()
    assert back.wait(5)
    mouth.say("heard")
    until(lambda: ledger.ended == [("heard", True)])
    mouth.close()


class Slow(Room):
    """Takes a block now and then, far behind real time, as on a machine with too much to do."""

    def play(self, sound: Sound, cancel: threading.Event) -> bool:
        del sound
        for _ in range(6):
            if cancel.wait(0.2):
                return False
            self.samples += 1
        return True


def test_a_loudspeaker_that_is_only_slow_is_not_given_up(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("speech.loudspeaker.STALL_S", 0.6)  # in all it takes twice as long
    mouth = Mouth(Tone(0.05), Slow(), ledger.told.append, ledger.failed.append)
    mouth.say("one")
    until(lambda: not mouth.speaking)
    assert ledger.ended == [("one", True)]
    assert not ledger.failed


def test_after_three_calls_that_never_came_back_no_more_are_made(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("speech.loudspeaker.STALL_S", 0.1)
    player, never = Hiccup(hangs=99), threading.Event()
    loudspeaker = Loudspeaker(player, lambda: player)
    sound = Sound(np.zeros(PLAY_BLOCK, np.float32))
    assert isinstance(loudspeaker.play(sound, never, lambda _: None), str)
    assert not any(loudspeaker.found_again(never) for _ in range(5))
    assert player.tried == MOST_LEFT


def test_closing_ends_the_thread_even_in_the_middle(mouth: Mouth, ledger: Ledger) -> None:
    mouth.say("a prompt of many many words that would last")
    until(lambda: bool(ledger.told))
    began = time.monotonic()
    mouth.close()
    assert time.monotonic() - began < 0.9
    mouth.say("nothing")
    assert not mouth.speaking
