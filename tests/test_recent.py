"""Answers are remembered by what was asked with, and only so many of them."""

from __future__ import annotations

from assistant.recent import remembered


class Thing:
    """Compared by identity, as parts of a state are."""


def test_the_same_things_are_asked_once_and_others_anew() -> None:
    asked: list[tuple[Thing, int]] = []

    @remembered(4)
    def answer(thing: Thing, number: int) -> list[int]:
        asked.append((thing, number))
        return [number]

    one, other = Thing(), Thing()
    first = answer(one, 1)
    assert answer(one, 1) is first
    assert answer(one, 2) is not first
    assert answer(other, 1) is not first
    assert asked == [(one, 1), (one, 2), (other, 1)]


def test_equal_things_that_are_not_the_same_are_asked_anew() -> None:
    @remembered(4)
    def total(numbers: list[int]) -> int:
        return sum(numbers)

    # class: analytic
    assert total([1, 2]) == 3
    assert total([1, 5]) == 6  # not the answer to a list that is gone and whose place this one may have


def test_only_the_newest_answers_are_kept() -> None:
    asked: list[Thing] = []

    @remembered(2)
    def answer(thing: Thing) -> int:
        asked.append(thing)
        return len(asked)

    things = [Thing(), Thing(), Thing()]
    for thing in (*things, things[2], things[1], things[0]):
        answer(thing)
    assert asked == [*things, things[0]]
