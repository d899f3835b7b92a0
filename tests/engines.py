"""Engines that fail in every way, for processes of their own: importable by name, as a spawned process needs."""

from __future__ import annotations

import os
import time
from pathlib import Path

from speech.ear import Words
from speech.errors import Missing, SpeechError
from speech.sound import Samples


class Fragile:
    """Does `how` as long as the file `times` holds a number above zero, which it counts down; then hears 'word'."""

    name, good_for_gates = "fragile", True

    def __init__(self, how: str, times: Path) -> None:
        self._how, self._times = how, times
        self._phrases: tuple[str, ...] = ()

    def expect(self, phrases: tuple[str, ...]) -> tuple[str, ...]:
        self._phrases = phrases
        return ()

    def hear(self, samples: Samples) -> Words:
        del samples
        left = int(self._times.read_text())
        if left > 0:
            self._times.write_text(str(left - 1))
            if self._how == "exits":
                os._exit(139)
            if self._how == "hangs":
                time.sleep(60)
            if self._how == "prints":
                os.write(1, b"all over the screen")
            if self._how == "raises":
                raise ValueError("odd sound")
        return Words(" ".join(("word", *self._phrases)), -0.1)


def no_model() -> Missing:
    return Missing("No model here.")


def broken() -> object:
    raise SpeechError("The model is damaged.")


def dies_loading() -> object:
    os._exit(139)
