"""How this room says that something cannot be used: in one sentence for people."""

from __future__ import annotations

from dataclasses import dataclass


class SpeechError(Exception):
    """A sound, a model, a voice or a device failed; str() is one sentence: what, where, what to do."""


@dataclass(frozen=True)
class Missing:
    """Something optional that is not here. `sentence` says what, and how to get it."""

    sentence: str
