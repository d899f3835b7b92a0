"""Text to sound, in a child process that can be killed: a piper model where one is named, else pyttsx3 (with the
espeak-ng library that `espeakng-loader` brings, or the system's), else the espeak-ng program itself.

Nothing is played here; see `speech.player`.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import Protocol

from speech.errors import Missing, SpeechError
from speech.sound import Sound
from speech.wavefile import read_wav

SPEAKERS = ("en-us", "en-gb", "en-us+m1", "en-us+m3", "en-us+john", "en-us+f3", "en-us+f5")
"""Voices of espeak-ng that differ clearly. 'en-us' at 140 words a minute is heard best by whisper tiny.en."""
DEFAULT_SPEAKER = "en-us"
DEFAULT_WORDS_PER_MINUTE = 140
SLOWEST, FASTEST = 80, 300  # words a minute
LONGEST_TEXT = 1000  # characters: more than a minute of speech
DEADLINE_S = 10.0  # a whole sentence takes 0.1 s; ten seconds is a hang
HOW_TO_GET_A_VOICE = (
    "No voice here: install it with pip install '.[voice]', or the espeak-ng program of the system; "
    "until then everything is written."
)


class Voice(Protocol):
    """Anything that renders a text to 16 kHz sound."""

    @property
    def name(self) -> str:
        """Of the engine, for people."""

    def render(
        self, text: str, words_per_minute: int = DEFAULT_WORDS_PER_MINUTE, speaker: str = DEFAULT_SPEAKER
    ) -> Sound:
        """Render one text.

        Raises:
            SpeechError: the text is empty or too long, the speaker unknown, the engine failed or hung.
        """


class ChildVoice:
    """Renders in one child process a text, killed when it does not answer in time."""

    def __init__(self, name: str, command: tuple[str, ...], deadline_s: float = DEADLINE_S) -> None:
        """command: with the places {out}, {rate} and {speaker}; the text goes to its standard input, UTF-8."""
        self._name = name
        self._command = command
        self._deadline_s = deadline_s

    @property
    def name(self) -> str:
        """Of the engine."""
        return self._name

    def render(
        self, text: str, words_per_minute: int = DEFAULT_WORDS_PER_MINUTE, speaker: str = DEFAULT_SPEAKER
    ) -> Sound:
        """Render one text; see `Voice.render`."""
        text = sayable(text)
        check(text, words_per_minute, speaker)
        with tempfile.TemporaryDirectory(prefix="loopwright-") as folder:
            out = Path(folder) / "speech.wav"
            places = {"out": str(out), "rate": str(words_per_minute), "speaker": speaker}
            command = [part.format(**places) for part in self._command]
            self._run(command, text)
            if not out.is_file() or out.stat().st_size <= 44:
                raise SpeechError(
                    f"The voice {self._name} made no sound for '{_start(text)}'; it is written only."
                )
            return read_wav(out)

    def _run(self, command: list[str], text: str) -> None:
        try:
            done = subprocess.run(
                command,
                input=text.encode("utf-8"),
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
                timeout=self._deadline_s,
                check=False,
                cwd=Path(__file__).parent.parent,
            )
        except subprocess.TimeoutExpired as error:
            raise SpeechError(
                f"The voice {self._name} did not answer in {self._deadline_s:g} s and was stopped; "
                f"'{_start(text)}' is written only."
            ) from error
        except OSError as error:
            raise SpeechError(f"The voice {self._name} does not start: {error.strerror or error}.") from error
        if done.returncode != 0:
            said = done.stderr.decode("utf-8", "replace").strip().splitlines()
            reason = said[-1] if said else f"exit code {done.returncode}"
            raise SpeechError(f"The voice {self._name} failed ({reason}); '{_start(text)}' is written only.")


def find_voice() -> Voice | Missing:
    """The best voice that speaks on this machine now: it is asked for one word to be sure.

    Raises:
        SpeechError: a model was named and cannot be used.
    """
    from speech.piper_voice import find_piper

    piper = find_piper()
    if not isinstance(piper, Missing):
        return piper
    reasons = []
    for voice in _candidates():
        try:
            if voice.render("ready").seconds > 0.1:
                return voice
        except SpeechError as error:
            reasons.append(str(error))
    return Missing(HOW_TO_GET_A_VOICE + (f" ({reasons[0]})" if reasons else ""))


def _candidates() -> list[ChildVoice]:
    found = []
    if find_spec("pyttsx3") is not None:
        child = (sys.executable, "-m", "speech.render_child", "{out}", "{rate}", "{speaker}")
        found.append(ChildVoice("pyttsx3 with espeak-ng", child))
    program = shutil.which("espeak-ng")
    if program is not None:
        command = (program, "-w", "{out}", "-s", "{rate}", "-v", "{speaker}", "--stdin")
        found.append(ChildVoice("espeak-ng", command))
    return found


def sayable(text: str) -> str:
    """Without signs that cannot be spoken: a NUL would end the text for the engine."""
    return "".join(c if c.isprintable() else " " for c in text)


def check(text: str, words_per_minute: int, speaker: str) -> None:
    """Raises: SpeechError: the text is empty or too long, the speaker unknown, the rate out of range."""
    if not text.strip():
        raise SpeechError("There is no text to speak.")
    if len(text) > LONGEST_TEXT:
        raise SpeechError(f"A text of {len(text)} characters is too long to speak; {LONGEST_TEXT} at most.")
    if not SLOWEST <= words_per_minute <= FASTEST:
        raise SpeechError(f"{words_per_minute} words a minute cannot be spoken; {SLOWEST} to {FASTEST} can.")
    if speaker not in SPEAKERS:  # the engine would take any name and speak with another voice
        raise SpeechError(f"There is no speaker '{speaker}'; choose one of {', '.join(SPEAKERS)}.")


def _start(text: str) -> str:
    return text if len(text) <= 40 else text[:39] + "…"
