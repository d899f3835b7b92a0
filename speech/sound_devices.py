"""Which sound device is used: the one whose name is asked for, else the system's own choice.

A name that fits none, or several, is said and nothing else is taken in its place: whoever named the headset does
not want to be heard by the camera across the hall.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Literal

from speech.errors import SpeechError
from speech.open_streams import STREAMS
from speech.sound import RATE_HZ

Way = Literal["input", "output"]

MICROPHONE_VARIABLE = "LOOPWRIGHT_MICROPHONE"
LOUDSPEAKER_VARIABLE = "LOOPWRIGHT_LOUDSPEAKER"
_VARIABLE: dict[Way, str] = {"input": MICROPHONE_VARIABLE, "output": LOUDSPEAKER_VARIABLE}
_WHAT: dict[Way, str] = {"input": "microphone", "output": "loudspeaker"}
_TOLD = 8  # names in a sentence


@dataclass(frozen=True)
class Device:
    """One that PortAudio lists. index: its own there, until it lists anew. system: the sound system it belongs to.

    channels: at most. rate_hz: its own [Hz].
    """

    index: int
    name: str
    system: str
    channels: int
    rate_hz: int

    def ways_to_open(self) -> tuple[tuple[int, int], ...]:
        """Rates [Hz] and channels to try: ours, else its own, as hardware that converts nothing wants it."""
        most = min(2, self.channels)
        return tuple(dict.fromkeys((rate, n) for rate in (RATE_HZ, self.rate_hz) for n in (1, most)))

    def __str__(self) -> str:
        return f"{self.name} ({self.system})"


def devices(way: Way) -> list[Device]:
    """All of them, the system's own choice first; none where PortAudio is not installed, or tells none."""
    return _listed(way)[0]


def _listed(way: Way) -> tuple[list[Device], int]:
    """As `devices`, and the index of the system's own choice; -1: it has none."""
    try:
        import sounddevice
    except (ImportError, OSError):  # OSError: the package is here, PortAudio is not
        return [], -1
    try:
        with STREAMS.listing():
            default = int(sounddevice.default.device[0 if way == "input" else 1])
            held = [d for d in sounddevice.query_devices() if d[f"max_{way}_channels"] > 0]
            systems = [system["name"] for system in sounddevice.query_hostapis()]
    except (sounddevice.PortAudioError, OSError):
        return [], -1
    found = [
        Device(
            d["index"],
            d["name"],
            systems[d["hostapi"]],
            d[f"max_{way}_channels"],
            round(d["default_samplerate"]),
        )
        for d in held
    ]
    return sorted(found, key=lambda device: device.index != default), default


def chosen(way: Way, setting: str = "") -> Device | None:
    """The device that is asked for by its name or a part of it, else the system's own; None: there is none.

    setting: the name in `voice.toml`; one in the environment goes before it.

    Raises:
        SpeechError: the name fits none that is here, or several.
    """
    here, default = _listed(way)
    name, who = _asked_for(way, setting)
    if not name:
        return here[0] if here and here[0].index == default else None
    fits = [d for d in here if name.casefold() in str(d).casefold()]
    fits = [d for d in fits if name.casefold() in (d.name.casefold(), str(d).casefold())] or fits
    if len(fits) == 1:
        return fits[0]
    what = _WHAT[way]
    if fits:
        raise SpeechError(
            f"More than one {what} has '{name}' in its name ({who}): {_told(fits)}. Give more of it."
        )
    if not here:
        raise SpeechError(
            f"The {what} '{name}' ({who}) is not here: connect it; PortAudio (libportaudio2) is needed to choose one."
        )
    raise SpeechError(
        f"No {what} has '{name}' in its name ({who}): connect it, or name another. Here are: {_told(here)}."
    )


def _asked_for(way: Way, setting: str) -> tuple[str, str]:
    """The name that is asked for and who asks; ('', '') when nobody does."""
    named = os.environ.get(_VARIABLE[way], "").strip()
    if named:
        return named, _VARIABLE[way]
    return setting.strip(), f"{_WHAT[way]} in voice.toml"


def _told(listed: list[Device]) -> str:
    return "; ".join(str(d) for d in listed[:_TOLD]) + ("; ..." if len(listed) > _TOLD else "")
