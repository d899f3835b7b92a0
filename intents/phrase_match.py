"""Which phrases of a list a heard text is: the same words, with numbers in another spelling of the same number.

A number has many spellings in an ear ('827', '8 2 7' and '8 27' for digits said one by one) but only one meaning may be
left: '4:30' is 'four thirty' and never 4.5, '1,500' never 1.5, '10, 5' never 105, and '4-5' is no number at all.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from typing import Literal

from intents.canonical import canonical
from intents.number_words import ONES, TEENS, TENS, ZEROS
from intents.numbers import readings

_MOST_WORDS = 16  # of one number
_REPEATS = {"double": 2, "triple": 3, "treble": 3}
_NEVER_INSIDE = frozenset(("minus", "plus", "negative", "dash", "comma"))  # said or written, they stay words
_FEWEST_DIGITS = 3  # said one by one they surely are one number; 'one two' is not twelve

Kind = Literal["whole", "decimal", "fraction", "none"]


@dataclass(frozen=True)
class _Group:
    """Digits said or written together. written: as digits; else in words."""

    digits: str
    written: bool


@dataclass(frozen=True)
class _Number:
    """groups: () unless it is a string of digits. kind 'none': no one value is sure. clock: '4:30'."""

    words: str
    groups: tuple[_Group, ...]
    kind: Kind
    value: float
    written: bool
    clock: bool = False
    torn: bool = False  # '10 5', '4 30': its groups could be two numbers, a sum or a time


def fitting(text: str, phrases: dict[str, str]) -> list[str]:
    """The phrases that the text surely is; several are a tie.

    Args:
        phrases: canonical text -> phrase as it stands in the list.
    """
    said = canonical(text)
    if said in phrases:
        return [phrases[said]]
    parts = _parts(said)
    return [phrase for words, phrase in phrases.items() if _same(parts, _parts(words))]


@lru_cache(maxsize=4096)
def _parts(text: str) -> tuple[str | _Number, ...]:
    """Words, and in place of each longest run of number words the number."""
    words = text.split()
    parts: list[str | _Number] = []
    at = 0
    while at < len(words):
        for end in range(min(len(words), at + _MOST_WORDS), at, -1):
            number = _number(tuple(words[at:end]))
            if number is not None:
                parts.append(number)
                at = end
                break
        else:
            parts.append(words[at])
            at += 1
    return tuple(parts)


@lru_cache(maxsize=4096)
def _number(words: tuple[str, ...]) -> _Number | None:
    if any(word in _NEVER_INSIDE for word in words) or (len(words) == 1 and words[0] in ("oh", "o")):
        return None
    text = " ".join(words)
    if found := re.fullmatch(r"(\d{1,2}):([0-5]\d)", text):
        return _Number(text, (_Group(found[1], True), _Group(found[2], True)), "none", 0.0, True, clock=True)
    groups = _groups(words)
    kind, value = _value(text)
    if groups is None and not readings(text):
        return None
    return _Number(
        text, groups or (), kind, value, len(words) == 1 and text[0].isdigit(), torn=_torn(text, groups)
    )


def _groups(words: tuple[str, ...]) -> tuple[_Group, ...] | None:
    """'eight twenty seven' as 8, 27; None where a word is no part of a string of digits."""
    groups: list[_Group] = []
    times = 1
    for before, word in zip(("", *words), words, strict=False):
        if word in _REPEATS and times == 1:
            times = _REPEATS[word]
            continue
        if word.isdecimal():
            groups.append(_Group(word, written=True))
        elif word in ONES and before in TENS and word != "zero" and times == 1:
            groups[-1] = _Group(str(TENS[before] + ONES[word]), written=False)
        elif word in ZEROS or word in ONES:
            groups += [_Group("0" if word in ZEROS else str(ONES[word]), written=False)] * times
        elif (word in TEENS or word in TENS) and times == 1:
            groups.append(_Group(str((TEENS | TENS)[word]), written=False))
        else:
            return None
        times = 1
    return tuple(groups) if times == 1 else None


def _value(text: str) -> tuple[Kind, float]:
    """The one value that the words surely have."""
    if "," in text:
        thousands = re.fullmatch(r"\d{1,3}(?:,\d{3})+", text)
        return ("whole", float(text.replace(",", ""))) if thousands else ("none", 0.0)
    sure = [r for r in readings(text) if r.sure and not (r.way == "clock" and "." in text)]
    if len(sure) != 1 or sure[0].way == "clock":
        return "none", 0.0
    reading = sure[0]
    if reading.way == "digits" and len(f"{reading.value:.0f}") < _FEWEST_DIGITS:
        return "none", 0.0
    if reading.way == "fraction":
        return "fraction", reading.value
    return "decimal" if reading.way == "decimal" or "." in text else "whole", reading.value


def _torn(text: str, groups: tuple[_Group, ...] | None) -> bool:
    found = readings(text)
    several = groups is not None and len(groups) > 1
    return several and (
        any(r.way == "clock" for r in found) or len({r.value for r in found if r.way == "groups"}) > 1
    )


def _same(one: tuple[str | _Number, ...], other: tuple[str | _Number, ...]) -> bool:
    return len(one) == len(other) and all(
        _same_number(a, b) if isinstance(a, _Number) and isinstance(b, _Number) else a == b
        for a, b in zip(one, other, strict=True)
    )


def _same_number(one: _Number, other: _Number) -> bool:
    if one.words == other.words:
        return True
    if one.clock or other.clock:
        return _same_time(one, other)
    if one.groups and other.groups and (_splits(one, other) or _splits(other, one)):
        return True
    if "none" in (one.kind, other.kind) or one.value != other.value:
        return False
    if one.kind == other.kind:
        return True
    # 'two and a half' may be written 2.5, but 'half' is not said 'zero point five'.
    return {one.kind, other.kind} == {"fraction", "decimal"} and one.written != other.written


def _same_time(one: _Number, other: _Number) -> bool:
    """'4:30' and 'four thirty', '12:05' and 'twelve oh five'."""
    time, said = (one, other) if one.clock else (other, one)
    if said.clock or not said.groups or any(group.written for group in said.groups):
        return False
    hours, minutes = (group.digits for group in time.groups)
    first, *rest = (group.digits for group in said.groups)
    return first == hours and (rest == [minutes] or (minutes[0] == "0" and rest == list(minutes)))


def _splits(coarse: _Number, fine: _Number) -> bool:
    """Whether the groups of `fine` are those of `coarse`, or what its written ones were said in."""
    if "".join(g.digits for g in coarse.groups) != "".join(g.digits for g in fine.groups):
        return False
    ends = list(accumulate(len(g.digits) for g in coarse.groups))
    parts = list(accumulate(len(g.digits) for g in fine.groups))
    if ends == parts:
        return True
    if coarse.torn or not set(ends) <= set(parts):
        return False
    for begin, end, group in zip([0, *ends], ends, coarse.groups, strict=False):
        inside = [g for g, at in zip(fine.groups, parts, strict=True) if begin < at <= end]
        if len(inside) > 1 and not (
            group.written and all(not g.written or len(g.digits) == 1 for g in inside)
        ):
            return False
    return True
