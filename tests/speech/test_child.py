"""An engine in a process of its own that hangs, exits or raises: started again, said, and nothing said to it is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import engines
import numpy as np
import pytest

from speech.apart import EarApart
from speech.child import MOST_STARTS
from speech.errors import Missing, SpeechError

SOUND = np.zeros(1600, np.float32)
Make = Callable[..., EarApart]


@pytest.fixture
def told() -> list[str]:
    return []


@pytest.fixture
def make(tmp_path: Path, told: list[str]) -> Iterator[Make]:
    made: list[EarApart] = []

    def fragile(how: str, times: int, deadline_s: float = 20.0) -> EarApart:
        file = tmp_path / "times"
        file.write_text(str(times))
        made.append(EarApart(engines.Fragile, (how, file), told.append, deadline_s))
        return made[-1]

    yield fragile
    for ear in made:
        ear.close()


@pytest.mark.parametrize(
    ("how", "deadline_s", "why"),
    [("exits", 20.0, "ended by itself (exit code 139)"), ("hangs", 1.0, "did not answer in 1 s")],
)
def test_an_engine_that_is_lost_is_started_again_and_hears_the_same_sound(
    make: Make, told: list[str], how: str, deadline_s: float, why: str
) -> None:
    ear = make(how, 1, deadline_s)
    assert (ear.name, ear.good_for_gates) == ("fragile", True)
    assert ear.hear(SOUND).text == "word"
    assert told == [f"The recogniser {why} and was started again."]


def test_what_an_engine_was_held_to_is_told_to_the_new_one(make: Make) -> None:
    ear = make("exits", 1)
    assert ear.expect(["yes", "no"]) == ()
    assert ear.hear(SOUND).text == "word yes no"


def test_a_sound_that_kills_twice_ends_it_with_a_sentence(make: Make) -> None:
    ear = make("exits", 2)
    with pytest.raises(SpeechError, match=r"ended by itself \(exit code 139\) twice over the same sound"):
        ear.hear(SOUND)


def test_an_engine_is_not_started_again_for_ever(make: Make, told: list[str], tmp_path: Path) -> None:
    ear = make("exits", 0)
    for _ in range(MOST_STARTS - 1):
        (tmp_path / "times").write_text("1")
        ear.hear(SOUND)
    (tmp_path / "times").write_text("1")
    with pytest.raises(SpeechError, match="not started again"):
        ear.hear(SOUND)
    assert len(told) == MOST_STARTS - 1


def test_an_engine_that_raises_says_what_and_goes_on(make: Make, told: list[str]) -> None:
    ear = make("raises", 1)
    with pytest.raises(SpeechError, match="ValueError: odd sound"):
        ear.hear(SOUND)
    assert ear.hear(SOUND).text == "word"
    assert told == []


def test_what_an_engine_prints_does_not_reach_the_screen(
    make: Make, capfd: pytest.CaptureFixture[str]
) -> None:
    assert make("prints", 1).hear(SOUND).text == "word"
    assert capfd.readouterr().out == ""


def test_a_closed_ear_says_so(make: Make) -> None:
    ear = make("exits", 0)
    ear.close()
    with pytest.raises(SpeechError, match="closed"):
        ear.hear(SOUND)


def test_an_engine_that_does_not_load_is_said(told: list[str]) -> None:
    missing = EarApart(engines.no_model, (), told.append).missing
    assert missing == Missing("No model here.")
    with pytest.raises(SpeechError, match=r"^The model is damaged\.$"):
        EarApart(engines.broken, (), told.append)
    with pytest.raises(SpeechError, match=r"exit code 139\) while it was being loaded"):
        EarApart(engines.dies_loading, (), told.append)
