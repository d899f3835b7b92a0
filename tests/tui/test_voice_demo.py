"""The demo's bookkeeping, with a way by voice that the test decides: what is counted, said again, typed, given up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from voiced import absent

from assistant.opening import open_bench
from assistant.practice.bench import PracticeBench
from assistant.practice.script import load_script
from assistant.session import Session
from speech.errors import SpeechError
from speech.utterance import Utterance
from tui.commands.demo import command
from tui.demo import Demo, run_demo
from tui.demo_summary import Tally, understood

pytestmark = pytest.mark.slow  # whole jobs, one after another


class Way:
    """`hears` gets the words and how often they were said at this question; what it gives is heard."""

    name = "the test speaks and listens"

    def __init__(
        self, hears: Callable[[str, int], str | None], snr_db: float, others: tuple[str, ...]
    ) -> None:
        self._hears, self._snr_db, self._others = hears, snr_db, others
        self._times = Counter[tuple[str, str]]()

    def hear(self, words: str, session: Session) -> tuple[Utterance | None, float]:
        key = (session.question(), words)
        self._times[key] += 1
        text = self._hears(words, self._times[key])
        if text is None:
            return None, 2.0
        others = self._others if text != words else ()
        heard = Utterance(
            0.4, 1.6, text, "test", -0.2, snr_db=self._snr_db, verified=True, gate_grade=True,
            alternatives=others, scores=tuple(-0.3 for _ in others),
        )  # fmt: skip
        return heard, 2.0


def demo(
    folder: Path, hears: Callable[[str, int], str | None], snr_db: float = 20.0, others: tuple[str, ...] = ()
) -> tuple[Demo, list[str]]:
    told: list[str] = []
    begun = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
    practice = PracticeBench(open_bench(folder, callsign=None), load_script(), begun)
    run = Demo(practice, Way(hears, snr_db, others), told.append)  # type: ignore[arg-type]
    run.run()
    return run, told


def test_whatever_is_heard_well_counts_as_heard_at_the_first_try(tmp_path: Path) -> None:
    run, told = demo(tmp_path, lambda words, _: words)
    assert run.practice.session.state.closed == "accepted"
    assert set(run.tally.by_ear) == {1}
    assert run.tally.by_ear[1] > 100
    assert run.tally.typed == []
    assert "you (typed)" not in "".join(told)


def test_what_is_not_heard_is_said_again_and_typed_after_two_tries(tmp_path: Path) -> None:
    """'that is correct' is heard at the second time only; the gate before the air never."""
    sentence = "the press is locked together and my hands are out of the way"

    def hears(words: str, times: int) -> str | None:
        if words == sentence:
            return "the press is locked together and my hands are not out of the way" if times == 1 else None
        return None if words == "that is correct" and times == 1 else words

    run, told = demo(tmp_path, hears)
    assert run.practice.session.state.closed == "accepted"
    assert run.tally.typed == [sentence]
    assert run.tally.by_ear[2] > 20
    assert any(f"what had been said: '{sentence}'" in line for line in told)
    assert any(f"nothing was heard of '{sentence}'" in line for line in told)


def test_a_gate_asked_in_other_words_is_answered_in_those(tmp_path: Path) -> None:
    first = "the press is locked together and my hands are out of the way"
    other = "the press is closed and my hands are clear"
    said: list[str] = []

    def hears(words: str, _: int) -> str | None:
        said.append(words)
        return "the presses lock together and my hands are out of the way" if words == first else words

    run, _ = demo(tmp_path, hears, snr_db=40.0)
    assert run.practice.session.state.closed == "accepted"
    assert run.tally.typed == []
    assert other in said


def test_a_value_understood_wrongly_is_put_right_and_typed_when_it_is_wrong_again(tmp_path: Path) -> None:
    def hears(words: str, _: int) -> str | None:
        return words.replace("it shows 180 degrees", "it shows 150 degrees").replace(
            "no it is 180", "no it is 170"
        )

    run, _ = demo(tmp_path, hears)
    assert run.practice.session.state.closed == "accepted"
    assert run.tally.put_right >= 2
    assert "no it is 180 degrees" in run.tally.typed


def test_a_voice_that_fails_in_the_middle_leaves_the_technician_typing(tmp_path: Path) -> None:
    count = 0

    def hears(words: str, _: int) -> str | None:
        nonlocal count
        count += 1
        if count > 5:
            raise SpeechError("The voice does not answer.")
        return words

    run, told = demo(tmp_path, hears)
    assert "The voice does not answer. The technician types from here on." in told
    assert run.practice.session.state.closed == "accepted"
    assert run.tally.by_ear == {1: 5}
    assert run.tally.typed_only > 100


def test_what_is_missing_is_said_first_and_the_technician_types(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import tui.spoken_way

    monkeypatch.setattr(tui.spoken_way, "find_way", lambda: ["No voice here.", "No ears here."])
    told: list[str] = []
    assert run_demo(tmp_path, typed=False, say=told.append) == 0
    assert told[0].startswith("SIMULATED")
    assert told[1:4] == ["No voice here.", "No ears here.", "The technician types."]
    assert any(line.startswith("OUTCOME (SIMULATED): accepted") for line in told)


def test_the_summary_counts_each_utterance_once() -> None:
    told = understood(Tally(Counter({1: 8, 2: 1}), ["nine"], put_right=2))
    assert told == [
        "10 utterances.",
        "By ear at the first try: 8 (80 %).",
        "By ear at the second try: 1 (10 %).",
        "First understood as something else, and put right: 2.",
        "Typed after two tries: 1: nine.",
    ]


def test_the_noise_that_is_asked_for_is_under_the_words(tmp_path: Path) -> None:
    from speech.ears import open_ear
    from speech.errors import Missing
    from speech.voice import find_voice
    from tui.spoken_way import SpokenWay

    voice, ear = find_voice(), open_ear()
    if isinstance(voice, Missing) or isinstance(ear, Missing):
        absent("no voice or no ear")
    session = PracticeBench(open_bench(tmp_path, callsign=None), load_script(), datetime.now(UTC)).session
    found = []
    for over_noise_db in (25.0, 10.0):
        way = SpokenWay(voice, ear, over_noise_db)
        assert f"{over_noise_db:g} dB" in way.name
        heard, _ = way.hear("there is no tension in the belt and no air pressure", session)
        assert heard is not None
        assert heard.snr_db is not None
        found.append(heard.snr_db)
    assert found[0] - found[1] > 7  # of the 15 dB asked for; the ears measure it roughly


def test_noise_without_a_voice_is_refused() -> None:
    done = CliRunner().invoke(command, ["--typed", "--over-noise", "10"])
    assert done.exit_code == 2
    assert "for a technician who speaks" in done.output


def test_asked_whether_the_confirmation_was_meant_the_technician_confirms(tmp_path: Path) -> None:
    """'That's it, correct.' at first, as a voice in noise: asked about, confirmed, and the job goes on."""
    asked = Counter[str]()

    def hears(words: str, _: int) -> str | None:
        asked[words] += 1
        return "that's it, correct" if words == "that is correct" and asked[words] % 3 == 1 else words

    run, told = demo(tmp_path, hears, others=("that is correct",))
    assert run.practice.session.state.closed == "accepted", "\n".join(told[-9:])
    assert any("Did you mean 'that is correct'?" in line for line in told)
    assert not any("that is not right" in line for line in told)
