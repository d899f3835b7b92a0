"""The phrasebook: what can be said for each command, read from data and checked when it is loaded."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from intents.canonical import canonical
from intents.danger import danger_word

COMMANDS = frozenset((
    "yes", "confirm", "no", "done", "back", "repeat", "slower", "faster", "louder", "quieter", "why", "how", "where",
    "next", "left", "until_cold", "recipe", "job", "help", "what_can_i_say", "time", "undo", "skip", "hold",
    "go_on", "hand_over", "stop_session", "deviation", "note", "brief", "explain_more", "heat_on", "at_set",
    "cool_on", "not_meant", "accept", "accept_note", "redo", "fine", "false_alarm", "keep_not", "supervisor", "cannot",
    "physics", "healed", "binding", "how_sure", "exact", "what_now", "if_power_fails", "should_read", "readings_why", "power_lost",
    "power_back", "reconnected", "pressure_lost", "press_opened", "just_now", "not_known",
    "silence", "choices", "meant", "cautions", "what_heard",
))  # fmt: skip
"""Every command there is. 'danger' is not among them: its words are in `danger`, where no file can remove one."""

MAY_BE_NEAR = frozenset((
    "repeat", "slower", "faster", "louder", "quieter", "why", "how", "where", "next", "left", "until_cold", "recipe",
    "job", "what_can_i_say", "time", "hold", "brief", "explain_more", "supervisor", "physics", "healed", "binding",
    "how_sure", "exact", "what_now", "should_read", "readings_why", "choices", "meant", "cautions", "what_heard",
))  # fmt: skip
"""Commands that only move the screen, hold or call: the only ones a slip of the ear may stand for."""

_FEWEST = 12
_LARGEST = 1_000_000  # bytes
_SLOTS = ("{name}", "{text}")
_NOT_A_NAME = frozenset((
    "who", "nobody", "no", "not", "i", "he", "she", "it", "they", "we", "you", "what", "somebody", "someone",
))  # fmt: skip
_NAME_WORDS = 3
_NEEDS = {
    "change": {"{topic}", "{value}"},
    "tell": {"{topic}", "{value}"},
    "ask": {"{topic}"},
    "what_if": {"{value}"},
    "why": {"{topic}"},
    "why_so": {"{value}"},
    "correct": {"{value}"},
}


class PhrasebookError(ValueError):
    """The phrasebook cannot be used; str() says what is wrong, where, and what to do."""


class _Checked(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _CommandFile(_Checked):
    shown: str
    says: tuple[str, ...]
    near: bool = False


class _TopicsFile(_Checked):
    change: tuple[str, ...]
    tell: tuple[str, ...]
    ask: tuple[str, ...]
    what_if: tuple[str, ...]
    why: tuple[str, ...]
    why_so: tuple[str, ...]
    correct: tuple[str, ...]


class _QuestionFile(_Checked):
    says: tuple[str, ...]
    about: tuple[str, ...] = ()


class _File(_Checked):
    schema_version: int
    questions: dict[str, _QuestionFile] = {}
    commands: dict[str, _CommandFile]
    topics: _TopicsFile


@dataclass(frozen=True)
class Command:
    """shown: how it is offered on the screen. says: fixed sayings. openings: sayings with a slot."""

    id: str
    shown: str
    says: tuple[str, ...]
    openings: tuple[str, ...]
    near: bool


@dataclass(frozen=True, eq=False)
class Phrasebook:
    commands: Mapping[str, Command]
    patterns: Mapping[
        str, tuple[tuple[str, ...], ...]
    ]  # 'change', 'tell', ... -> words with {topic} {value} {old}
    sha256: str  # of the file's bytes, for the record
    questions: Mapping[str, str] = field(default_factory=dict)  # whole question -> the topic it asks after
    about: tuple[tuple[frozenset[str], str], ...] = ()  # words that tell what any question is about, topic
    _fixed: dict[str, str] = field(init=False, repr=False)
    _openings: tuple[tuple[str, str], ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        fixed = {saying: c.id for c in self.commands.values() for saying in c.says}
        openings = [(opening, c.id) for c in self.commands.values() for opening in c.openings]
        openings.sort(key=lambda item: -len(item[0]))
        object.__setattr__(self, "_fixed", fixed)
        object.__setattr__(self, "_openings", tuple(openings))

    def find(self, words: str) -> tuple[str, str | None] | None:
        """(command, words in its slot) for canonical words that are exactly a saying; None if none is."""
        if words in self._fixed:
            return self._fixed[words], None
        for opening, command in self._openings:
            slot = _in_slot(opening, words)
            if slot is not None:
                return command, slot
        return None

    def offered(self, commands: Iterable[str]) -> tuple[str, ...]:
        """How the given commands are offered, in the phrasebook's order."""
        wanted = frozenset(commands)
        return tuple(c.shown for c in self.commands.values() if c.id in wanted)


def load_phrasebook(path: Path | None = None) -> Phrasebook:
    """Our own phrasebook, or the one at `path`. Raises: PhrasebookError."""
    source = path if path is not None else Path(__file__).parent / "data" / "phrases.toml"
    try:
        if source.stat().st_size > _LARGEST:
            raise PhrasebookError(
                f"The phrasebook {source} is larger than a megabyte: give a TOML phrasebook."
            )
        raw = source.read_bytes()
    except OSError as error:
        raise PhrasebookError(
            f"The phrasebook {source} cannot be read ({error.strerror}): give a TOML file."
        ) from None
    return parse_phrasebook(raw, str(source))


