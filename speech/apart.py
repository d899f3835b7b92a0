"""Ears in processes of their own: the same interface, and an engine that hangs or dies is started again."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from speech.child import Child
from speech.ear import Words
from speech.ears import find_vosk_or_tell, open_ear
from speech.errors import Missing
from speech.models import find_vosk, find_whisper
from speech.quick_ear import QuickEar
from speech.sound import Samples
from speech.vosk_ear import VoskEar

DEADLINE_S = 12.0  # an utterance takes half a second; a busy old machine ten times that
QUICK_DEADLINE_S = 5.0
LOOK = "The early look for danger"


class EarApart:
    """An ear that lives in a child process."""

    def __init__(
        self, build: Callable[..., Any], arguments: tuple[Any, ...], told: Callable[[str], None],
        deadline_s: float = DEADLINE_S, what: str = "The recogniser",
    ) -> None:  # fmt: skip
        """Start the process and load the model in it.

        Args:
            build: makes the ear, or what is missing; importable by name.
            told: gets a sentence when the engine was lost and started again.

        Raises:
            SpeechError: it does not load.
        """
        self._child = Child(build, arguments, what, deadline_s, told)
        built = self._child.built
        self.missing: Missing | None = built if isinstance(built, Missing) else None
        facts = {} if isinstance(built, Missing) else built
        self.name = str(facts.get("name", ""))
        self.good_for_gates = bool(facts.get("good_for_gates", False))
        self._held = "expect" in facts

    def hear(self, samples: Samples) -> Words:
        """See `Ear.hear`."""
        words: Words = self._child.call("hear", samples)
        return words

    def expect(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Hold an ear that can be held to a list to this one; see `VoskEar.expect`. Others hear freely anyway."""
        if not self._held:
            return ()
        left_out: tuple[str, ...] = self._child.call("expect", tuple(phrases), keeps=True)
        return left_out

    def lacks(self, words: Iterable[str]) -> tuple[str, ...]:
        """The words that its model does not have; none where it is held to no list."""
        if not self._held:
            return ()
        missing: tuple[str, ...] = self._child.call("lacks", tuple(words))
        return missing

    def close(self) -> None:
        """End its process."""
        self._child.close()


def open_ear_apart(told: Callable[[str], None]) -> EarApart | Missing:
    """The best ear here, as `open_ear`, in a process of its own.

    Raises:
        SpeechError: something that was named cannot be used.
    """
    find_vosk_or_tell(None, lambda: not isinstance(find_whisper(), Missing), told)
    ear = EarApart(open_ear, (None, None, _told_already), told)
    if ear.missing is not None:
        ear.close()
        return ear.missing
    return ear


def _told_already(sentence: str) -> None:
    """In the ear's own process, which has nobody to tell: `open_ear_apart` has told it."""
    del sentence


def open_quick_ear(told: Callable[[str], None]) -> EarApart | Missing:
    """The ear of the early look, in a process of its own: a quick whisper, else vosk held to nothing.

    Raises:
        SpeechError: the model does not load.
    """
    folder = find_whisper()
    if not isinstance(folder, Missing):
        return EarApart(QuickEar, (folder,), told, QUICK_DEADLINE_S, LOOK)
    vosk = find_vosk()
    return folder if isinstance(vosk, Missing) else EarApart(VoskEar, (vosk,), told, QUICK_DEADLINE_S, LOOK)
