"""The demo: the example job whole, unattended, spoken by a synthetic voice where one can be had."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.opening import open_bench
from assistant.practice.bench import PracticeBench
from assistant.practice.script import load_script
from assistant.practice.technician import Say
from assistant.record.read import read_log
from assistant.review.deviations import departures
from assistant.review.verify import Verdict, verify
from tui.hearing import heard_from
from tui.plain import plain

if TYPE_CHECKING:
    from speech.sound import Sound
    from speech.utterance import Utterance

SNR_DB = 20.0
TRIES_BY_EAR = 2
STUCK = 6  # times the same words at the same question: the script does not fit the procedure
ACCEPTED = ("accepted", "accepted with a note")
WORDS_A_MINUTE = 140
PAD_S = 0.4  # of noise before and after the words


@dataclass
class Tally:
    """How the technician's utterances got across."""

    counts: Counter[str] = field(default_factory=Counter)
    typed_after: list[str] = field(default_factory=list)


class SpokenWay:
    """Words to sound, noise, recogniser and back: what a microphone at the press would bring."""

    def __init__(self) -> None:
        self.missing: list[str] = []
        from speech.errors import Missing
        from speech.models import find_whisper
        from speech.voice import find_voice

        voice, model = find_voice(), find_whisper()
        self._sounds: dict[str, Sound] = {}
        self._said = 0
        self.missing = [found.sentence for found in (voice, model) if isinstance(found, Missing)]
        if isinstance(voice, Missing) or isinstance(model, Missing):
            return
        from speech.whisper_ear import WhisperEar

        self._voice, self._ear = voice, WhisperEar(model)
        self.name = f"{self._voice.name} speaks, {self._ear.name} listens, workshop noise at {SNR_DB:g} dB"

    def hear(self, words: str) -> tuple[Utterance | None, float]:
        """What is heard of `words`, None for nothing; and how long the sound lasted [s]."""
        import numpy as np

        from speech.listen import hear_sound
        from speech.noise import mix, workshop_noise
        from speech.sound import RATE_HZ, Sound

        if words not in self._sounds:
            self._sounds[words] = self._voice.render(words, WORDS_A_MINUTE)
        pad = np.zeros(int(PAD_S * RATE_HZ), np.float32)
        speech = np.concatenate([pad, self._sounds[words].samples, pad])
        self._said += 1
        noisy = mix(speech, workshop_noise(len(speech) / RATE_HZ, seed=self._said), SNR_DB)
        heard = hear_sound(Sound(noisy), self._ear)
        return (heard[0] if heard else None), len(noisy) / RATE_HZ


def run_demo(folder: Path | None, typed: bool, say: Callable[[str], None]) -> int:
    """Runs the job to its end. Returns: 0 when the joint was accepted and the log verifies, else 1."""
    begun = time.monotonic()
    way, missing = _way(typed)
    say("SIMULATED: the press is a model with constants of its own, and its time is accelerated.")
    for sentence in missing:
        say(sentence)
    say(way.name if way is not None else "The technician types.")
    script = load_script()
    bench = open_bench(folder or _demo_folder(), callsign=None)
    practice = PracticeBench(bench, script, datetime.now().astimezone())
    tally, told, stuck = Tally(), 0, Counter[str]()
    while (wish := practice.next()) is not None:
        stuck[f"{practice.session.question()} {wish.words}"] += 1
        if max(stuck.values()) > STUCK:
            say(f"The scripted technician is stuck at: {practice.session.view().act_say}")
            break
        told = _print_new(practice, told, say)
        _get_across(practice, wish, way, tally)
        told = _print_new(practice, told, say)
    _print_new(practice, told, say)
    verdict = verify(practice.session.writer.path)
    _summary(practice, verdict, tally, say)
    say(f"Took {time.monotonic() - begun:.0f} s for {practice.clock.now().t_s / 60:.0f} min of job.")
    accepted = practice.session.state.closed in ACCEPTED
    return 0 if accepted and verdict.ok and verdict.closed else 1


def _demo_folder() -> Path:
    from assistant.record.store import default_folder

    return default_folder() / "simulated"


def _way(typed: bool) -> tuple[SpokenWay | None, list[str]]:
    if typed:
        return None, []
    from speech.errors import SpeechError

    try:
        way = SpokenWay()
    except SpeechError as error:
        return None, [str(error)]
    return (None, way.missing) if way.missing else (way, [])


def _get_across(practice: PracticeBench, wish: Say, way: SpokenWay | None, tally: Tally) -> None:
    """By ear, again, then typed: as a person would."""
    if way is None:
        practice.typed(wish.words)
        tally.counts["typed, no ears"] += 1
        return
    asked = practice.session.question()
    meant = practice.meant(wish.words)
    for attempt in range(1, TRIES_BY_EAR + 1):
        heard, seconds = way.hear(wish.words)
        if heard is not None and practice.spoken(partial(heard_from, heard), seconds, meant):
            tally.counts[f"by ear, try {attempt}"] += 1
            return
        if practice.session.question() != asked:
            tally.counts["misunderstood, and put right"] += 1
            return  # something else was understood: the technician sees to that next
    practice.typed(wish.words)
    tally.counts["typed after two tries"] += 1
    tally.typed_after.append(wish.words)


def _print_new(practice: PracticeBench, told: int, say: Callable[[str], None]) -> int:
    """The conversation since the last call, each line with how far the job has got."""
    fresh = practice.session.lines_since(told)
    if fresh:
        stages = practice.session.view().stages
        place = next((n for n, stage in enumerate(stages, 1) if stage.status == "now"), len(stages))
        for line in fresh:
            way = f" ({line.way})" if line.way else ""
            say(f"[{place:>2}/{len(stages)} {line.t_s / 60:5.1f} min] {line.who}{way}: {plain(line.text)}")
    return told + len(fresh)


def _summary(practice: PracticeBench, verdict: Verdict, tally: Tally, say: Callable[[str], None]) -> None:
    view, path = practice.session.view(), practice.session.writer.path
    say("")
    say("RECIPE (SIMULATED)")
    for row in view.recipe:
        say(f"  {row.label}: {row.value}. {plain(row.reason)}")
    results = practice.session.state.computed.get("recipe", {})
    for label, seconds, reason in results.get("dwell_items", []):
        say(f"    dwell: {seconds:+.0f} s {label}. {reason}")
    say("DEVIATIONS")
    for departure in departures(read_log(path)):
        say(f"  {departure.t_s / 60:5.1f} min {departure.sort}: {plain(departure.sentence)}")
    say("HOW THE TECHNICIAN WAS UNDERSTOOD")
    total = sum(tally.counts.values())
    for what, count in sorted(tally.counts.items()):
        say(f"  {what}: {count} of {total}")
    if tally.typed_after:
        say(f"  typed in the end: {'; '.join(tally.typed_after)}")
    say("RECORD")
    say(f"  {path}")
    for sentence in (*verdict.sentences, *verdict.vouched):
        say(f"  {sentence}")
    say(f"OUTCOME (SIMULATED): {view.finished or 'not finished'}")
