"""Danger heard early: `python tests/bench/measure_danger.py [--cries N] [--only text|cries|words|other|own]`.

Cries in synthetic voices, clean and in workshop noise, go block by block through the whole ear: the early look and
the utterance after it. Told are: how many were noticed, by which of the two, and how long after the last audible
sample the session had it (stream time plus the time the look took). False alarms: harmless sentences in the same
voices, and all recordings of people and noise that are at hand. 'own': six safety questions said aloud into its own
microphone, alone and with somebody speaking over it. 'text': the same cries and sentences as written words, no sound,
also behind our name and written over and over. Intervals: Wilson's, 95 %. Takes minutes.
"""

from __future__ import annotations

import argparse
import csv
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import islice
from pathlib import Path
from statistics import median, quantiles
from typing import Any
from zlib import crc32

import numpy as np
from figures import Figure, table

from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet_file import read_sheet
from assistant.opening import begin_session, open_bench
from intents.cries import WORDS
from intents.danger import danger_word
from intents.meaning import Heard, Meaning, NotForUs
from intents.spoken_text import aloud
from speech.ears import open_ear
from speech.errors import Missing
from speech.models import find_whisper
from speech.noise import mix, workshop_noise
from speech.quick_ear import QuickEar
from speech.sound import BLOCK, RATE_HZ, Samples
from speech.voice import find_voice
from speech.wavefile import read_wav
from tui.hearing import Hearing

CRIES = (
    "there is a fire", "fire fire", "there is smoke coming out of the press", "something is burning", "i am hurt",
    "stop stop", "my hand is trapped", "my fingers are caught in the press", "help help", "he got a shock from the cable",
    "he is burnt", "somebody is hurt", "call an ambulance", "she has burned her hand", "the cable is sparking",
    "he is bleeding", "the hose has burst", "he has passed out", "he is not breathing", "i have cut myself",
    "get me out", "everybody out", "this is an emergency", "the press is on fire",
    "help me", "somebody help me", "emergency stop", "stop the press", "it will not stop", "there are fumes",
    "i smell chlorine", "the cable is live", "steam is coming out",
    "the press will not stop it is crushing my hand", "it has my hand", "the press is on my hand", "he is not moving", "stop it now",
    "the belt is pulling me in", "my hand is in the press", "turn it off now", "cut the power", "somebody is on the floor", "man down",
    "the air hose is whipping around", "the hose has come off", "the knife went into my leg", "i can not get out", "i am still inside",
    "the plate came down on his fingers", "get help", "my glove is melting", "he can not let go of the cable", "watch out",
    "the press is moving by itself", "open the press my hand is in it", "i feel dizzy",
)  # fmt: skip
HARMLESS = (
    "fire the press up", "fire up the press", "no smoke", "there is no smoke", "the shock cord", "nobody is hurt",
    "no one is injured", "it is not burning", "where is the fire extinguisher", "the fire extinguisher is on the wall",
    "there is a burn mark", "trapped air", "false alarm", "a smoke break", "the fire door is closed", "the first aid kit",
    "the belt is two point two millimeters thick", "we fired it up again at four", "the air is on", "what is the pressure",
    "he went to a hurry", "the far end is higher", "turn the page", "my hands are clear", "the tyre is new",
    "the choke is on the workbench", "a bird sits on the truck", "the next stop is the shop",
    "burnt edges", "the edge is burnt", "note burnt spot", "there is a burnt spot on the left edge", "does it smoke",
    "will it smoke", "will i burn my fingers", "can it burn me", "how hot before it burns",
    "where is the emergency stop", "the emergency stop is reset", "is the emergency stop reset", "i have tested the emergency stop",
    "how do i reset the emergency stop", "stop the session", "when do i stop the press", "stop the press when it is cold",
    "help", "can you help me", "help me with the belt", "is the cable live", "the cable is not live", "no fumes",
    "the fumes are gone", "the fume extractor is on", "what about the fumes", "let the steam out", "no steam is coming out",
    "steam is coming out of the outlet", "it will not stop raining", "the timer will not stop", "it gives off hydrogen chloride",
    "do you smell chlorine",
    "the belt is not moving", "the conveyor is not moving", "it has my handwriting", "the press is on my list", "he is not moving the belt",
    "the belt is on the floor", "he is on the phone", "turn it off", "open the press", "the air hose is connected", "i took the air hose off",
    "the knife is in my hand", "the plate came down to sixty degrees", "the temperature is coming down", "i need help", "we need help with the belt",
    "i can not get out of this menu", "my hand is on the lever", "i am inside", "the conveyor started", "no chlorine", "watch out for the edge",
    "the needle is not moving",
)  # fmt: skip
NEARLY_HARMLESS = (
    "burnt", "i am burnt", "it burns", "it is burnt", "the edge is burning", "my edge is burnt", "why does it smoke",
    "nobody is hurt except me", "no smoke but it burns", "fire the extinguisher is empty", "i burned my fingers",
    "emergency stop now", "hit the emergency stop", "help him", "the cable is still live", "it will not stop at all",
    "there are sharp fumes here",
)  # fmt: skip
"""Cries that begin or end as something harmless does."""
OUR_NAME = "computer"
VOICES = ("en-us", "en-us+m3", "flite slt")
LEVELS_DB = (None, 20.0, 10.0, 5.0)
OVER_DB = (-10.0, 0.0, 10.0)  # somebody's voice over our own
AUDIO = Path(__file__).parents[3] / "shared" / "audio"
BEFORE_S, AFTER_S = 1.0, 1.6


