"""A callsign is dropped from what is said: so none may turn a sentence round, and none may be a cry."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from assistant.callsign import why_no_callsign
from tui.main import main


@pytest.mark.parametrize("word", ["computer", "captain", "november", "assistant", "hello bench", "anna"])
def test_a_plain_word_may_call_the_bench(word: str) -> None:
    assert why_no_callsign(word) == ""


@pytest.mark.parametrize(
    "word", ["not", "nobody", "never", "without", "nothing yet", "do not", "dont", "if", "unlocked", "fire", "help help", "Not", "x"]
)  # fmt: skip
def test_a_word_that_turns_a_sentence_round_or_is_a_cry_may_not(word: str) -> None:
    assert why_no_callsign(word)


@pytest.mark.parametrize("how", ["option", "environment"])
def test_the_program_refuses_it_in_a_sentence(how: str, tmp_path: Path) -> None:
    words = ["talk", "--typed", "--folder", str(tmp_path / "records")]
    given = [*words, "--callsign", "not"] if how == "option" else words
    told = CliRunner().invoke(main, given, input="", env={"LOOPWRIGHT_CALLSIGN": "not"})
    assert told.exit_code == 2
    assert "must hold no word like 'not'" in told.output
    assert not (tmp_path / "records").exists()
