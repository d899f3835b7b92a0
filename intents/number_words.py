"""The words of numbers, and numbers put into words."""

from __future__ import annotations

from decimal import Decimal

_ONE_TO_NINE = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_FROM_TEN = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_BY_TEN = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
ONES = {word: n for n, word in enumerate(("zero", *_ONE_TO_NINE))}
TEENS = {word: n for n, word in enumerate(_FROM_TEN, 10)}
TENS = {word: 10 * n for n, word in enumerate(_BY_TEN, 2)}
TENS["fourty"] = 40
ZEROS = frozenset(("zero", "oh", "o", "nought", "naught", "nil"))
_DIGIT_NAMES = list(ONES)
_NAMES = {n: w for w, n in (ONES | TEENS | {w: n for w, n in TENS.items() if w != "fourty"}).items()}


def say_number(value: float) -> str:
    """Words, British style, at most six decimals: 'one hundred and eighty five', 'minus one point eight two'.

    Raises: ValueError, not finite or a thousand million and more.
    """
    sign, whole, decimals = _parts(value)
    said = _say_whole(int(whole))
    if decimals:
        said += " point " + " ".join(_DIGIT_NAMES[int(d)] for d in decimals)
    return f"{sign}{said}"


def say_digits(value: float) -> str:
    """Digit by digit, for the second reading: 'one eight five', 'one point eight two'. Raises as `say_number`."""
    sign, whole, decimals = _parts(value)
    said = " ".join(_DIGIT_NAMES[int(d)] for d in whole)
    if decimals:
        said += " point " + " ".join(_DIGIT_NAMES[int(d)] for d in decimals)
    return f"{sign}{said}"


def _parts(value: float) -> tuple[str, str, str]:
    if not abs(value) < 1e9:
        raise ValueError(f"{value} cannot be put into words: give a finite number below a thousand million")
    written = format(Decimal(repr(round(abs(value), 6))), "f")
    whole, _, decimals = written.partition(".")
    decimals = decimals.rstrip("0")
    return "minus " if value < 0 and (int(whole) or decimals) else "", whole, decimals


def _say_whole(n: int) -> str:
    for size, name in ((1_000_000, "million"), (1000, "thousand"), (100, "hundred")):
        if n >= size:
            rest = n % size
            link = " and " if rest and (size == 100 or rest < 100) else " "
            return f"{_say_whole(n // size)} {name}" + (link + _say_whole(rest) if rest else "")
    return _NAMES[n] if n in _NAMES else f"{_NAMES[n - n % 10]} {_NAMES[n % 10]}"
