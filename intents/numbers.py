"""Number words and digit spellings: every value they can mean.

A saying has a set of readings, each with the way it was read. Some ways are only a hint of what
could have been meant ('one eighty two' for 1.82): such a reading may be asked about, never taken.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from intents.canonical import canonical
from intents.number_words import ONES, TEENS, TENS, ZEROS, say_digits, say_number
from intents.signs import DASH

__all__ = ["ZEROS", "Reading", "readings", "say_digits", "say_number"]

Way = Literal["written", "cardinal", "digits", "pairs", "decimal", "fraction", "clock", "groups", "no point"]

_POINTS = frozenset(("point", "dot", "comma", "decimal"))
_REPEATS = {"double": 2, "triple": 3, "treble": 3}
_DENOMINATORS = {
    "half": 2, "third": 3, "quarter": 4, "fifth": 5, "eighth": 8, "tenth": 10, "sixteenth": 16, "hundredth": 100,
}  # fmt: skip
_DENOMINATORS |= {f"{word}s": n for word, n in _DENOMINATORS.items()} | {"halves": 2}
_WRITTEN_DENOMINATORS = frozenset((2, 3, 4, 5, 8, 10, 16, 32, 64, 100))
_LONGEST = 14  # words; nothing we ask for takes more


@dataclass(frozen=True)
class Reading:
    """value: the number; for way 'clock' ('four thirty', '4:30') in the leading unit, so 4.5."""

    value: float
    way: Way

    @property
    def sure(self) -> bool:
        """False: may be asked about, never taken."""
        return self.way not in ("groups", "no point")


def readings(text: str) -> tuple[Reading, ...]:
    """Every number that the whole text can mean, sure readings first; () when it is not a number."""
    words = canonical(text).split()
    negative = words[:1] in (["minus"], ["negative"])
    if negative or words[:1] == ["plus"]:
        words = words[1:]
    if not words or len(words) > _LONGEST:
        return ()
    found = dict.fromkeys(_all_readings(words))
    if negative:
        found = dict.fromkeys(Reading(-r.value, r.way) for r in found if r.sure and r.way != "clock")
    return tuple(sorted(found, key=lambda r: not r.sure))


def _all_readings(words: list[str]) -> Iterator[Reading]:
    if DASH in words:
        yield from _with_dash(words)
        return
    if len(words) == 1 and words[0][0].isdigit():
        yield from _written(words[0])
        return
    if any(word in _POINTS for word in words):
        yield from _decimal(words)
        return
    fraction = _fraction(words)
    if fraction is not None:
        yield Reading(fraction, "fraction")
        return
    cardinal = _cardinal(words)
    if cardinal is not None:
        yield Reading(float(cardinal), "cardinal")
        return
    if any("." in word for word in words):
        yield from _torn(words)
        return
    yield from _said_twice(words)
    yield from _in_chunks(words)


def _with_dash(words: list[str]) -> Iterator[Reading]:
    """'4-5', '185 - 190', '- 5': digits of one number, or either end of a range; a number or its negative."""
    at = words.index(DASH)
    left, right = words[:at], words[at + 1 :]
    if not right:
        return
    if not left:
        for reading in _plain_readings(right):
            yield Reading(reading.value, "groups")
            yield Reading(-reading.value, "groups")
        return
    ends = [list(_plain_readings(end)) for end in (left, right) if DASH not in right]
    if not all(ends):
        return  # 'lot - 5'
    for reading in _all_readings([word for word in words if word != DASH]):
        if reading.way not in ("clock", "no point"):
            yield Reading(reading.value, "groups")
    for reading in (one for end in ends for one in end):
        yield Reading(reading.value, "groups")


def _plain_readings(words: list[str]) -> Iterator[Reading]:
    return (r for r in _all_readings(words) if r.sure and r.way != "clock")


def _torn(words: list[str]) -> Iterator[Reading]:
    """'2.68 4.694', '1.8 2': two numbers, or one that the ear has torn in two."""
    if len(words) != 2 or not all(re.fullmatch(r"\d{1,6}(?:\.\d{1,6})?", word) for word in words):
        return
    first, second = words
    if "." in first and "." not in second:
        yield Reading(float(first + second), "groups")
    yield Reading(float(first), "groups")
    yield Reading(float(second), "groups")


def _said_twice(words: list[str]) -> Iterator[Reading]:
    """'185, 185', 'one eight five, one eight five': perhaps one value, said again to be sure."""
    half, odd = divmod(len(words), 2)
    if odd or words[:half] != words[half:]:
        return
    for reading in _all_readings(words[:half]):
        if reading.sure and reading.way != "clock" and reading.value >= 10:
            yield Reading(reading.value, "groups")


def _written(token: str) -> Iterator[Reading]:
    """One token of digits: '185', '1.82', '1,000', '4:30', '1/2'."""
    if re.fullmatch(r"\d{1,9}", token):
        yield Reading(float(token), "groups" if len(token) > 1 and token[0] == "0" else "written")
    elif re.fullmatch(r"\d{1,9}\.\d{1,9}", token):
        yield Reading(float(token), "written")
        if found := re.fullmatch(r"(\d{1,2})\.([0-5]\d)", token):  # some write 4.30 for 4:30
            yield Reading(int(found[1]) + int(found[2]) / 60, "clock")
    elif re.fullmatch(r"\d(,\d)+", token) and token.count(",") > 1:
        yield Reading(float(token.replace(",", "")), "digits")
    elif re.fullmatch(r"\d{1,3}(,\d{3})+", token):
        yield Reading(float(token.replace(",", "")), "written")
        if token.count(",") == 1:  # a decimal comma looks the same
            yield Reading(float(token.replace(",", ".")), "written")
    elif re.fullmatch(r"\d{1,6},\d{1,6}", token):
        yield Reading(float(token.replace(",", ".")), "written")
    elif found := re.fullmatch(r"(\d{1,3}):([0-5]\d)", token):
        yield Reading(int(found[1]) + int(found[2]) / 60, "clock")
    elif found := re.fullmatch(r"(\d{1,2}):([0-5]\d):([0-5]\d)", token):
        yield Reading(int(found[1]) * 60 + int(found[2]) + int(found[3]) / 60, "clock")
    else:
        value = _written_fraction(token)
        if value is not None:
            yield Reading(value, "fraction")


def _written_fraction(token: str) -> float | None:
    found = re.fullmatch(r"(\d{1,2})/(\d{1,3})", token)
    if found and 0 < int(found[1]) < int(found[2]) and int(found[2]) in _WRITTEN_DENOMINATORS:
        return int(found[1]) / int(found[2])
    return None


def _decimal(words: list[str]) -> Iterator[Reading]:
    """'one point eight two', 'oh point five', 'point five', 'one point eighty two'."""
    at = next(i for i, word in enumerate(words) if word in _POINTS)
    left, right = words[:at], words[at + 1 :]
    decimals = _digit_string(right)
    if decimals is None and (two := _below_hundred(right)) is not None and two >= 10:
        decimals = str(two)
    if decimals is None and len(right) == 1 and right[0].isdigit():
        decimals = right[0]
    if decimals is None:
        return
    if not left or (len(left) == 1 and left[0] in ZEROS):
        wholes = [0.0]
    else:
        wholes = [
            r.value for r in _all_readings(left) if r.sure and r.way != "clock" and r.value.is_integer()
        ]
    for whole in wholes:
        yield Reading(float(f"{int(whole)}.{decimals}"), "decimal")


def _fraction(words: list[str]) -> float | None:
    """'half', 'three quarters', 'two and a half', '2 1/2'."""
    if len(words) == 2 and words[0].isdigit() and (part := _written_fraction(words[1])) is not None:
        return int(words[0]) + part
    if "and" in words:
        at = len(words) - 1 - words[::-1].index("and")
        whole, part = _whole(words[:at]), _bare_fraction(words[at + 1 :])
        return None if whole is None or part is None else whole + part
    return _bare_fraction(words)


def _bare_fraction(words: list[str]) -> float | None:
    if len(words) == 1 and (part := _written_fraction(words[0])) is not None:
        return part
    if not words or words[-1] not in _DENOMINATORS:
        return None
    below, counted = _DENOMINATORS[words[-1]], words[:-1]
    if not counted:
        return 1 / below if words[-1] in ("half", "quarter") else None  # 'third' alone is an ordinal
    above = 1 if counted in (["a"], ["an"]) else _whole(counted)
    return above / below if above is not None and 0 < above < below else None


def _whole(words: list[str]) -> int | None:
    if len(words) == 1 and words[0].isdigit():
        return int(words[0])
    return _cardinal(words)


def _cardinal(words: Sequence[str]) -> int | None:
    """'a hundred and eighty five', 'two thousand four hundred'; 0 to 999 999."""
    if len(words) == 1 and words[0] in ("zero", "nought", "naught", "nil"):
        return 0
    if "thousand" in words:
        at = words.index("thousand")
        left = 1 if list(words[:at]) in ([], ["a"]) else _below_thousand(words[:at])
        return _sum(left, 1000, words[at + 1 :])
    return _below_thousand(words)


def _below_thousand(words: Sequence[str]) -> int | None:
    """Also 'eighteen hundred and fifty'."""
    if "hundred" in words:
        at = words.index("hundred")
        left = 1 if list(words[:at]) in ([], ["a"]) else _below_hundred(words[:at])
        return _sum(left, 100, words[at + 1 :])
    return _below_hundred(words)


def _sum(left: int | None, size: int, rest: Sequence[str]) -> int | None:
    if not left:
        return None
    if not rest:
        return left * size
    tail = _below_thousand(rest[rest[0] == "and" :])
    return left * size + tail if tail and tail < size else None


def _below_hundred(words: Sequence[str]) -> int | None:
    match list(words):
        case [word] if word in TEENS:
            return TEENS[word]
        case [word] if word in TENS:
            return TENS[word]
        case [word] if word in ONES and word != "zero":
            return ONES[word]
        case [word] if re.fullmatch(r"[1-9]\d?", word):
            return int(word)
        case [tens, ones] if tens in TENS and ones in ONES and ones != "zero":
            return TENS[tens] + ONES[ones]
    return None


def _digit_string(words: Sequence[str]) -> str | None:
    """'one eight five', 'double two', '1 8 5' -> '185'."""
    digits, times = "", 1
    for word in words:
        if word in _REPEATS and times == 1:
            times = _REPEATS[word]
            continue
        digit = "0" if word in ZEROS else str(ONES[word]) if word in ONES else word
        if not re.fullmatch(r"\d", digit):
            return None
        digits, times = digits + digit * times, 1
    return digits if digits and times == 1 else None


def _in_chunks(words: list[str]) -> Iterator[Reading]:
    """'one eight five', 'one eighty five', 'four thirty', 'twelve oh five', 'eighteen five'."""
    digits = _digit_string(words)
    if digits is not None:
        if digits == "0":
            return  # a lone 'oh' is no number
        yield Reading(float(digits), "groups" if digits[0] == "0" else "digits")
        if len(digits) > 1:
            yield Reading(float(f"{digits[0]}.{digits[1:]}"), "no point")
        if len(digits) == 3 and digits[1] == "0" and digits[0] != "0":
            yield Reading(int(digits[0]) + int(digits[1:]) / 60, "clock")
        return
    chunks = _chunks(words)
    if chunks is None:
        return
    if len(chunks) == 2 and chunks[0].endswith("0" * len(chunks[1])) and int(chunks[1]):
        yield Reading(float(int(chunks[0]) + int(chunks[1])), "groups")  # '180 5', '100 85'
    if sum(map(len, chunks)) > 7:
        return
    if len(chunks) == 3 and chunks[1] == "0" and len(chunks[2]) == 1:
        chunks = [chunks[0], f"0{chunks[2]}"]
    joined = "".join(chunks)
    if len(chunks) != 2 or len(chunks[1]) > 2:
        yield Reading(float(joined), "groups")
        return
    lead, tail = chunks
    yield Reading(float(joined), "pairs" if len(tail) == 2 and len(lead) < 3 else "groups")
    yield Reading(float(f"{lead}.{tail}"), "no point")
    if len(tail) == 2 and int(tail) < 60 and int(lead) < 60:
        yield Reading(int(lead) + int(tail) / 60, "clock")


def _chunks(words: list[str]) -> list[str] | None:
    """Split into numbers below a hundred and runs of written digits, as strings of digits."""
    chunks: list[str] = []
    rest = words
    while rest:
        if (two := _below_hundred(rest[:2])) is not None and len(rest) > 1:
            chunks, rest = [*chunks, str(two)], rest[2:]
        elif (one := _below_hundred(rest[:1])) is not None:
            chunks, rest = [*chunks, str(one)], rest[1:]
        elif rest[0].isdigit():
            chunks, rest = [*chunks, rest[0]], rest[1:]
        elif rest[0] in ZEROS:
            chunks, rest = [*chunks, "0"], rest[1:]
        else:
            return None
    return chunks if chunks[0][0] != "0" else None
