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


def test_louder_sound_is_louder_and_never_clips_over() -> None:
    soft = Sound(np.full(1600, 0.1, np.float32))
    assert abs(level_db(louder(soft, 4.0).samples) - level_db(soft.samples) - 4.0) < 0.01  # class: analytic
    assert float(np.max(louder(soft, 40.0).samples)) == 1.0  # class: analytic
