"""What is offered and answered while the job sheet is filled in."""

from __future__ import annotations

from pathlib import Path

from at_the_press import at, close_open_gates, fresh, sheet


def test_what_can_be_said_at_a_question_of_the_sheet_answers_it(tmp_path: Path) -> None:
    talk = fresh(tmp_path, {})
    assert "'your name'" in talk.type("what can i say")
    talk.type("robin", "that is correct")
    told = talk.type("what can i say")
    assert "'in the shop'" in told
    assert "that is correct" not in told


def test_no_at_the_sheet_asks_which_value(tmp_path: Path) -> None:
    talk = fresh(tmp_path, sheet("demo"))
    assert "Is it right?" in talk.asked()
    assert "which value is wrong" in talk.type("no")


def test_a_word_not_understood_does_not_bring_the_whole_sheet_again(tmp_path: Path) -> None:
    talk = fresh(tmp_path, sheet("demo"))
    said = talk.type("banana")
    assert "Is the job sheet right?" in said
    assert "belt width" not in said
    assert "belt width" in talk.type("say again")


def test_a_name_is_read_back_before_it_goes_into_the_record(tmp_path: Path) -> None:
    talk = fresh(tmp_path, {})
    said = talk.type("bloody thing")
    assert "technician" not in talk.state.values
    assert "that is correct" in said
    talk.type("anna", "that is correct")
    assert talk.state.values["technician"] == "anna"


def test_sentences_begin_large_and_name_what_is_missing(tmp_path: Path) -> None:
    assert "no value for the upper platen yet" in fresh(tmp_path / "a", {}).type(
        "what is the upper temperature"
    )
    talk = fresh(tmp_path / "b", sheet("demo"))
    talk.type("that is correct")
    assert talk.act == "fit"
    assert "Green template" in talk.asked()


def test_the_vent_is_read_back_with_a_large_i(tmp_path: Path) -> None:
    talk = at("demo", "vent_heard", tmp_path)
    close_open_gates(talk, "vent_heard")
    assert ": I heard the air go out." in talk.type("i heard it")
