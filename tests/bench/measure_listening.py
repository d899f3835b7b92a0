"""From the end of speech to the reply, in real time through the whole chain: `python tests/bench/measure_listening.py`.

A synthetic voice over 20 dB of workshop noise goes into the ears block by block, as fast as a microphone would
bring it. What is counted begins with the last audible sample and ends when the reply is on disk and shown. Run
alone in a process, it also tells what a voiced session takes of memory.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import numpy as np
from figures import Figure, table

from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet_file import read_sheet
from assistant.opening import begin_session, open_bench
from assistant.session import Session
from intents.canonical import canonical
from speech.ears import open_ear
from speech.errors import Missing
from speech.noise import mix, workshop_noise
from speech.sound import BLOCK, RATE_HZ, Samples
from speech.voice import Voice, find_voice
from tui.hear import understood
from tui.hearing import Hearing

SAID = (
    "two point two millimeters", "no two millimeters", "that is correct", "where are we", "what can i say",
    "say again", "how long left", "what is the thickness",
)  # fmt: skip
SNR_DB = 20.0
AUDIBLE = 0.01  # of the loudest sample
BEFORE_S, AFTER_S = 0.6, 4.0


@dataclass
class Reply:
    """after_s: from the end of speech to the reply. work_s: of which transcribing, deciding and writing."""

    after_s: float
    work_s: float
    exact: bool


def noisy(voice: Voice, words: str, seed: int) -> tuple[Samples, float]:
    """The sound, and the second in it at which the speech ends."""
    speech = voice.render(words).samples
    end = int(np.flatnonzero(np.abs(speech) > AUDIBLE * np.abs(speech).max())[-1])
    sound = np.pad(speech, (int(BEFORE_S * RATE_HZ), int(AFTER_S * RATE_HZ)))
    return mix(sound, workshop_noise(len(sound) / RATE_HZ, seed), SNR_DB), BEFORE_S + end / RATE_HZ


def ask(session: Session, hearing: Hearing, sound: Samples, spoken_s: float, words: str) -> Reply | None:
    """Plays `sound` in real time; None: there was no reply."""
    told = len(session.lines_since(0))
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
            return Reply(now - begun - spoken_s, now - taken, exact)
    return None


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
        session = begin_session(open_bench(Path(name)), sheet)
        hearing = Hearing(session, session.hear, lambda: Missing("none"), lambda: ear)
        hearing.use(ear)
        said = [words for _ in range(rounds) for words in SAID]
        replies = []
        for seed, words in enumerate(said):
            sound, spoken_s = noisy(voice, words, seed)
            reply = ask(session, hearing, sound, spoken_s, words)
            replies += [reply] if reply is not None else []
        session.writer.close()
    if replies:
        after = [reply.after_s for reply in replies]
        yield Figure(
            "end of speech to reply, by ear, median",
            f"{median(after):.2f} s",
            f"longest {max(after):.2f} s; {len(replies)} of {len(said)} answered, "
            f"{sum(reply.exact for reply in replies)} heard word for word (synthetic voice, {SNR_DB:g} dB)",
        )
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
