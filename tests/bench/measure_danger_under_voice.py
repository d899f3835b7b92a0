"""Danger cried while our own voice sounds: `python tests/bench/measure_danger_under_voice.py KEPT [--only ...] [--part I/N]`.

Our own sentences, in the voices that are here, come through simulated rooms and loudspeakers (`tests/echo_rooms.py`) into
the whole ear, with workshop noise, and somebody cries over them, calls out something harmless, or is silent. Each take
goes through the ear once, and it is told which way found a cry: the sound as it is, or the sound without our voice.
Takes are made from their number alone; what came of each is appended to the file KEPT, and a later run goes on from there.
`--clean`: only the sound without our voice, which takes a sixth of the time; without it, and with the same KEPT, takes
that lack the other way are heard again. LOOPWRIGHT_VOICE_MODEL adds a piper voice to ours. `--told`: only tell what is in KEPT. Intervals: Wilson's, 95 %.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from itertools import product
from pathlib import Path
from statistics import median, quantiles
from typing import Any
from zlib import crc32

import numpy as np

sys.path.insert(1, str(Path(__file__).parents[1]))
from echo_rooms import any_room, strength
from figures import Figure, table
from measure_danger import CRIES, HARMLESS, Ears, interval, render, voices

from assistant.procedure.load import load_procedure
from intents.danger import danger_word
from intents.meaning import Meaning, NotForUs
from intents.spoken_text import aloud
from speech.ears import open_ear
from speech.errors import Missing
from speech.models import find_whisper
from speech.noise import workshop_noise
from speech.pieces import pieces
from speech.piper_voice import VOICE_VARIABLE, PiperVoice, find_piper
from speech.quick_ear import QuickEar
from speech.sound import BLOCK, RATE_HZ, Samples
from tui.hearing import Hearing

LOUDER_DB = (0.0, 10.0, -10.0)  # our voice over theirs, at the microphone
NOISE_DB = 20.0  # below theirs
HEAD_S, TAIL_S = 0.8, 1.8
KNOWN_S = 1.0  # nobody cries before we have spoken for so long


@dataclass(frozen=True)
class Take:
    """kind: cry, harmless or alone. louder_db: our voice over theirs."""

    kind: str
    number: int
    said: str
    speaker: str
    louder_db: float

    @property
    def name(self) -> str:
        return f"{self.kind} {self.number} {self.louder_db:g}"


@dataclass
class Outcome:
    """plain_s, clean_s: after the last sound of theirs, each way's first alarm; None: none. taken: answers taken."""

    name: str
    plain_s: float | None = None
    clean_s: float | None = None
    taken: int = 0
    off: bool = False  # our voice came off
    both: bool = False  # the sound as it is was heard too
    texts: tuple[str, ...] = ()


def takes(kind: str) -> Iterator[Take]:
    if kind == "cry":
        pairs = list(product(CRIES, voices()))
        for louder_db in LOUDER_DB:
            for number, (said, speaker) in enumerate(pairs):
                yield Take(kind, number, said, speaker, louder_db)
    elif kind == "harmless":
        for number, said in enumerate(HARMLESS):
            yield Take(kind, number, said, voices()[number % len(voices())], 0.0)
    else:
        for number in range(2 * len(_gates())):
            yield Take(kind, number, "", "", 10.0)


@cache
def _gates() -> Any:
    return load_procedure().procedure.gates


def ours(take: Take) -> str:
    """What we say meanwhile: alone a whole safety question, else the hazard with its first caution."""
    gate = _gates()[take.number * 5 % len(_gates())]
    if take.kind == "alone":
        return aloud(
            f"Safety question: {gate.hazard}. {' '.join(gate.cautions)} When it is so, say: '{gate.sentence}'."
        )
    return aloud(f"{gate.hazard}. {' '.join(gate.cautions[:1])}")


@cache
def _piper() -> PiperVoice | None:
    found = find_piper()
    os.environ.pop(VOICE_VARIABLE, None)  # the cries are in other voices
    return None if isinstance(found, Missing) else found


@cache
def our_voice(number: int, text: str) -> Samples:
    piper = _piper()
    if piper is None or number % 2 == 0:
        return render("en-us", text)
    samples = np.concatenate([piper.render(part).samples for part in pieces(text)])
    return np.asarray(0.5 * samples / np.abs(samples).max(), np.float32)


def sounds(take: Take) -> tuple[Samples, Samples, float]:
    """What the microphone gets; what our loudspeaker was given from HEAD_S on; when their last sound comes [s]."""
    rng = np.random.default_rng(crc32(take.name.encode()))
    voice = our_voice(take.number, ours(take))
    played = np.pad(voice, (int(HEAD_S * RATE_HZ), int(TAIL_S * RATE_HZ)))
    echo = any_room(take.number).echo(played)
    theirs = render(take.speaker, take.said) if take.said else np.full(1, 0.1, np.float32)
    at = int((HEAD_S + KNOWN_S) * RATE_HZ)
    at += int(rng.integers(0, max(1, len(voice) - int(KNOWN_S * RATE_HZ) - len(theirs))))
    theirs = theirs[: len(echo) - at]
    sound = echo * (strength(theirs) * 10 ** (take.louder_db / 20) / strength(echo))
    noise = workshop_noise(len(sound) / RATE_HZ, take.number)
    sound += noise * (strength(theirs) * 10 ** (-NOISE_DB / 20) / 0.1)
    if take.said:
        sound[at : at + len(theirs)] += theirs
    gain = min(1.0, 0.95 / float(np.abs(sound).max())) if take.said else 0.5 / float(np.abs(sound).max())
    return (gain * sound).astype(np.float32), voice, (at + len(theirs)) / RATE_HZ


