"""Hours of workshop sound through the ears: `python tests/bench/measure_false_closings.py KEPT [--hours H] [--told]`.

Mixes, a minute each and made from their number alone: other people's recordings, several of them at once, nearly the
gates' sentences in synthetic voices, our own voice over a loudspeaker, and noise by itself, at levels drawn at random.
What was heard is appended to the file KEPT, from which a later run goes on. Then each utterance is judged as if it
answered each gate, and as an ordinary command or number. `--told`: judge only what is in KEPT.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from hearing_clips import NOISES, Clip, nearly_sentences, noise, people, say, voices_here
from hearing_kept import utterance
from measure_hearing import accepted, closes

from assistant.procedure.gate_table import RULES
from speech.ear import Ear
from speech.ears import open_ear
from speech.errors import Missing
from speech.listen import Listener
from speech.sound import BLOCK, RATE_HZ, Samples

MINUTE = 60 * RATE_HZ
TURNS = ("others", "nearly", "others", "babble", "nearly", "own voice", "others", "nearly", "babble", "noise")
SNR_DB = (-3.0, 25.0)  # drawn evenly, for each thing said
PAUSE_S = (0.2, 2.5)
NEAR = (("NEARLY",), ("NEARLY_OTHER", "ALIKE"))  # in turn
TOGETHER = 3  # voices of a babble


@cache
def _others() -> tuple[Clip, ...]:
    return tuple(c for c in people() if c.kind.startswith("other_") or c.kind == "two_talkers")


@cache
def _prompts() -> tuple[str, ...]:
    """What we say at each gate: the hazard, the cautions, and the sentence asked for."""
    from assistant.procedure.load import load_procedure

    gates = load_procedure().procedure.gates
    return tuple(f"{g.hazard}. {' '.join(g.cautions)} Say: {g.sentence}." for g in gates)


def minute(number: int) -> tuple[str, Samples, list[tuple[int, int]]]:
    """Kind, sound, and where in it our own voice sounds [samples]."""
    kind = TURNS[number % len(TURNS)]
    rng = np.random.default_rng(number)
    bed = noise(NOISES[int(rng.integers(len(NOISES)))], MINUTE, int(rng.integers(1 << 30)))
    bed = bed * np.float32(10 ** (rng.uniform(-50, -24) / 20) / max(1e-6, float(np.sqrt(np.mean(bed**2)))))
    floor = float(np.mean(bed**2))
    sound = bed.copy()
    own: list[tuple[int, int]] = []
    if kind == "noise":
        return kind, sound, own
    voices = voices_here()
    near = tuple(sentence for group in NEAR[number // len(TURNS) % 2] for sentence in nearly_sentences(group))
    at = int(rng.uniform(*PAUSE_S) * RATE_HZ)
    while at < MINUTE:
        if kind == "own voice":
            piece = say(voices[0], _prompts()[int(rng.integers(len(_prompts())))])
        elif kind == "nearly":
            piece = say(voices[int(rng.integers(len(voices)))], near[int(rng.integers(len(near)))])
        else:
            picked = [_others()[int(rng.integers(len(_others())))].samples() for _ in range(TOGETHER)]
            picked = picked if kind == "babble" else picked[:1]
            piece = np.sum([np.resize(p, max(map(len, picked))) for p in picked], axis=0)
        piece = piece[: MINUTE - at]
        power = float(np.mean(piece[np.abs(piece) > 0.02 * np.max(np.abs(piece), initial=1e-6)] ** 2))
        gain = np.sqrt(floor * 10 ** (rng.uniform(*SNR_DB) / 10) / max(power, 1e-12))
        sound[at : at + len(piece)] += np.float32(gain) * piece
        if kind == "own voice":
            own.append((at, at + len(piece)))
        at += len(piece) + int(rng.uniform(*PAUSE_S) * RATE_HZ)
    peak = float(np.max(np.abs(sound)))
    return kind, np.asarray(sound / max(1.0, peak / 0.98), np.float32), own


def heard_in(number: int, ear: Ear) -> dict[str, Any]:
    kind, sound, own = minute(number)
    listener, heard = Listener(ear), []
    for at in range(0, len(sound) - BLOCK + 1, BLOCK):
        if any(begin <= at < begin + BLOCK for begin, _ in own):
            listener.own_voice(sounding=True)
        if any(end <= at < end + BLOCK for _, end in own):
            listener.own_voice(sounding=False)
        heard += listener.feed(sound[at : at + BLOCK])
    heard += listener.flush()
    return {"minute": number, "kind": kind, "heard": [asdict(u) for u in heard]}


def run(kept: Path, hours: float) -> int:
    ear = open_ear()
    if isinstance(ear, Missing):
        print(ear.sentence)
        return 2
    done = sum(1 for _ in kept.open(encoding="utf-8")) if kept.is_file() else 0
    with kept.open("a", encoding="utf-8") as file:
        for number in range(done, round(hours * 60)):
            file.write(json.dumps(heard_in(number, ear)) + "\n")
            file.flush()
    return 0


def told(kept: Path) -> Iterator[str]:
    """A line for each kind of sound: hours, utterances, and what of them would have counted."""
    sentences = [s for rule in RULES for s in rule.sentences]
    minutes, utterances = Counter[str](), Counter[str]()
    closings, taken = Counter[str](), Counter[str]()
    for line in map(json.loads, kept.open(encoding="utf-8")):
        heard = [utterance(u) for u in line["heard"]]
        for kind in (line["kind"], "all"):
            minutes[kind] += 1
            utterances[kind] += len(heard)
            closings[kind] += sum(closes([u], sentences) for u in heard)
            taken[kind] += sum(bool(accepted([u])) for u in heard if not u.while_deaf)
    yield "| sound | hours | utterances | closed a gate | taken as one of twelve commands or a number, an hour |"
    yield "|---|---|---|---|---|"
    for kind, count in minutes.items():
        hours = count / 60
        yield f"| {kind} | {hours:.2f} | {utterances[kind]} | {closings[kind]} | {taken[kind] / hours:.1f} |"


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("kept", type=Path)
    parser.add_argument("--hours", type=float, default=10.0)
    parser.add_argument("--told", action="store_true", help="judge what is kept and listen to nothing")
    given = parser.parse_args()
    failed = 0 if given.told else run(given.kept, given.hours)
    if not failed:
        print(*told(given.kept), sep="\n")
    return failed


if __name__ == "__main__":
    sys.exit(main())
