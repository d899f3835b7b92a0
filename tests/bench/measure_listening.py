"""From the end of speech to the reply, in real time through the whole chain: `python tests/bench/measure_listening.py`.

A synthetic voice over 20 dB of workshop noise goes into the ears block by block, as fast as a microphone would
bring it. What is counted begins with the last audible sample. It ends when the reply is on disk and shown; by ear,
when the player is given the first block that is not silent, of the short sound 'taken' and of the reply's words. The
player stands in for a loudspeaker, whose own delay comes on top. Run alone in a process, it also tells what a voiced
session takes of memory.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from statistics import median, quantiles

import numpy as np
from figures import Figure, table

from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet_file import read_sheet
from assistant.opening import begin_session, open_bench
from assistant.session import Session
from intents.canonical import canonical
from speech.earcons import earcon
from speech.ears import open_ear
from speech.errors import Missing
from speech.mouth import Mouth
from speech.noise import mix, workshop_noise
from speech.sound import BLOCK, RATE_HZ, Samples, Sound
from speech.voice import Voice, find_voice
from tui.hear import understood
from tui.hearing import Hearing
from tui.speaking import SpokenMouth

SAID = (
    "two point two millimeters", "no two millimeters", "that is correct", "where are we", "what can i say",
    "say again", "how long left", "what is the thickness",
)  # fmt: skip
SNR_DB = 20.0
AUDIBLE = 0.01  # of the loudest sample
BEFORE_S, AFTER_S = 0.6, 4.0
LONGEST_WAIT_S = 5.0  # for a sound after the reply is shown; a tick does not come where nothing was taken


@dataclass
class Reply:
    """Seconds from the end of speech: to the screen, to the short sound, to the first word.

    work_s: of which transcribing, deciding and writing, to the screen.
    """

    shown_s: float
    tick_s: float
    word_s: float
    work_s: float
    exact: bool


@dataclass
class Loudspeaker:
    """Takes no time, and keeps when the first block of each sound came that is not silent (monotonic seconds)."""

    name: str = "stand-in"
    taken: int = 0
    sounds: list[tuple[bool, float]] = field(default_factory=list)  # whether it was the tick, and when

    def play(self, sound: Sound, cancel: threading.Event) -> bool:  # noqa: ARG002
        tick = np.array_equal(sound.samples, earcon("taken").samples)
        if np.abs(sound.samples).max() > 0:  # the silence before it would take its own time
            silent_s = int(np.flatnonzero(np.abs(sound.samples) > 1e-3)[0]) / RATE_HZ
            self.sounds.append((tick, time.monotonic() + silent_s))
        return True

    def first(self, tick: bool) -> float | None:
        return next((at_s for was_tick, at_s in self.sounds if was_tick == tick), None)


def noisy(voice: Voice, words: str, seed: int) -> tuple[Samples, float]:
    """The sound, and the second in it at which the speech ends."""
    speech = voice.render(words).samples
    end = int(np.flatnonzero(np.abs(speech) > AUDIBLE * np.abs(speech).max())[-1])
    sound = np.pad(speech, (int(BEFORE_S * RATE_HZ), int(AFTER_S * RATE_HZ)))
    return mix(sound, workshop_noise(len(sound) / RATE_HZ, seed), SNR_DB), BEFORE_S + end / RATE_HZ


def ask(
    session: Session, hearing: Hearing, speaker: Loudspeaker, sound: Samples, spoken_s: float, words: str
) -> Reply | None:
    """Plays `sound` in real time; None: there was no reply."""
    told = len(session.lines_since(0))
    speaker.sounds.clear()
    begun = time.monotonic()
    for at in range(0, len(sound) - BLOCK + 1, BLOCK):
        due_s = (at + BLOCK) / RATE_HZ
        time.sleep(max(0.0, begun + due_s - time.monotonic()))
        taken = time.monotonic()
        hearing.take(sound[at : at + BLOCK], session.clock.now().t_s)
        lines = session.lines_since(told)
        if any(line.who != "you" for line in lines):
            now = time.monotonic()
            meant = {canonical(words): words}
            exact = any(line.who == "you" and understood(line.text, meant) == words for line in lines)
            end_s = begun + spoken_s
            return Reply(
                now - end_s,
                _waited(speaker, tick=True) - end_s,
                _waited(speaker, tick=False) - end_s,
                now - taken,
                exact,
            )
    return None


def _waited(speaker: Loudspeaker, *, tick: bool) -> float:
    """When that sound began; not a number if it does not come."""
    for _ in range(int(LONGEST_WAIT_S / 0.005)):
        if (at_s := speaker.first(tick)) is not None:
            return at_s
        time.sleep(0.005)
    return float("nan")


def _figure(what: str, seconds: Sequence[float], beside: str = "") -> Figure:
    heard = [one for one in seconds if isfinite(one)]
    if len(heard) < 2:
        return Figure(what, "not measured", "too few")
    p95 = f"p95 {quantiles(heard, n=20, method='inclusive')[18]:.2f} s of {len(heard)}"
    return Figure(what, f"{median(heard):.2f} s", "; ".join(filter(None, (p95, beside))))


def figures(rounds: int) -> Iterator[Figure]:
    voice, ear = find_voice(), open_ear()
    for found in (voice, ear):
        if isinstance(found, Missing):
            yield Figure("end of speech to reply", "not measured", found.sentence)
    if isinstance(voice, Missing) or isinstance(ear, Missing):
        return
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        sheet = dict(read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml"))
        del sheet["belt_thickness"]
        speaker = Loudspeaker()
        mouth = SpokenMouth(lambda told, failed: Mouth(voice, speaker, told, failed))
        session = begin_session(open_bench(Path(name)), sheet, mouth=mouth)
        hearing = Hearing(session, session.hear, lambda: Missing("none"), lambda: ear)
        hearing.use(ear)
        said = [words for _ in range(rounds) for words in SAID]
        replies = []
        for seed, words in enumerate(said):
            sound, spoken_s = noisy(voice, words, seed)
            reply = ask(session, hearing, speaker, sound, spoken_s, words)
            replies += [reply] if reply is not None else []
        mouth.close()
        session.writer.close()
    if len(replies) > 1:
        yield _figure(
            "end of speech to text on the screen",
            [reply.shown_s for reply in replies],
            f"{len(replies)} of {len(said)} answered, {sum(reply.exact for reply in replies)} heard word for word "
            f"(synthetic voice, {SNR_DB:g} dB)",
        )
        yield _figure("end of speech to the short sound 'taken'", [reply.tick_s for reply in replies])
        yield _figure("end of speech to the reply's first word", [reply.word_s for reply in replies])
        yield Figure(
            "  of which transcribing, deciding, writing",
            f"{median(reply.work_s for reply in replies):.2f} s",
            "the rest is waiting whether the speaker goes on",
        )
    per_MB = 1e6 if sys.platform == "darwin" else 1e3
    yield Figure(
        "peak memory of a voiced session",
        f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / per_MB:.0f} MB",
        f"{ear.name}, without a screen",
    )


if __name__ == "__main__":
    print(table(figures(3)))