def parse_phrasebook(raw: bytes, name: str) -> Phrasebook:
    """Check and build; `name` is for the message. Raises: PhrasebookError."""
    try:
        data: dict[str, Any] = tomllib.loads(raw.decode("utf-8"))
        file = _File.model_validate(data)
    except UnicodeDecodeError:
        raise PhrasebookError(f"{name} is not text (UTF-8): give a TOML phrasebook.") from None
    except tomllib.TOMLDecodeError as error:
        raise PhrasebookError(f"{name} is not valid TOML ({error}): correct it and load it again.") from None
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise PhrasebookError(f"{name}, {where}: {first['msg']}. Correct it and load it again.") from None
    if file.schema_version != 1:
        raise PhrasebookError(f"{name}: schema_version {file.schema_version} is unknown here: use 1.")
    _check_ids(file, name)
    commands = {key: _command(key, value, name) for key, value in file.commands.items()}
    _check_overlap(commands, name)
    questions = _questions(file, commands, name)
    return Phrasebook(
        commands, _patterns(file.topics, name), hashlib.sha256(raw).hexdigest(), questions, _about(file, name)
    )


def _check_ids(file: _File, name: str) -> None:
    for key in file.commands:
        if key not in COMMANDS:
            raise PhrasebookError(f"{name}: there is no command '{key}': remove it or correct its name.")
        if file.commands[key].near and key not in MAY_BE_NEAR:
            raise PhrasebookError(f"{name}: '{key}' acts, so it must be said exactly: remove 'near' from it.")
    if missing := sorted(COMMANDS - set(file.commands)):
        raise PhrasebookError(
            f"{name}: the command '{missing[0]}' is missing: give it at least {_FEWEST} sayings."
        )


def _command(key: str, file: _CommandFile, name: str) -> Command:
    if len(file.says) < _FEWEST:
        raise PhrasebookError(f"{name}: '{key}' has {len(file.says)} sayings: give at least {_FEWEST}.")
    for saying in file.says:
        plain, slots = saying, [slot for slot in _SLOTS if slot in saying]
        for slot in slots:
            plain = plain.replace(slot, "", 1).strip()
        if canonical(plain) != plain or not plain:
            raise PhrasebookError(f"{name}, '{key}': write '{saying}' in plain words: '{canonical(plain)}'.")
        if len(slots) > 1 or (slots and not (saying.startswith(slots[0]) or saying.endswith(slots[0]))):
            raise PhrasebookError(f"{name}, '{key}': in '{saying}' one slot may stand, first or last.")
        if word := danger_word(plain):
            raise PhrasebookError(
                f"{name}, '{key}': '{saying}' has the word of danger '{word}': use other words."
            )
    fixed = tuple(s for s in file.says if "{" not in s)
    return Command(key, file.shown, fixed, tuple(s for s in file.says if "{" in s), file.near)


def _check_overlap(commands: Mapping[str, Command], name: str) -> None:
    owner: dict[str, str] = {}
    for command in commands.values():
        for saying in (*command.says, *command.openings):
            if saying in owner:
                raise PhrasebookError(
                    f"{name}: '{saying}' is said for '{owner[saying]}' and for '{command.id}': keep it in one."
                )
            owner[saying] = command.id
    for command in commands.values():
        for opening in command.openings:
            for saying, other in owner.items():
                if other != command.id and _in_slot(opening, saying) is not None:
                    raise PhrasebookError(
                        f"{name}: '{saying}' of '{other}' is also '{opening}' of '{command.id}': change one."
                    )


def _questions(file: _File, commands: Mapping[str, Command], name: str) -> dict[str, str]:
    taken = {saying: command.id for command in commands.values() for saying in command.says}
    asked: dict[str, str] = {}
    for topic, question in file.questions.items():
        for saying in question.says:
            if canonical(saying) != saying or not saying:
                raise PhrasebookError(
                    f"{name}, question '{topic}': write '{saying}' in plain words: '{canonical(saying)}'."
                )
            if word := danger_word(saying):
                raise PhrasebookError(
                    f"{name}, question '{topic}': '{saying}' has the word of danger '{word}': use other words."
                )
            if other := taken.get(saying):
                raise PhrasebookError(
                    f"{name}: '{saying}' is said for '{other}' and for the question '{topic}': keep it in one."
                )
            taken[saying] = asked[saying] = topic
    return asked


def _about(file: _File, name: str) -> tuple[tuple[frozenset[str], str], ...]:
    for topic, question in file.questions.items():
        for words in question.about:
            if not words or canonical(words) != words:
                raise PhrasebookError(
                    f"{name}, question '{topic}': write 'about' in plain words, not '{words}'."
                )
    return tuple(
        (frozenset(words.split()), topic)
        for topic, question in file.questions.items()
        for words in question.about
    )


def _patterns(topics: _TopicsFile, name: str) -> dict[str, tuple[tuple[str, ...], ...]]:
    patterns: dict[str, tuple[tuple[str, ...], ...]] = {}
    for key, needs in _NEEDS.items():
        rows: tuple[str, ...] = getattr(topics, key)
        for row in rows:
            words = row.split()
            if not needs <= set(words) or any(
                canonical(w) != w for w in words if w not in ("{topic}", "{value}", "{old}")
            ):
                raise PhrasebookError(
                    f"{name}, topics.{key}: '{row}' must hold {' and '.join(sorted(needs))} and plain words."
                )
        patterns[key] = tuple(tuple(row.split()) for row in rows)
    return patterns


def _in_slot(opening: str, words: str) -> str | None:
    """The words that fill the slot of `opening`, None if it does not fit."""
    slot = "{name}" if "{name}" in opening else "{text}"
    before, _, after = opening.partition(slot)
    if not (words.startswith(before) and words.endswith(after)) or len(words) <= len(before) + len(after):
        return None
    filled = words[len(before) : len(words) - len(after)]
    if slot == "{name}":
        parts = filled.split()
        if len(parts) > _NAME_WORDS or _NOT_A_NAME & set(parts):
            return None
    return filled