def hear(ears: Ears, take: Take, both: bool) -> Outcome:
    """Through the whole ear, both ways at once, neither silencing the other."""
    sound, voice, ended_s = sounds(take)
    outcome = Outcome(take.name, both=both)
    now, clean = [0.0, 0.0], [False]

    def told(heard: Any) -> None:
        after_s = now[0] + time.perf_counter() - now[1] - ended_s
        meant = ears.session.meaning(heard)
        if not isinstance(meant, Meaning) or meant.intent != "danger":
            outcome.taken += not isinstance(meant, NotForUs)
            return
        outcome.texts = (*outcome.texts, f"{'clean' if clean[0] else 'plain'}: {heard.text}")
        if clean[0]:
            outcome.clean_s = after_s if outcome.clean_s is None else outcome.clean_s
        else:
            outcome.plain_s = after_s if outcome.plain_s is None else outcome.plain_s

    hearing = Hearing(ears.session, told, lambda: Missing("none"), lambda: ears._ear)
    hearing.use(ears._ear)
    hearing.look_early(ears._quick)
    early = hearing._early
    look = early._look

    def looks(glimpse: Any, ear: Any) -> None:
        clean[0] = glimpse.cleaned
        outcome.off |= glimpse.cleaned
        look(glimpse, ear)
        clean[0] = False

    early._look = looks  # type: ignore[method-assign]
    early.answered = lambda *_: False  # type: ignore[method-assign]
    begun_s = ears.session.clock.now().t_s
    words = ours(take)
    ends_s = HEAD_S + len(voice) / RATE_HZ
    began = ended = False
    for at in range(0, len(sound) - BLOCK + 1, BLOCK):
        now[:] = [(at + BLOCK) / RATE_HZ, time.perf_counter()]
        if not began and now[0] > HEAD_S:
            began = True
            early.playing(voice, begun_s + HEAD_S)
            hearing._own.began(words, begun_s + HEAD_S)
            hearing._listener.own_voice(True, begun_s + HEAD_S)  # type: ignore[union-attr]
        if not ended and now[0] > ends_s:
            ended = True
            hearing._own.ended(begun_s + ends_s)
            hearing._listener.own_voice(False, begun_s + ends_s)  # type: ignore[union-attr]
        block = sound[at : at + BLOCK]
        if both:
            hearing.take(block, begun_s + now[0])
        else:
            early.watch_under_our_voice(block, begun_s + now[0])
    return outcome


def figures(kept: dict[str, Outcome]) -> Iterator[Figure]:
    for louder_db in LOUDER_DB:
        done = [kept[t.name] for t in takes("cry") if t.louder_db == louder_db and t.name in kept]
        if not done:
            continue
        n = len(done)
        clean = sum(o.clean_s is not None for o in done)
        yield Figure(
            f"cries under our voice, ours {louder_db:+g} dB, noticed without it", f"{clean} of {n}",
            f"{interval(clean, n)}; {ways(done)}; our voice came off in {sum(o.off for o in done)}",
        )  # fmt: skip
        after = [o.clean_s for o in done if o.clean_s is not None]
        if len(after) > 1:
            p95 = quantiles(after, n=20)[18]
            yield Figure(
                "  without our voice: last sound to session", f"{median(after):.2f} s", f"p95 {p95:.2f} s"
            )
    for kind in ("alone", "harmless"):
        done = [kept[t.name] for t in takes(kind) if t.name in kept and danger_word(t.said) is None]
        if done:
            clean = sum(o.clean_s is not None for o in done)
            yield Figure(
                f"our voice, {kind}: false alarms without it", f"{clean} of {len(done)}",
                f"{interval(clean, len(done))}; {ways(done)}; our voice came off in {sum(o.off for o in done)}",
            )  # fmt: skip


def ways(done: Sequence[Outcome]) -> str:
    """Of those that were heard both ways: by which."""
    both = [o for o in done if o.both]
    plain = sum(o.plain_s is not None for o in both)
    either = sum(o.plain_s is not None or o.clean_s is not None for o in both)
    return f"of {len(both)} both ways: as it is {plain}, either {either}, answers taken {sum(o.taken for o in both)}"


def read(file: Path) -> dict[str, Outcome]:
    if not file.is_file():
        return {}
    lines = (json.loads(line) for line in file.read_text(encoding="utf-8").splitlines())
    return {line["name"]: Outcome(**line) for line in lines}


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("kept", type=Path, metavar="KEPT")
    parser.add_argument("--only", default="", choices=("", "cry", "harmless", "alone"))
    parser.add_argument("--part", default="1/1", help="of the takes, so that several may run at once")
    parser.add_argument("--clean", action="store_true")
    parser.add_argument("--told", action="store_true")
    chosen = parser.parse_args()
    part, parts = (int(text) for text in chosen.part.split("/"))
    kinds = (chosen.only,) if chosen.only else ("alone", "cry", "harmless")
    if not chosen.told:
        _piper()
        ear, folder = open_ear(), find_whisper()
        if isinstance(ear, Missing) or isinstance(folder, Missing):
            return print("not measured: the ears are not installed")
        with tempfile.TemporaryDirectory() as name:
            ears = Ears(Path(name), ear, QuickEar(folder))
            for take in [t for kind in kinds for t in takes(kind)][part - 1 :: parts]:
                before = read(chosen.kept).get(take.name)
                if before is not None and (before.both or chosen.clean):
                    continue
                outcome = hear(ears, take, not chosen.clean)
                with chosen.kept.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(asdict(outcome)) + "\n")
            ears.session.writer.close()
    print(table(list(figures(read(chosen.kept)))))
    return None


if __name__ == "__main__":
    main()
