"""How well this machine's ears hear safety sentences, and through which devices: the parts of `doctor` about sound."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from speech.ear import Ear
from speech.errors import Missing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from speech.sound import Samples
    from speech.sound_devices import Way

Found = tuple[bool, str, dict[str, Any]]
"""Whether it works, what is told of it, and facts for a machine."""

TRIED, CLEAR_AT_LEAST = 3, 2  # gates' sentences; one that fails may be said again
NOISE_dB = 20.0  # of speech over noise: a workshop, spoken close to the microphone


@dataclass
class _Tried:
    """Sentences in one kind of room. trouble: what became of one that was not heard clearly enough."""

    clear: int = 0
    took_s: float = 0.0
    trouble: str = ""

    @property
    def good(self) -> bool:
        return self.clear >= CLEAR_AT_LEAST


def listening(ear: Ear | Missing, gates: Sequence[str], ready_s: float) -> Found:
    """Whether gates can be closed by voice: their first sentences in a synthetic voice, in quiet and in noise.

    gates: the sentences. ready_s: what loading the ear took [s].
    """
    import numpy as np

    from speech.activity import Cutting
    from speech.apart import EarApart
    from speech.noise import mix, workshop_noise
    from speech.sound import RATE_HZ
    from speech.verify import GATE_SNR_DB
    from speech.voice import find_voice

    voice = find_voice()
    if isinstance(ear, Missing):
        return False, f"not good enough for gates by voice: {ear.sentence}", {"gates_by_voice": False}
    if not ear.good_for_gates:
        told = "not good enough for gates by voice: this ear was not measured with safety sentences; type gates in full"
        return False, told, {"gates_by_voice": False}
    if isinstance(voice, Missing):
        return False, f"could not be measured without a voice: {voice.sentence}", {}
    sentences = gates[:TRIED]
    if isinstance(ear, EarApart):
        ear.expect(sentences)
    quiet, noisy = _Tried(), _Tried()
    for n, sentence in enumerate(sentences):
        # The second before it is for the cutter to learn how loud the room is.
        sound = np.pad(voice.render(sentence).samples, (RATE_HZ, RATE_HZ * 7 // 10))
        _try(quiet, sentence, sound, ear)
        _try(noisy, sentence, mix(sound, workshop_noise(len(sound) / RATE_HZ, n), NOISE_dB), ear)
    took_s = (quiet.took_s + noisy.took_s) / (2 * len(sentences))
    delay_s = took_s + Cutting().pause_s
    good = quiet.good and noisy.good  # a workshop is not quiet
    if good:
        verdict = f"good enough in a quiet room and at {NOISE_dB:.0f} dB of speech over noise"
    else:
        verdict = "good enough only in a quiet room" if quiet.good else "not good enough, type them in full"
    trouble = quiet.trouble or (noisy.trouble and f"in noise {noisy.trouble}")
    told = (
        f"{verdict}: of {len(sentences)} safety sentences in a synthetic voice {quiet.clear} were heard clearly enough "
        f"at the first try in quiet and {noisy.clear} in workshop noise at {NOISE_dB:.0f} dB, {CLEAR_AT_LEAST} must be"
        f"{'; ' if trouble else ''}{trouble}; below {GATE_SNR_DB:.0f} dB they are typed; "
        f"ready in {ready_s:.1f} s, text {delay_s:.1f} s after the last word"
    )
    facts = {
        "gates_by_voice": good, "gates_by_voice_in_quiet": quiet.good,
        "sentences": len(sentences), "clear": quiet.clear, "clear_in_noise": noisy.clear, "noise_dB": NOISE_dB,
        "ready_s": round(ready_s, 2), "hearing_s": round(took_s, 2), "end_of_speech_to_text_s": round(delay_s, 2),
    }  # fmt: skip
    return good, f"for gates by voice {told}", facts


def _try(tried: _Tried, sentence: str, samples: Samples, ear: Ear) -> None:
    from speech.ear import plain
    from speech.listen import hear_sound
    from speech.sound import Sound

    began_s = time.perf_counter()
    heard = hear_sound(Sound(samples), ear)
    tried.took_s += time.perf_counter() - began_s
    text = " ".join(one.text for one in heard)
    if plain(text) != plain(sentence):
        tried.trouble = f"'{sentence}' was heard as '{text}'"
    elif not heard[0].gate_grade:
        tried.trouble = f"'{sentence}' was heard, but {heard[0].why_not}"
    else:
        tried.clear += 1


def devices(way: Way, setting: str) -> Found:
    """Microphones or loudspeakers by their full names, and which of them is taken."""
    from speech.device_microphone import NO_MICROPHONE
    from speech.microphone import program_is_here
    from speech.player import find_player
    from speech.sound_devices import chosen
    from speech.sound_devices import devices as all_devices

    taken, here = chosen(way, setting), all_devices(way)
    facts = {"taken": str(taken) if taken else None, "devices": [str(device) for device in here]}
    if taken is not None:
        others = "; ".join(str(device) for device in here if device != taken)
        return True, f"{taken}{f'; also here: {others}' if others else ''}", facts
    if way == "input":
        program = program_is_here()
        works, told = program is not None, f"through {program[0]}" if program else NO_MICROPHONE
    else:
        player = find_player(setting)
        works = not isinstance(player, Missing)
        told = player.sentence if isinstance(player, Missing) else f"through {player.name}"
    return works, told, facts
