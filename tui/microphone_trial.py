"""Tries the microphone: a level meter while it records, what was heard, and the sound played back with our own short ones."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from speech.errors import Missing

if TYPE_CHECKING:
    from speech.ear import Ear
    from tui.voice_settings import VoiceSettings

SECONDS = 5.0
_QUIETEST_DB, _LOUDEST_DB, _MARKS = -60.0, 0.0, 30
_FULL_SCALE = 0.999
METER_S = 0.25


def try_microphone(
    ear: Ear | Missing,
    write: Callable[[str], None],
    settings: VoiceSettings,
    stand_in: Path | None = None,
    seconds: float = SECONDS,
) -> bool:
    """Record, tell, play back.

    Args:
        settings: for the names of microphone and loudspeaker.
        stand_in: a wave file in the microphone's place, taken as fast as it goes.
        seconds: length of the recording [s].

    Returns: whether a voice was heard clearly enough.

    Raises: SpeechError, the microphone or loudspeaker failed.
    """
    import numpy as np

    from speech.activity import BLOCK_S
    from speech.earcons import earcon
    from speech.listen import hear_sound
    from speech.microphone import FileMicrophone, open_microphone
    from speech.player import find_player
    from speech.sound import RATE_HZ, Sound, level_db

    microphone = (
        FileMicrophone(stand_in, real_time=False)
        if stand_in
        else open_microphone(setting=settings.microphone)
    )
    if isinstance(microphone, Missing):
        write(microphone.sentence)
        return False
    write(f"Speak now, as you would at the press, for {seconds:g} seconds: {microphone.name}")
    blocks = []
    every = round(METER_S / BLOCK_S)
    try:
        for block in microphone.blocks():
            blocks.append(block)
            if len(blocks) % every == 0:
                write(meter(level_db(np.concatenate(blocks[-every:]))))
            if len(blocks) * BLOCK_S >= seconds:
                break
    finally:
        microphone.close()
    if not blocks:
        write("No sound came.")
        return False
    samples = np.concatenate(blocks)
    peak = float(np.max(np.abs(samples)))
    if peak >= _FULL_SCALE:
        write(
            "It is too loud: the sound is cut at full scale. Turn the microphone down, or hold it further off."
        )
    good = False
    if isinstance(ear, Missing):
        write(ear.sentence)
    else:
        heard = hear_sound(Sound(samples), ear)
        for one in heard:
            noise = f", {one.snr_db:.0f} dB over the noise" if one.snr_db is not None else ""
            write(f"Heard: {one.text}{noise}. {_grade(one.gate_grade, one.verified, one.why_not)}")
        if not heard:
            write(
                f"No words were heard, the level was {level_db(samples):.0f} dB: come closer, or choose another."
            )
        good = any(one.verified for one in heard)
    player = find_player(settings.loudspeaker)
    if isinstance(player, Missing):
        write(player.sentence)
    else:
        write(f"Playing it back: {player.name}")
        player.play(Sound(samples), threading.Event())
        write("And the short sounds: understood; an answer may come now; alarm.")
        for which in ("taken", "listening", "alarm"):
            player.play(Sound(np.pad(earcon(which).samples, (0, RATE_HZ // 2))), threading.Event())
    return good


def _grade(gate: bool, value: bool, why_not: str) -> str:
    if gate:
        return "Clear enough for safety sentences."
    return f"{'Clear enough for values only' if value else 'Not clear enough'}: {why_not}."


def meter(level_dB: float) -> str:
    """A bar for a level [dB re full scale], from -60 to 0."""
    share = (min(max(level_dB, _QUIETEST_DB), _LOUDEST_DB) - _QUIETEST_DB) / (_LOUDEST_DB - _QUIETEST_DB)
    return f"{level_dB:6.0f} dB  |{'#' * round(share * _MARKS):<{_MARKS}}|"
