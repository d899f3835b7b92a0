"""Vosk, for whoever has an English model folder: held to the phrases that can be said now.

A result held to a list is only a candidate, whatever its confidence: measured, 45 of 60 foreign sounds came out
as one of four words. So each is looked at freely a second time, by whisper where there is one, else by
the same vosk model without a list, and counts only when both say the same.

The library kills the process on an empty list, goes to a network for a model named by language, and
writes warnings to file descriptor 2: none of that is let happen here.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from speech.ear import Ear, Words, plain
from speech.errors import SpeechError
from speech.sound import RATE_HZ, Samples
from speech.wavefile import to_int16

if TYPE_CHECKING:
    from vosk import KaldiRecognizer, Model

_UNKNOWN = "[unk]"
_STEP = 4000  # samples, 0.25 s


class VoskEar:
    """Vosk with a list of phrases that may change with every step, and a free second look."""

    def __init__(
        self, folder: Path, second: Ear | None = None, canonical: Callable[[str], str] = plain
    ) -> None:
        """Load the model: 1.6 s and half a gigabyte for a large one.

        Args:
            second: the ear of the second look; None: the same model without a list.
            canonical: the spelling in which two texts are compared.

        Raises:
            SpeechError: no model in the folder, or vosk is missing.
        """
        if not folder.is_dir():
            raise SpeechError(f"{folder} is not a vosk model folder; name the folder that was unpacked.")
        with quiet_stderr():
            try:
                import vosk

                vosk.SetLogLevel(-1)
                self._model: Model = vosk.Model(str(folder))
            except ImportError as error:
                raise SpeechError("vosk is not installed; install it with pip install '.[vosk]'.") from error
            except Exception as error:  # the library raises bare exceptions
                raise SpeechError(
                    f"The vosk model in {folder} does not load; name another folder."
                ) from error
        self._second, self._canonical = second, canonical
        self._held: KaldiRecognizer | None = None
        self._left_out: frozenset[str] = frozenset()
        self._folder = folder

    @property
    def name(self) -> str:
        """'vosk', the model folder's name, and who looks a second time."""
        return f"vosk {self._folder.name}, second look by {self._second.name if self._second else 'vosk'}"

    @property
    def good_for_gates(self) -> bool:
        """Only with a second ear that is: vosk's own confidence separates nothing."""
        return self._second is not None and self._second.good_for_gates

    def expect(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Hold the ear to these phrases from now on; an empty list: hear freely.

        Returns:
            The phrases that are left out because the model does not know a word of them: the second look alone
            can hear them.
        """
        wanted = [phrase for phrase in dict.fromkeys(plain(p) for p in phrases) if phrase]
        known = [phrase for phrase in wanted if all(self.knows(word) for word in phrase.split())]
        self._held = None
        if known:
            if self.knows(_UNKNOWN):
                known.append(_UNKNOWN)
            self._held = self._recogniser(json.dumps(known, ensure_ascii=False))
        left_out = tuple(phrase for phrase in wanted if phrase not in set(known))
        self._left_out = frozenset(self._canonical(phrase) for phrase in left_out)
        return left_out

    def lacks(self, words: Iterable[str]) -> tuple[str, ...]:
        """Those of the words that the model's dictionary does not have."""
        return tuple(word for word in words if not self.knows(word))

    def knows(self, word: str) -> bool:
        """Whether the model's dictionary has the word; unknown ones would be dropped in silence."""
        return int(self._model.vosk_model_find_word(word)) >= 0

    def hear(self, samples: Samples) -> Words:
        """Candidate from the list, then a free second look; without a list, a free look alone.

        A phrase that the list cannot have, because the model lacks a word of it, is heard by the second ear alone:
        whatever the list made of that sound was forced onto it.
        """
        if self._held is None:
            return self._freely(samples)
        candidate = _decode(self._held, samples)
        self._held.Reset()
        if candidate == _UNKNOWN:
            candidate = ""
        looked = self._freely(samples) if candidate or (self._left_out and self._second) else None
        if looked is not None and self._second and self._canonical(looked.text) in self._left_out:
            return looked
        if looked is None or not candidate:
            return Words("", None, free=False)
        agree = self._canonical(looked.text) == self._canonical(candidate)
        others = (looked.text,) if looked.text and not agree else ()
        return Words(
            candidate,
            looked.sureness,
            others,
            free=False,
            second_look=agree,
            times=looked.times if agree else (),
        )

    def _freely(self, samples: Samples) -> Words:
        if self._second is not None:
            return self._second.hear(samples)
        return Words(_decode(self._recogniser(None), samples), None)

    def _recogniser(self, grammar: str | None) -> KaldiRecognizer:
        from vosk import KaldiRecognizer

        with quiet_stderr():
            return KaldiRecognizer(self._model, RATE_HZ, *(() if grammar is None else (grammar,)))


def _decode(recogniser: KaldiRecognizer, samples: Samples) -> str:
    """All the words: an end point inside takes the words so far with it, so each result is kept."""
    parts: list[str] = []
    with quiet_stderr():
        for at in range(0, len(samples), _STEP):
            if recogniser.AcceptWaveform(to_int16(samples[at : at + _STEP])):
                parts.append(_text(recogniser.Result()))
        parts.append(_text(recogniser.FinalResult()))
    return " ".join(part for part in parts if part)


def _text(result: str) -> str:
    found: Any = json.loads(result)
    return str(found.get("text", ""))


@contextmanager
def quiet_stderr() -> Iterator[None]:
    """Send file descriptor 2 nowhere for a moment: a warning from C would tear the screen."""
    sys.stderr.flush()
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
