"""Nearly said: near misses of commands that only move the screen. Nothing that counts is ever matched nearly."""

from __future__ import annotations

from functools import lru_cache

from rapidfuzz import fuzz, process

from intents.canonical import canonical
from intents.meaning import AskBack, Expected, Meaning, NotForUs, Sayable
from intents.phrasebook import Phrasebook

# Chosen on tests/intents/near_misses.py, see tests/bench/measure_understand.py: the lowest of the
# thresholds at which no sentence that means something else is taken for a command.
NEAR = 86.0
NEAR_QUESTION = 93.0  # one word changes what a question is about: only slips of a letter or two
TIE = 4.0  # two commands closer to each other than this: ask
_HINT = 70.0  # from here on it is worth saying what could have been meant
_SENTENCE_HINT = 60.0  # and that the gate's sentence was nearly said
_CHOICE = 75.0  # and that a choice was nearly named: only asked about
_NO_HINT = frozenset(("false_alarm",))  # where there is an alarm, its own question offers it
_SHORTEST = 6  # letters; in shorter words one letter changes everything
_TURNS_ROUND = frozenset(("not", "no", "never", "nobody", "none", "without", "nearly", "almost", "un", "off"))


@lru_cache(maxsize=128)
def _sayings(
    commands: frozenset[str], named: frozenset[str], book: Phrasebook
) -> tuple[tuple[str, str], ...]:
    """Sayings with their command, and questions with '?' before the topic they ask after."""
    told = [(saying, c.id) for c in book.commands.values() if c.id in commands for saying in c.says]
    return (*told, *((question, f"?{name}") for question, name in book.questions.items() if name in named))


def nearly(
    words: str, sayable: Sayable, book: Phrasebook, threshold: float = NEAR
) -> Meaning | AskBack | NotForUs:
    """A command that the words nearly are, a question between two, or what could have been meant."""
    sayings = _sayings(sayable.commands, frozenset(topic.slot for topic in sayable.topics), book)
    if len(words) < _SHORTEST or len(words) > 80:
        return NotForUs("not sayable")
    found = process.extract(words, [s for s, _ in sayings], scorer=fuzz.ratio, score_cutoff=_HINT, limit=8)
    ranked = [(score, *sayings[index]) for _, score, index in found]
    best: dict[str, tuple[float, str]] = {}
    for score, saying, command in ranked:
        best.setdefault(command, (score, saying))
    for sentence in (sayable.sentence, *sayable.sentences_before):
        sentence_score = 0.0 if sentence is None else fuzz.ratio(words, canonical(sentence))
        if (
            sentence is not None
            and sentence_score >= _SENTENCE_HINT
            and sentence_score >= max((s for s, _ in best.values()), default=0.0)
        ):
            return NotForUs("not sayable", (sentence,))
    hints = tuple(saying for command, (_, saying) in best.items() if command not in _NO_HINT)[:3]
    top = ranked[0][0] if ranked else 0.0
    close = {
        c: saying
        for c, (score, saying) in best.items()
        if top >= threshold and score >= top - TIE and (not c.startswith("?") or score >= NEAR_QUESTION)
    }
    if not close or any(not _may_be_near(c, book) or not _same_sense(words, s) for c, s in close.items()):
        return NotForUs("not sayable", hints)
    options = tuple(
        Meaning("ask_value", c[1:], said=saying) if c.startswith("?") else Meaning(c, said=saying)
        for c, saying in close.items()
    )
    if len(options) == 1:
        return options[0]
    named = "' or '".join(option.said for option in options)
    return AskBack(f"Do you mean '{named}'?", options)


def _may_be_near(command: str, book: Phrasebook) -> bool:
    return command.startswith("?") or book.commands[command].near


def near_choice(words: str, expected: Expected) -> AskBack | None:
    """Asks for the choice that the words nearly name; None if none is near. Never takes one."""
    if expected.kind != "choice" or len(words) < _SHORTEST:
        return None
    best: dict[str, tuple[float, str]] = {}
    for choice in expected.choices:
        for saying in choice.sayings:
            score = fuzz.ratio(words, canonical(saying))
            if (
                score >= _CHOICE
                and _same_sense(words, canonical(saying))
                and score > best.get(choice.key, (0.0,))[0]
            ):
                best[choice.key] = (score, saying)
    options = [Meaning("value", expected.slot, key, saying) for key, (_, saying) in best.items()]
    if not options:
        return None
    return AskBack(f"Do you mean {' or '.join(option.said for option in options)}?", tuple(options))


def _same_sense(words: str, saying: str) -> bool:
    """As many negations in the one as in the other."""
    return _turns(words) == _turns(saying)


def _turns(words: str) -> list[str]:
    return sorted(word for word in words.split() if word in _TURNS_ROUND)


def turns_round(words: list[str]) -> bool:
    """Whether a word is among them that turns a sentence round."""
    return not _TURNS_ROUND.isdisjoint(words)
