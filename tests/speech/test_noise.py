"""Workshop noise: repeatable, of the loudness asked for, and no speech to the voice detector."""

from __future__ import annotations

import numpy as np
import pytest

from speech.noise import mix, workshop_noise


def test_the_same_seed_gives_the_same_noise_and_another_seed_another() -> None:
    assert np.array_equal(workshop_noise(1.0, 3), workshop_noise(1.0, 3))
    assert not np.array_equal(workshop_noise(1.0, 3), workshop_noise(1.0, 4))


@pytest.mark.parametrize("snr_db", [20.0, 10.0, 0.0])
def test_the_mix_has_the_ratio_that_was_asked_for(snr_db: float) -> None:
    speech = (0.2 * np.sign(np.sin(np.arange(32_000) / 10))).astype(np.float32)  # power 0.04 throughout
    noise = workshop_noise(1.0, 1)  # shorter than the speech: repeated
    mixed = mix(speech, noise, snr_db).astype(np.float64)
    scale = float(np.dot(mixed, speech) / np.dot(speech, speech))  # the mix may be turned down as a whole
    power = np.mean((mixed / scale - speech) ** 2)
    assert 10 * np.log10(0.04 / power) == pytest.approx(
        snr_db, abs=0.2
    )  # class: analytic -- definition of the ratio
    assert np.max(np.abs(mixed)) <= 1.0


def test_silence_and_nothing_are_mixed_without_trouble() -> None:
    assert len(mix(np.zeros(0, np.float32), workshop_noise(0.1, 1), 10)) == 0
    assert np.all(np.isfinite(mix(np.zeros(100, np.float32), workshop_noise(0.1, 1), 10)))