def level(snr_db: float | None) -> str:
    return "clean" if snr_db is None else f"{snr_db:g} dB"


def interval(hits: int, of: int) -> str:
    """Wilson's 95 % interval of a share, in per cent."""
    z, share = 1.96, hits / of
    middle = share + z * z / (2 * of)
    half = z * float(np.sqrt(share * (1 - share) / of + z * z / (4 * of * of)))
    low, high = (middle - half) / (1 + z * z / of), (middle + half) / (1 + z * z / of)
    return f"{100 * max(0.0, low):.1f} to {100 * min(1.0, high):.1f} %"


@cache
def render(voice: str, text: str) -> Samples:
    """Peak 0.5."""
    if voice.startswith("flite"):
        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder) / "out.wav"
            subprocess.run(["flite", "-voice", voice.split()[1], "-t", text, "-o", out], check=True)
            samples = read_wav(out).samples
    else:
        samples = _voice().render(text, speaker=voice).samples
    return np.asarray(0.5 * samples / np.abs(samples).max(), np.float32)


@cache
def _voice() -> Any:
    return find_voice()


@cache
def voices() -> tuple[str, ...]:
    return tuple(v for v in VOICES if not v.startswith("flite") or shutil.which("flite"))


def noisy(speech: Samples, snr_db: float | None, seed: int) -> tuple[Samples, float]:
    """The sound, and the second at which the speech in it ends."""
    end = int(np.flatnonzero(np.abs(speech) > 0.01 * np.abs(speech).max())[-1])
    sound = np.pad(speech, (int(BEFORE_S * RATE_HZ), int(AFTER_S * RATE_HZ)))
    if snr_db is not None:
        sound = mix(sound, workshop_noise(len(sound) / RATE_HZ, seed), snr_db)
    return sound, BEFORE_S + end / RATE_HZ


@dataclass
class Caught:
    """early, late: seconds of the stream, with the time it took, at which each path told of danger; None: it did not."""

    early_s: float | None = None
    late_s: float | None = None
    passed: list[Heard] = field(default_factory=list)


