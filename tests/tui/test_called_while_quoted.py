"""Whoever is quoted can still call us: what we say of heard words does not hold our own name."""

from __future__ import annotations

from pathlib import Path

import pytest
from at_the_press import HandClock, Talk, sheet

from assistant.opening import begin_session, open_bench
from intents.canonical import canonical
from intents.meaning import Heard
from tui.own_voice import OwnVoice

CALLSIGN = "computer"


def called_talk(path: Path) -> Talk:
    clock = HandClock()
    return Talk(begin_session(open_bench(path, callsign=CALLSIGN), sheet("demo"), clock), clock)


def hear(talk: Talk, text: str, alternatives: tuple[str, ...] = (), scores: tuple[float, ...] = ()) -> str:
    talk.told = talk._lines()
    talk.clock.advance(1.0)
    now_s = talk.clock.t_s
    talk.session.hear(
        Heard(
            text, "voice", now_s - 0.5, now_s - 0.1, sureness=-0.7, alternatives=alternatives, scores=scores
        )
    )
    return talk.answer()


@pytest.mark.parametrize("times", [1, 3])
def test_a_quotation_leaves_our_name_out_so_that_calling_us_cuts_in(times: int, tmp_path: Path) -> None:
    talk = called_talk(tmp_path)
    for _ in range(times):
        answer = hear(talk, "Computer, the ladder wobbles a bit.")
    assert "I heard 'the ladder wobbles a bit'" in answer
    own = OwnVoice(CALLSIGN)
    own.began(answer, 0.0)
    assert own.called("computer stop", CALLSIGN, 1.0, 2.0)


def test_a_question_about_a_less_likely_text_leaves_our_name_out_too(tmp_path: Path) -> None:
    talk = called_talk(tmp_path)
    answer = hear(talk, "Computer, no 55.", ("Computer, note 55.",), (-0.75,))
    assert "Did you mean 'note 55'?" in answer
    assert CALLSIGN not in canonical(answer)
    assert not talk.events("noted")
    talk.clock.advance(4.0)
    assert "Noted: 55" in hear(talk, "Computer, yes.")
