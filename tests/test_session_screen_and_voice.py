"""What an utterance does to screen and voice alone, the job standing where it stands."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from at_the_press import SlowMouth, at

from speech.sound import Sound, level_db, louder


def test_asking_for_the_recipe_turns_the_page_and_moves_nothing(tmp_path: Path) -> None:
    talk = at("demo", "cut_first", tmp_path)
    before = talk.act
    talk.type("show the recipe")
    assert talk.session.view().page == "recipe"
    assert talk.session.view().pages_asked == 1
    talk.type("where are we")
    assert talk.session.view().page == "conversation"
    assert talk.act == before


def test_slower_and_louder_reach_the_voice(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at("demo", "cut_first", tmp_path, mouth)
    before = talk.act
    talk.type("slower please", "louder")
    assert mouth.adjusted == ["slower", "louder"]
    assert talk.act == before


def test_what_was_taken_by_ear_is_told_by_a_short_sound_and_what_was_not_for_us_is_not(
    tmp_path: Path,
) -> None:
    mouth = SlowMouth()
    talk = at("demo", "cut_first", tmp_path, mouth)
    mouth.cues.clear()
    talk.wait(60)  # nobody is asked any more
    talk.speak("did you see the match yesterday")
    talk.type("where are we")
    assert "taken" not in mouth.cues
    talk.speak("there is a fire")
    assert "taken" not in mouth.cues, "danger has its alarm"
    talk.type("false alarm")
    talk.speak("where are we")
    assert mouth.cues.count("taken") == 1


def test_a_short_sound_tells_when_the_question_has_been_put(tmp_path: Path) -> None:
    mouth = SlowMouth()
    talk = at("demo", "cut_first", tmp_path, mouth)
    mouth.end()
    mouth.cues.clear()
    talk.type("go back")
    assert mouth.cues == []
    mouth.end()
    assert mouth.cues == ["listening"]


def test_louder_sound_is_louder_and_never_clips_over() -> None:
    soft = Sound(np.full(1600, 0.1, np.float32))
    assert abs(level_db(louder(soft, 4.0).samples) - level_db(soft.samples) - 4.0) < 0.01  # class: analytic
    assert float(np.max(louder(soft, 40.0).samples)) == 1.0  # class: analytic
