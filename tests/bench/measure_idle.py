"""What listening costs: `python tests/bench/measure_idle.py [--minutes N]`, 60 if not said.

Sound goes through the whole ear faster than real time: a fan's noise alone, and noise with somebody speaking for a
fifth of the time. Ten minutes are made and looped. Told are processor time as a share of one core, by the length of
the sound, and the memory of this process before and after; a session's ears live in processes of their own, each
with some 100 MB of libraries besides. The engine is the one that is here (vosk where its model is named).
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from figures import Figure, table

from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet_file import read_sheet
from assistant.opening import begin_session, open_bench
from speech.ears import open_ear
from speech.errors import Missing
from speech.models import find_whisper
from speech.noise import mix, workshop_noise
from speech.quick_ear import QuickEar
from speech.sound import BLOCK, RATE_HZ, Samples
from speech.voice import find_voice
from tui.hearing import Hearing

LOOP_S = 600
SAID = (
    "where are we", "the belt is two point two millimeters thick", "did you see the match yesterday",
    "how long left", "put that pallet over there please", "say again",
)  # fmt: skip
EVERY_S = 10.0


def resident_MB() -> float:
    status = Path("/proc/self/status")
    if not status.is_file():
        return float("nan")
    return int(status.read_text().split("VmRSS:")[1].split()[0]) / 1024


def fan(seconds: int) -> Samples:
    return np.asarray(0.3 * workshop_noise(seconds, 1), np.float32)


def mixed(seconds: int) -> Samples | Missing:
    """Somebody says something every ten seconds, 20 dB over the noise."""
    voice = find_voice()
    if isinstance(voice, Missing):
        return voice
    said = [voice.render(words).samples for words in SAID]
    speech = np.zeros(seconds * RATE_HZ, np.float32)
    for k in range(int(seconds / EVERY_S)):
        words, at = said[k % len(said)], int(k * EVERY_S * RATE_HZ)
        speech[at : at + len(words)] = words[: len(speech) - at]
    return mix(speech, workshop_noise(seconds, 2), 20.0)


def figures(rounds: int) -> Iterator[Figure]:
    """rounds: minutes of each sound."""
    ear, folder = open_ear(), find_whisper()
    if isinstance(ear, Missing):
        yield Figure("listening", "not measured", ear.sentence)
        return
    quick = None if isinstance(folder, Missing) else QuickEar(folder)
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        session = begin_session(
            open_bench(Path(name)), dict(read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml"))
        )
        for what, made in (("a fan's noise", fan), ("noise, speech a fifth of the time", mixed)):
            loop = made(min(LOOP_S, 60 * rounds))
            if isinstance(loop, Missing):
                yield Figure(f"listening to {what}", "not measured", loop.sentence)
                continue
            for early in (False, True):
                if early and quick is None:
                    continue
                heard: list[object] = []
                hearing = Hearing(session, heard.append, lambda: Missing("none"), lambda: ear)
                hearing.use(ear)
                if early and quick is not None:
                    hearing.look_early(quick)
                used_s, before_MB = listen(hearing, loop, rounds)
                yield Figure(
                    f"listening to {what}{', early look' if early else ''}",
                    f"{100 * used_s / (60 * rounds):.1f} %",
                    f"of one core; memory {before_MB:.0f} -> {resident_MB():.0f} MB over {rounds} min of sound, "
                    f"{len(heard)} utterances; {ear.name}",
                )
        session.writer.close()


def listen(hearing: Hearing, loop: Samples, minutes: int) -> tuple[float, float]:
    """Processor seconds used, and memory [MB] after the first minute."""
    begun, before_MB, now_s = time.process_time(), 0.0, 0.0
    while now_s < 60 * minutes:
        for at in range(0, len(loop) - BLOCK + 1, BLOCK):
            now_s += BLOCK / RATE_HZ
            hearing.take(loop[at : at + BLOCK], now_s)
            if not before_MB and now_s >= 59:
                before_MB = resident_MB()
    return time.process_time() - begun, before_MB


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--minutes", type=int, default=60)
    for figure in figures(parser.parse_args().minutes):
        print(table([figure]), flush=True)


if __name__ == "__main__":
    main()
