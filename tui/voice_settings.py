"""How the voice sounds, kept from one session to the next in `voice.toml` in the data folder."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field

from assistant.bench.bad_data import BadData, parse_toml, read_bytes, validate
from speech.mouth import MOST_GAIN_DB
from speech.voice import DEFAULT_WORDS_PER_MINUTE, FASTEST, SLOWEST

FILE_NAME = "voice.toml"


class VoiceSettings(BaseModel):
    """words_per_minute: of speech. gain_dB: louder than the voice by itself. earcons: short sounds, and tones in an alarm."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    words_per_minute: int = Field(DEFAULT_WORDS_PER_MINUTE, ge=SLOWEST, le=FASTEST)
    gain_dB: float = Field(0.0, ge=-MOST_GAIN_DB, le=MOST_GAIN_DB)
    earcons: bool = True


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
    )
    try:
        new.unlink(missing_ok=True)  # never through a link that lies there
        with new.open("x", encoding="utf-8") as file:
            file.write(text)
        new.replace(path)
    except OSError as error:
        return f"'{path}' cannot be written ({error.strerror}): the voice sounds so until you leave; check the disk."
    return ""
