"""What a stranger typed is read out too, whatever figures stand in it."""

from __future__ import annotations

import pytest

from intents.spoken_text import aloud


@pytest.mark.parametrize(
    ("written", "said"),
    [
        # class: analytic
        ("12345678901 bar", "one two three four five six seven eight nine zero one bar"),
        ("-1000000000.5", "minus one zero zero zero zero zero zero zero zero zero point five"),
        ("999999999", "nine hundred and ninety nine million nine hundred and ninety nine thousand nine hundred and ninety nine"),
    ],
)  # fmt: skip
def test_a_figure_beyond_words_is_said_sign_by_sign(written: str, said: str) -> None:
    assert aloud(written) == said


def test_a_figure_of_a_thousand_digits_is_said_too() -> None:
    assert aloud("9" * 1000).split() == ["nine"] * 1000
