"""How well the recogniser hears the gates' sentences: `python tests/bench/measure_gate_sentences.py [SENTENCE...]`.

Renders each sentence (default: those of the packaged procedure) in several synthetic voices, clean and with
workshop noise, sends it through the whole listening chain, and prints how often it came out exactly, how often
clearly enough for a gate, and how often as another gate's sentence. For choosing words; people are heard better
than these voices. About 0.5 s a try.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

from intents.canonical import canonical
from speech.ear import Ear
from speech.ears import open_ear
from speech.errors import Missing, SpeechError
from speech.listen import hear_sound
from speech.noise import mix, workshop_noise
from speech.sound import RATE_HZ, Sound
from speech.voice import Voice, find_voice

SPEAKERS = ("en-us", "en-us+m3", "en-us+john")
LEVELS_DB = (None, 20.0, 10.0)


@dataclass
class Tally:
    tries: int = 0
    exact: int = 0
    gate_grade: int = 0
    another: int = 0


def packaged_sentences() -> list[str]:
    from assistant.procedure.load import load_procedure

    return [gate.sentence for gate in load_procedure().procedure.gates]


def render(voice: Voice, sentence: str, speaker: str, snr_db: float | None, seed: int) -> Sound:
    import numpy as np

    samples = np.pad(voice.render(sentence, speaker=speaker).samples, (RATE_HZ, RATE_HZ // 2))
    if snr_db is None:
        return Sound(samples)
    return Sound(mix(samples, workshop_noise(len(samples) / RATE_HZ, seed), snr_db))


def measure(
    sentences: list[str], voice: Voice, ear: Ear
) -> tuple[dict[str, Tally], dict[float | None, Tally], list[str]]:
    by_sentence = {sentence: Tally() for sentence in sentences}
    by_level = {level: Tally() for level in LEVELS_DB}
    misheard: list[str] = []
    canon = {canonical(sentence) for sentence in sentences}
    for n, sentence in enumerate(sentences):
        for level in LEVELS_DB:
            for speaker in SPEAKERS:
                heard = hear_sound(render(voice, sentence, speaker, level, seed=n), ear)
                texts = [canonical(u.text) for u in heard]
                exact = texts == [canonical(sentence)]
                for tally in (by_sentence[sentence], by_level[level]):
                    tally.tries += 1
                    tally.exact += exact
                    tally.gate_grade += exact and heard[0].gate_grade
                    tally.another += not exact and any(text in canon for text in texts)
                if not exact:
                    noise = "clean" if level is None else f"{level:.0f} dB"
                    misheard.append(
                        f"{speaker:11}{noise:7}{sentence} -> {' / '.join(u.text for u in heard) or '(nothing)'}"
                    )
    return by_sentence, by_level, misheard


def main(sentences: list[str]) -> int:
    voice, ear = find_voice(), open_ear()
    if isinstance(voice, Missing) or isinstance(ear, Missing):
        print(
            voice.sentence if isinstance(voice, Missing) else ear.sentence if isinstance(ear, Missing) else ""
        )
        return 2
    try:
        by_sentence, by_level, misheard = measure(sentences or packaged_sentences(), voice, ear)
    except SpeechError as error:
        print(error)
        return 2
    print(f"{ear.name}; {voice.name}; speakers {', '.join(SPEAKERS)}\n")
    print("tries exact gate-grade as-another-gate")
    for sentence, tally in by_sentence.items():
        print(f"{tally.tries:5} {tally.exact:5} {tally.gate_grade:10} {tally.another:15}  {sentence}")
    for level, tally in by_level.items():
        name = "clean" if level is None else f"{level:.0f} dB"
        print(f"{tally.tries:5} {tally.exact:5} {tally.gate_grade:10} {tally.another:15}  all, {name}")
    print("\nmisheard:", *misheard, sep="\n  ")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
