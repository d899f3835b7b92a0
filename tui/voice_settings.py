"""How the voice sounds and through which devices, kept from one session to the next in `voice.toml` in the data folder."""

from __future__ import annotations

import json
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field

from assistant.bench.bad_data import BadData, parse_toml, read_bytes, validate
from speech.mouth import MOST_GAIN_DB
from speech.voice import DEFAULT_WORDS_PER_MINUTE, FASTEST, SLOWEST

FILE_NAME = "voice.toml"
LONGEST_NAME = 200


class VoiceSettings(BaseModel):
    """words_per_minute: of speech. gain_dB: louder than the voice by itself. earcons: short sounds, and tones in an alarm.

    microphone, loudspeaker: names or parts of them, see `speech.sound_devices.chosen`; '': the system's own.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    words_per_minute: int = Field(DEFAULT_WORDS_PER_MINUTE, ge=SLOWEST, le=FASTEST)
    gain_dB: float = Field(0.0, ge=-MOST_GAIN_DB, le=MOST_GAIN_DB)
    earcons: bool = True
    microphone: str = Field("", max_length=LONGEST_NAME)
    loudspeaker: str = Field("", max_length=LONGEST_NAME)


def read_settings(folder: Path) -> tuple[VoiceSettings, str]:
    """What is kept in the data folder, and a sentence if it cannot be used; then all is as at first."""
    path = folder / FILE_NAME
    if not path.exists():
        return VoiceSettings(), ""
    try:
        raw = read_bytes(path)
        return validate(VoiceSettings, parse_toml(raw, path), raw, path), ""
    except BadData as bad:
        return VoiceSettings(), f"The voice sounds as at first: {bad}"


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
    """A TOML string: JSON's escapes are TOML's, except that one sign more must be escaped."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
