"""Loads one model and goes away: `python -m speech.model_trial ENGINE FOLDER`.

In a process of its own, because damaged weights may end it. Exit code 0: it loads and takes a second of silence.
1: it does not; the reason goes to standard error.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from speech.ear import Ear
from speech.errors import SpeechError
from speech.models import ModelFolder
from speech.sound import RATE_HZ


def main(engine: str, folder: Path) -> int:
    try:
        _ear(engine, folder).hear(np.zeros(RATE_HZ, np.float32))
    except SpeechError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def _ear(engine: str, folder: Path) -> Ear:
    if engine == "vosk":
        from speech.vosk_ear import VoskEar

        return VoskEar(folder)
    from speech.whisper_ear import WhisperEar

    return WhisperEar(ModelFolder(folder, "trial", "", False))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], Path(sys.argv[2])))
