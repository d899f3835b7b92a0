"""Numbers that sound alike: fifteen and fifty, 117 and 170, 'two two' and 'two two two', and words that sound like numbers.

Said aloud, such a value is asked for again whenever its double is possible too.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from intents.canonical import canonical
from intents.meaning import QuantityKind
from intents.quantities import Ambiguous, Parsed, parse_quantity, without_lead_in
from intents.spoken import speak_digits

_TEENS = ["thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_DOUBLE = dict(zip(_TEENS, _TENS, strict=True)) | dict(zip(_TENS, _TEENS, strict=True))
_DIGITS = frozenset(("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "zero", "oh"))
_LIKE_NUMBERS = {
    "won": "one", "wan": "one", "to": "two", "too": "two", "tree": "three", "free": "three", "for": "four", "fore": "four",
    "fife": "five", "hive": "five", "sex": "six", "sicks": "six", "sics": "six", "ate": "eight", "ait": "eight",
    "niner": "nine", "nein": "nine", "tan": "ten", "elven": "eleven", "fourth": "four", "fifths": "five", "pint": "point",
    "poined": "point", "owe": "oh", "hundreds": "hundred", "hunted": "hundred", "fourteens": "fourteen", "sixth": "six",
}  # fmt: skip
"""What recognisers write for a number in a quick or foreign mouth."""
_STEP_S = 5  # times at a press come in steps of five seconds: 'four thirteen' is not worth a question


def sound_alike(
    words: str,
    value_si: float,
    kind: QuantityKind,
    low: float = -math.inf,
    high: float = math.inf,
    unit: str = "",
) -> Ambiguous | None:
    """The question 'one five or five zero?' if the words, heard by voice, could have been another value.

    words: as heard or transcribed. low, high: SI; a double outside them is no doubt. unit: of a bare number, '' for the kind's own.
    """
    doubles: dict[float, Parsed] = {}
    for text in _misheard(without_lead_in(words).split()):
        found = parse_quantity(text, kind, low, high, unit=unit)
        if not isinstance(found, Parsed) or math.isclose(found.value_si, value_si, rel_tol=1e-9):
            continue
        if kind == "duration" and (found.value_si % _STEP_S or value_si % _STEP_S):
            continue
        doubles[found.value_si] = found
    if not doubles:
        return None
    values = [value_si, *doubles]
    options = tuple(Parsed(value, "", speak_digits(value, kind, unit)) for value in values)
    return Ambiguous(options, f"{' or '.join(option.words for option in options)}?")


def like_numbers(
    words: str, kind: QuantityKind, low: float = -math.inf, high: float = math.inf, unit: str = ""
) -> Ambiguous | None:
    """The question after the value that the words sound like where they are none: 'one ate five' asks for 185.

    words, low, high, unit: as in `sound_alike`. None where they sound like no value in range.
    """
    heard = (without_lead_in(words) or canonical(words)).split()
    said = [_LIKE_NUMBERS.get(word, word) for word in heard]
    if said == heard:
        return None
    found = parse_quantity(" ".join(said), kind, low, high, unit=unit)
    if isinstance(found, Parsed):
        return Ambiguous((found,), f"Do you mean {found.words}?")
    return found if isinstance(found, Ambiguous) else None


def _misheard(words: list[str]) -> Iterator[str]:
    """The same words with one number changed to its double."""
    for at, word in enumerate(words):
        for other in _doubles(word):
            yield " ".join([*words[:at], other, *words[at + 1 :]])
    run = [word for word in words if word in _DIGITS]
    if run and len(set(run)) == 1 and len(run) in (2, 3) and words[: len(run)] == run:
        rest = words[len(run) :]
        yield " ".join(run[:1] * (5 - len(run)) + rest)


def _doubles(word: str) -> Iterator[str]:
    if word in _DOUBLE:
        yield _DOUBLE[word]
    found = re.fullmatch(r"(\d*|\d{1,2}:)(\d\d)", word)
    if found is None:
        return
    lead, tail = found[1], int(found[2])
    if 13 <= tail <= 19:
        yield f"{lead}{tail % 10}0"
    elif tail >= 30 and tail % 10 == 0:
        yield f"{lead}1{tail // 10}"
    if word.isdigit() and len(set(word)) == 1 and word[0] != "0" and len(word) in (2, 3):
        yield word[0] * (5 - len(word))
