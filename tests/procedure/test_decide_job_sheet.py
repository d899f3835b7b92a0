"""What is offered and answered while the job sheet is filled in."""

from __future__ import annotations

from pathlib import Path

from at_the_press import fresh, sheet


def test_what_can_be_said_at_a_question_of_the_sheet_answers_it(tmp_path: Path) -> None:
    talk = fresh(tmp_path, {})
    assert "'your name'" in talk.type("what can i say")
    talk.type("robin")
    told = talk.type("what can i say")
    assert "'in the shop'" in told
    assert "that is correct" not in told


def test_no_at_the_sheet_asks_which_value(tmp_path: Path) -> None:
    talk = fresh(tmp_path, sheet("demo"))
    assert "Is it right?" in talk.asked()
    assert "which value is wrong" in talk.type("no")
