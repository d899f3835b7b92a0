"""How the voice sounds and through which devices, kept from one session to the next in `voice.toml` in the data folder.

A wrong line takes away only what it says. A file that cannot be used whole is left as it is: it holds somebody's
choice of devices, and whoever mends it wants to find it.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pydantic import Field

from assistant.bench.bad_data import BadData, parse_toml, read_bytes, validate
from assistant.bench.strict import Strict
from speech.mouth import MOST_GAIN_DB
from speech.voice import DEFAULT_WORDS_PER_MINUTE, FASTEST, SLOWEST

FILE_NAME = "voice.toml"
LONGEST_NAME = 200
_TOLD = 3  # keys in a sentence
_LONGEST_KEY = 40  # of one in a sentence
_DEVICES = ("microphone", "loudspeaker")


class VoiceSettings(Strict):
    """words_per_minute: of speech. gain_dB: louder than the voice by itself. earcons: short sounds, and tones in an alarm.

    microphone, loudspeaker: names or parts of them, see `speech.sound_devices.chosen`; '': the system's own.
    """

    words_per_minute: int = Field(DEFAULT_WORDS_PER_MINUTE, ge=SLOWEST, le=FASTEST)
    gain_dB: float = Field(0.0, ge=-MOST_GAIN_DB, le=MOST_GAIN_DB)
    earcons: bool = True
    microphone: str = Field("", max_length=LONGEST_NAME)
    loudspeaker: str = Field("", max_length=LONGEST_NAME)


class Keeper:
    """Keeps loudness and rate as they are changed. tell: what hinders that, once."""

    def __init__(self, folder: Path, tell: Callable[[str], None]) -> None:
        self._folder, self._tell = folder, tell
        self._told = ""

    def keep(self, words_per_minute: int, gain_dB: float) -> None:
        """These two; the rest stays as it is in the file now, whoever has written it meanwhile."""
        settings, trouble = read_settings(self._folder)
        if trouble:
            trouble = f"Louder, quieter, slower and faster hold until you leave: '{FILE_NAME}' is to be mended first."
        else:
            changed = {"words_per_minute": words_per_minute, "gain_dB": gain_dB}
            trouble = keep_settings(self._folder, settings.model_copy(update=changed))
        if trouble and trouble != self._told:
            self._tell(trouble)
        self._told = trouble


def read_settings(folder: Path) -> tuple[VoiceSettings, str]:
    """What is kept in the data folder, and a sentence about what of it cannot be used: that is as at first."""
    path = folder / FILE_NAME
    if not path.exists():
        return VoiceSettings(), ""
    try:
        raw = read_bytes(path)
        table = parse_toml(raw, path)
    except BadData as bad:
        told = (
            f"The voice sounds as at first, and no microphone or loudspeaker is chosen by its settings: {bad}"
        )
        return VoiceSettings(), told
    wrong = [key for key in table if key not in VoiceSettings.model_fields or _fault(key, table, raw, path)]
    good = {key: value for key, value in table.items() if key not in wrong}
    settings = validate(VoiceSettings, good, raw, path)
    if not wrong:
        return settings, ""
    told = f"Not all of the voice's settings are used ({_not(wrong)})"
    return settings, f"{told}: {_fault(wrong[0], table, raw, path)}"


def _fault(key: str, table: dict[str, Any], raw: bytes, path: Path) -> str:
    """The sentence about one key of the file; '': it can be used."""
    try:
        validate(VoiceSettings, {key: table[key]}, raw, path)
    except BadData as bad:
        return str(bad)
    return ""


def _not(wrong: list[str]) -> str:
    """Which keys are not used, and what that means for the devices."""
    named = [f"'{key if len(key) <= _LONGEST_KEY else key[:_LONGEST_KEY] + '...'}'" for key in wrong[:_TOLD]]
    more = f" and {len(wrong) - _TOLD} more" if len(wrong) > _TOLD else ""
    devices = " or ".join(device for device in _DEVICES if device in wrong)
    return f"not {', '.join(named)}{more}" + (f"; no {devices} is chosen by it" if devices else "")


def keep_settings(folder: Path, settings: VoiceSettings) -> str:
    """Write them, whole or not at all. Returns: a sentence if they cannot be written, else ''."""
    path, new = folder / FILE_NAME, folder / f"{FILE_NAME}.new"
    text = (
        "# How the voice sounds. 'louder', 'quieter', 'slower' and 'faster' change it.\n"
        f"words_per_minute = {settings.words_per_minute}\n"
        f"gain_dB = {settings.gain_dB}\n"
        "# Short sounds when you were understood and when an answer may come, and tones before an alarm.\n"
        f"earcons = {str(settings.earcons).lower()}\n"
        "# Part of a device's name ('loopwright doctor' lists them); empty: the system's own choice.\n"
        f"microphone = {_quoted(settings.microphone)}\n"
        f"loudspeaker = {_quoted(settings.loudspeaker)}\n"
    )
    try:
        new.unlink(missing_ok=True)  # never through a link that lies there
        with new.open("x", encoding="utf-8") as file:
            file.write(text)
        new.replace(path)
    except OSError as error:
        return f"'{path}' cannot be written ({error.strerror}): the voice sounds so until you leave; check the disk."
    return ""


def _quoted(text: str) -> str:
    """A TOML string: for signs that can be read JSON's escapes are TOML's."""
    return json.dumps(text, ensure_ascii=False)
