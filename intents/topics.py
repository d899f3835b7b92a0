"""Things that have a value, named in a sentence: 'change thickness to two', 'upper platen one four two'."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from intents.canonical import canonical
from intents.meaning import Topic

Pattern = tuple[str, ...]


@dataclass(frozen=True)
class Found:
    """topics: one, or several that share the name. value, old: words ('' where the pattern has none)."""

    topics: tuple[Topic, ...]
    value: str
    old: str = ""


@lru_cache(maxsize=256)
def by_name(topics: tuple[Topic, ...]) -> Mapping[tuple[str, ...], tuple[Topic, ...]]:
    """Words of a name -> the topics called so."""
    named: dict[tuple[str, ...], tuple[Topic, ...]] = {}
    for topic in topics:
        for saying in topic.sayings:
            words = tuple(canonical(saying).split())
            named[words] = (*named.get(words, ()), topic)
    return named


def find(patterns: tuple[Pattern, ...], words: tuple[str, ...], topics: tuple[Topic, ...]) -> Iterator[Found]:
    """Every way in which the words fit one of the patterns, in the patterns' order."""
    named = by_name(topics)
    for pattern in patterns:
        if pattern[0][0] == "{" or pattern[0] == words[0]:
            yield from _fit(pattern, words, named, Found((), ""))


def _fit(
    pattern: Pattern, words: tuple[str, ...], named: Mapping[tuple[str, ...], tuple[Topic, ...]], sofar: Found
) -> Iterator[Found]:
    if not pattern:
        if not words:
            yield sofar
        return
    if len(words) < len(pattern):
        return
    first, rest = pattern[0], pattern[1:]
    if first == "{topic}":
        skip = 1 if words[0] == "the" else 0
        for length in range(len(words) - skip, 0, -1):
            topics = named.get(words[skip : skip + length])
            if topics:
                yield from _fit(rest, words[skip + length :], named, Found(topics, sofar.value, sofar.old))
    elif first in ("{value}", "{old}"):
        lengths = range(len(words), len(words) + 1) if not rest else range(1, len(words))
        for length in lengths:
            said = " ".join(words[:length])
            filled = (
                Found(sofar.topics, said, sofar.old)
                if first == "{value}"
                else Found(sofar.topics, sofar.value, said)
            )
            yield from _fit(rest, words[length:], named, filled)
    elif words[0] == first:
        yield from _fit(rest, words[1:], named, sofar)
