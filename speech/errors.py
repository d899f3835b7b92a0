"""The one exception of this room. Its str() is a sentence for people: what is wrong, where, what to do."""

from __future__ import annotations


class SpeechError(Exception):
    """A sound, a model, a voice or a device cannot be used; str() is one sentence."""
