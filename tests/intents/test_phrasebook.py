"""The phrasebook is complete, no saying means two things, and a faulty one is refused in a sentence."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from intents.canonical import canonical
from intents.match import understand
from intents.meaning import Heard, Meaning, Sayable
from intents.phrasebook import (
    COMMANDS,
    MAY_BE_NEAR,
    Phrasebook,
    PhrasebookError,
    load_phrasebook,
    parse_phrasebook,
)

OURS = (Path(__file__).parents[2] / "intents" / "data" / "phrases.toml").read_text("utf-8")


def every_saying(book: Phrasebook) -> list[tuple[str, str]]:
    return [(saying, c.id) for c in book.commands.values() for saying in c.says]


def test_every_command_has_at_least_twelve_sayings_in_plain_words(book: Phrasebook) -> None:
    assert set(book.commands) == COMMANDS
    for command in book.commands.values():
        assert len(command.says) + len(command.openings) >= 12, command.id
        assert all(canonical(s) == s for s in command.says)


def test_no_saying_is_stolen_by_another_command(book: Phrasebook) -> None:
    everything = Sayable(COMMANDS)
    for saying, command in every_saying(book):
        assert understand(Heard(saying, "typed", 1, 2), everything, book) == Meaning(command, said=saying)


def test_a_saying_of_a_command_that_cannot_be_given_now_is_never_another(book: Phrasebook) -> None:
    for saying, command in every_saying(book):
        others = Sayable(COMMANDS - {command})
        understood = understand(Heard(saying, "typed", 1, 2), others, book)
        assert not isinstance(understood, Meaning), (saying, understood)


def test_openings_take_their_slot(book: Phrasebook) -> None:
    for command in book.commands.values():
        for opening in command.openings:
            said = opening.replace("{name}", "anna").replace("{text}", "left clamp sticks")
            assert book.find(said) == (command.id, "anna" if "{name}" in opening else "left clamp sticks")


def test_an_opening_with_nobody_is_no_hand_over(book: Phrasebook) -> None:
    assert book.find("nobody takes over") is None
    assert book.find("hand over to the man from the other side") is None


def test_only_commands_that_move_the_screen_may_be_near(book: Phrasebook) -> None:
    assert {c.id for c in book.commands.values() if c.near} <= MAY_BE_NEAR
    assert not MAY_BE_NEAR & {
        "yes",
        "confirm",
        "done",
        "accept",
        "skip",
        "back",
        "no",
        "go_on",
        "fine",
        "redo",
    }


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"yes", "yeah"', '"yes", "done", "yeah"', "'done' is said for 'yes' and for 'done'"),
        (
            '"yes", "yeah"',
            '"yes", "note this", "yeah"',
            "'note this' of 'yes' is also 'note {text}' of 'note'",
        ),
        ('"yes", "yeah"', '"Yes!", "yeah"', "write 'Yes!' in plain words: 'yes'"),
        ('"yes", "yeah"', '"yes", "fire"', "word of danger 'fire'"),
        ('"yes", "yeah"', '"yes", "{text} then {name}"', "one slot may stand"),
        ("[commands.yes]", "[commands.maybe]", "there is no command 'maybe'"),
        ('shown = "done"', 'shown = "done"\nnear = true', "'done' acts, so it must be said exactly"),
        ('shown = "done"', 'shown = "done"\ncolour = "red"', "commands.done.colour"),
        ("schema_version = 1", "schema_version = 2", "schema_version 2 is unknown"),
        ("schema_version = 1", "schema_version = ", "not valid TOML"),
        ('"change {topic} to {value}"', '"change {topic}"', "must hold {topic} and {value}"),
    ],
)
def test_a_faulty_phrasebook_is_refused(old: str, new: str, words: str) -> None:
    faulty = OURS.replace(old, new, 1)
    assert faulty != OURS
    with pytest.raises(PhrasebookError) as refused:
        parse_phrasebook(faulty.encode(), "mine.toml")
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_command_with_few_sayings_is_refused() -> None:
    start = OURS.index("[commands.undo]")
    end = OURS.index("[commands.skip]")
    faulty = f'{OURS[:start]}[commands.undo]\nshown = "undo"\nsays = ["undo"]\n\n{OURS[end:]}'
    with pytest.raises(PhrasebookError, match="'undo' has 1 sayings: give at least 12"):
        parse_phrasebook(faulty.encode(), "mine.toml")
    with pytest.raises(PhrasebookError, match="the command 'undo' is missing"):
        parse_phrasebook((OURS[:start] + OURS[end:]).encode(), "mine.toml")


def test_a_file_that_is_none_is_refused_in_one_sentence(tmp_path: Path) -> None:
    junk, large = tmp_path / "junk.toml", tmp_path / "large.toml"
    junk.write_bytes(b"\xff\xfe\x00\x01")
    large.write_bytes(b"#" * 2_000_000)
    for path in (tmp_path / "missing.toml", tmp_path, junk, large):
        with pytest.raises(PhrasebookError) as refused:
            load_phrasebook(path)
        assert str(path) in str(refused.value)


def test_the_digest_is_that_of_the_file(book: Phrasebook) -> None:
    assert book.sha256 == hashlib.sha256(OURS.encode()).hexdigest()
