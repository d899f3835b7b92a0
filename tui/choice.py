"""What was chosen on the command line for a session."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

DEFAULT_CALLSIGN = (
    "computer"  # an ordinary word, seldom said at a press; heard right in 6 of 6 recordings of people
)


@dataclass(frozen=True)
class Choice:
    """job: a job sheet to fill in from; folder: of the records; resume: a session's id; new: leave any other.

    microphone: a sound file to listen to in place of the microphone, in real time.
    callsign: None: everything heard is for us.
    typed: no microphone and no voice.
    """

    job: Path | None = None
    folder: Path | None = None
    resume: str | None = None
    new: bool = False
    typed: bool = False
    microphone: Path | None = None
    callsign: str | None = DEFAULT_CALLSIGN