class Ears:
    """The whole ear of a session that stands at a question, and takes nothing in."""

    def __init__(self, folder: Path, ear: Any, quick: Any) -> None:
        sheet = dict(read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml"))
        self.session = begin_session(open_bench(folder), sheet)
        self._ear, self._quick = ear, quick
        self.interrupted = 0

    def hear(self, sound: Samples, ours: str = "", ours_s: tuple[float, float] = (0.0, 0.0)) -> Caught:
        """`ours`: what we say ourselves meanwhile, and from when to when."""
        caught = Caught()
        now = [0.0, 0.0]  # stream, and when the block came by the clock on the wall

        def told(heard: Heard) -> None:
            at_s = now[0] + time.perf_counter() - now[1]
            caught.passed.append(heard)
            meant = self.session.meaning(heard)
            if not isinstance(meant, Meaning) or meant.intent != "danger":
                return
            if heard.engine == self._quick.name:
                caught.early_s = at_s if caught.early_s is None else caught.early_s
            else:
                caught.late_s = at_s if caught.late_s is None else caught.late_s

        hearing = Hearing(self.session, told, lambda: Missing("none"), lambda: self._ear)
        hearing.use(self._ear)
        hearing.look_early(self._quick)
        hearing._early.answered = lambda *_: False  # type: ignore[method-assign]  # both paths are measured
        begun_s = self.session.clock.now().t_s
        state = 0
        for at in range(0, len(sound) - BLOCK + 1, BLOCK):
            now[:] = [(at + BLOCK) / RATE_HZ, time.perf_counter()]
            if ours and state == 0 and now[0] >= ours_s[0]:
                state = 1
                hearing._own.began(ours, begun_s + now[0])
                assert hearing._listener is not None
                hearing._listener.own_voice(True, begun_s + now[0])
            if ours and state == 1 and now[0] >= ours_s[1]:
                state = 2
                hearing._own.ended(begun_s + now[0])
                assert hearing._listener is not None
                hearing._listener.own_voice(False, begun_s + now[0])
            hearing.take(sound[at : at + BLOCK], begun_s + now[0])
        return caught


def cries(ears: Ears, texts: Sequence[str], levels: Sequence[float | None], what: str) -> Iterator[Figure]:
    after: list[float] = []
    late_after: list[float] = []
    for snr_db in levels:
        early = late = either = n = 0
        missed: list[str] = []
        for text in texts:
            for voice in voices():
                sound, end_s = noisy(render(voice, text), snr_db, crc32(f"{text}{voice}".encode()))
                caught = ears.hear(sound)
                n += 1
                early += caught.early_s is not None
                late += caught.late_s is not None
                either += caught.early_s is not None or caught.late_s is not None
                if caught.early_s is not None:
                    after.append(caught.early_s - end_s)
                if caught.late_s is not None:
                    late_after.append(caught.late_s - end_s)
                if caught.early_s is None and caught.late_s is None:
                    missed.append(f"{voice}: {text}")
        yield Figure(
            f"{what} noticed, {level(snr_db)}",
            f"{either} of {n}",
            f"missed {interval(n - either, n)}; early {early}, at its end {late}",
        )
        print(f"missed {what} {level(snr_db)}:", *missed, sep="\n  ", file=sys.stderr)
    yield from latency(f"{what}: last sound to session, early look", after)
    yield from latency(f"{what}: last sound to session, utterance", late_after)


def latency(what: str, seconds: list[float]) -> Iterator[Figure]:
    if len(seconds) > 1:
        yield Figure(
            what, f"{median(seconds):.2f} s", f"p95 {quantiles(seconds, n=20)[18]:.2f} s; {len(seconds)}"
        )


def false_alarms(ears: Ears, sounds: Iterable[tuple[str, str, Samples]], what: str) -> Iterator[Figure]:
    """sounds: name, the words that were said, samples."""
    n = early = late = 0
    seconds = 0.0
    names: list[str] = []
    for name, words, samples in sounds:
        if danger_word(words):
            continue
        caught = ears.hear(samples)
        n += 1
        seconds += len(samples) / RATE_HZ
        early += caught.early_s is not None
        late += caught.late_s is not None
        if caught.early_s is not None or caught.late_s is not None:
            names.append(f"{name}: {[h.text for h in caught.passed]}")
    if n:
        yield Figure(
            f"false alarms, {what}",
            f"{len(names)} of {n}",
            f"{interval(len(names), n)}; early {early}, at its end {late}; {seconds / 60:.1f} min",
        )
        print(f"false alarms {what}:", *names, sep="\n  ", file=sys.stderr)


def written() -> Iterator[Figure]:
    """As words, without any sound: what the rules make of a text that was heard right."""
    ways = {
        "as it is": "{0}", "behind our name": f"{OUR_NAME}, {{0}}", "behind our name, no stops": f"{OUR_NAME} {{0}}",
        "our name behind it": f"{{0}}, {OUR_NAME}", "three times over": f"{OUR_NAME}, {{0}}! " * 3,
        "three times over, no stops": f"{OUR_NAME} {{0}} " * 3,
    }  # fmt: skip
    for way, form in ways.items():
        for what, texts in (("cries", (*CRIES, *NEARLY_HARMLESS, *sorted(WORDS))), ("harmless", HARMLESS)):
            alarms = [text for text in texts if danger_word(form.format(text), OUR_NAME)]
            other = [text for text in texts if (text in alarms) is (what == "harmless")]
            yield Figure(
                f"written {what} that raise the alarm, {way}",
                f"{len(alarms)} of {len(texts)}",
                "; ".join(other),
            )


def harmless(levels: Sequence[float | None]) -> Iterator[tuple[str, str, Samples]]:
    from assistant.procedure.load import load_procedure

    sentences = [gate.sentence for gate in load_procedure().procedure.gates]
    for text in (*HARMLESS, *sentences):
        for voice in voices():
            for snr_db in levels:
                sound, _ = noisy(render(voice, text), snr_db, crc32(f"{text}{voice}".encode()))
                yield f"{voice} {level(snr_db)} '{text}'", text, sound


def people(snr_db: float | None) -> Iterator[tuple[str, str, Samples]]:
    if not (AUDIO / "manifest.tsv").is_file():
        return
    with (AUDIO / "manifest.tsv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file, delimiter="\t"):
            samples = np.pad(read_wav(AUDIO / row["file"]).samples, (8000, 24000))
            if snr_db is not None:
                samples = mix(samples, workshop_noise(len(samples) / RATE_HZ, 5), snr_db)
            yield row["file"], row["words"], samples


def own_voice(ears: Ears, questions: int) -> Iterator[Figure]:
    """Our own safety questions in our own microphone, alone and with somebody speaking over them."""
    from assistant.procedure.load import load_procedure

    gates = load_procedure().procedure.gates[:questions]
    over = ("nothing", "that is correct", "there is a fire", "my hand is trapped", "the sentence")
    for spoken in over:
        for mixed_db in OVER_DB if spoken != "nothing" else (0.0,):
            n = noticed = early = answers = alarms = 0
            waits: list[float] = []
            for k, gate in enumerate(gates):
                ours = aloud(
                    f"Safety question: {gate.hazard}. {' '.join(gate.cautions)} When it is so, say: '{gate.sentence}'."
                )
                voice = render("en-us", ours) if len(ours) < 1000 else render("en-us", ours[:990])
                sound = np.pad(voice, (RATE_HZ // 2, int(1.8 * RATE_HZ)))
                end_s = 0.5 + len(voice) / RATE_HZ
                said = gate.sentence if spoken == "the sentence" else spoken
                their_end_s = 0.0
                if spoken != "nothing":
                    words = render(voices()[-1], said)
                    at = RATE_HZ // 2 + (len(voice) - len(words)) * (1 + k % 3) // 4
                    gain = np.sqrt(np.mean(voice**2) / np.mean(words**2)) * 10 ** (mixed_db / 20)
                    sound[at : at + len(words)] += gain * words
                    sound = (sound / max(1.0, np.abs(sound).max() / 0.98)).astype(np.float32)
                    their_end_s = (at + len(words)) / RATE_HZ
                caught = ears.hear(sound, ours, (0.5, end_s))
                n += 1
                cry = danger_word(said) is not None
                alarmed = caught.early_s is not None or caught.late_s is not None
                if cry:
                    noticed += alarmed
                    early += caught.early_s is not None
                    first = min((s for s in (caught.early_s, caught.late_s) if s is not None), default=None)
                    waits += [] if first is None else [first - their_end_s]
                else:
                    alarms += alarmed
                    if alarmed:
                        print("own voice alarm:", gate.id, [h.text for h in caught.passed], file=sys.stderr)
                answers += sum(
                    not isinstance(meant := ears.session.meaning(h), NotForUs)
                    and not (isinstance(meant, Meaning) and meant.intent == "danger")
                    for h in caught.passed
                )
            name = (
                f"own question, '{spoken}' over it at {mixed_db:+g} dB"
                if spoken != "nothing"
                else "own question alone"
            )
            if danger_word(spoken):
                beside = f"noticed; early {early}; median {median(waits):.1f} s after" if waits else "noticed"
                yield Figure(name, f"{noticed} of {n}", f"{beside}; answers taken {answers}")
            else:
                yield Figure(name, f"{answers} of {n}", f"answers taken; alarms {alarms}")


def figures(rounds: int, only: str = "") -> Iterator[Figure]:
    """rounds: how many cries and harmless things of each list; the whole list from its length on."""
    if only in ("", "text"):
        yield from written()
        if only:
            return
    ear, folder = open_ear(), find_whisper()
    for found in (_voice(), ear, folder):
        if isinstance(found, Missing):
            yield Figure("danger", "not measured", found.sentence)
            return
    assert not isinstance(folder, Missing)
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        ears = Ears(Path(name), ear, QuickEar(folder))
        some = slice(None if rounds >= len(CRIES) else rounds)
        if only in ("", "cries"):
            yield from cries(ears, CRIES[some], LEVELS_DB, "cries")
        if only in ("", "words"):
            yield from cries(ears, sorted(WORDS)[some], (None, 10.0), "single words")
        if only in ("", "other"):
            yield from false_alarms(ears, islice(harmless((None, 10.0)), some.stop), "harmless sentences")
            for snr_db in (None, 10.0):
                yield from false_alarms(
                    ears, islice(people(snr_db), some.stop), f"recordings, {level(snr_db)}"
                )
        if only in ("", "own"):
            yield from own_voice(ears, max(1, rounds // 4))
        ears.session.writer.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--cries", type=int, default=len(CRIES), help="of each list")
    parser.add_argument("--only", default="", choices=("", "text", "cries", "words", "other", "own"))
    chosen = parser.parse_args()
    print(f"load at the start {os.getloadavg()[0]:.1f}; voices {', '.join(voices())} (synthetic)")
    for figure in figures(chosen.cries, chosen.only):
        print(table([figure]), flush=True)


if __name__ == "__main__":
    main()
