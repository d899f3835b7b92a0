"""Things that have a value, named in a sentence: 'change thickness to two', 'upper platen one four two'."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
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
def _places(sayings: tuple[tuple[str, ...], ...]) -> Mapping[Pattern, tuple[int, ...]]:
    """Words of a name -> at which places it stands. By names only: where a reading should lie changes all the time."""
    named: dict[Pattern, tuple[int, ...]] = {}
    for place, names in enumerate(sayings):
        for saying in names:
            words = tuple(canonical(saying).split())
            named[words] = (*named.get(words, ()), place)
    return named


def find(patterns: tuple[Pattern, ...], words: tuple[str, ...], topics: tuple[Topic, ...]) -> Iterator[Found]:
    """Every way in which the words fit one of the patterns, in the patterns' order."""
    places = _places(tuple(topic.sayings for topic in topics))

    def named(name: Pattern) -> tuple[Topic, ...]:
        return tuple(topics[place] for place in places.get(name, ()))

    for pattern in patterns:
        if pattern[0][0] == "{" or pattern[0] == words[0]:
            yield from _fit(pattern, words, named, Found((), ""))


def _fit(
    pattern: Pattern, words: tuple[str, ...], named: Callable[[Pattern], tuple[Topic, ...]], sofar: Found
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
            topics = named(words[skip : skip + length])
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
