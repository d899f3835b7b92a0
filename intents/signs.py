"""Signs beside numbers, put into words: '≥185' is no 185, and '4-5' no 45.

A hyphen between numbers is dropped only where it is a spelling of one number: digits said one by one ('1-8-5'), long
numbers in groups ('661-5064'), number words ('twenty-five', 'one-hundred-and-five') and mixed fractions ('2-1/2').
Everywhere else it stays as the word 'dash', for `numbers` to ask about.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from intents.number_words import ONES, TEENS, TENS, ZEROS

DASH = "dash"

_FEET_AND_INCHES = re.compile(r"(?<![\d.,])(\d+) ?' ?(\d|1[01])((?:\.\d+)?)(?:\"|(?![\w.]))")
_FEET = re.compile(r"(\d) ?'(?![^\W\d_])")
_QUOTED = re.compile(r"(?<!\w)'(?=\w)")
_SPACED_COLON = re.compile(r"(?<=\d)(?:\s+:\s*|:\s+)(?=\d)")
_LONG_DASH = re.compile(r"(?<=\w)[–—―](?=\w)")
_PLAIN_MARKS = frozenset(".,;:!?\"'()[]{}…")  # close or hold a number, and change nothing of it
_IN_A_NUMBER = frozenset("\"'()[]{}")
_OPENING = frozenset("([{")
_CATEGORIES = frozenset(("Sm", "Sc", "So", "Sk", "Po", "Pd", "Pc", "Mn", "Me"))
_SPELLED = frozenset((
    "hundred", "thousand", "and", "a", "point", "dot", "comma", "decimal", "double", "triple", "treble",
))  # fmt: skip
_GROUPS = re.compile(r"(?:1-)?(?:\d{3}-)+\d{4}|\d{2,}(?:-\d{2,}){2,}")
_LINKS = frozenset("-?!;")
_MIXED = re.compile(r"\d{1,2}-\d{1,2}/\d{1,2}")


def long_dashes_apart(text: str) -> str:
    """'forty–one hundred' with its dash set off: a hyphen spells a number, a dash does not."""
    return _LONG_DASH.sub(" - ", text)


def feet_and_clock(text: str) -> str:
    """Feet and inches in words where they are that; other marks at a number as 'prime'; '4 : 30' as '4:30'."""
    text = _SPACED_COLON.sub(":", text)
    if "'" not in text:
        return text
    text = re.sub(r"(?<=\d) ?''", '"', text)
    text = _FEET_AND_INCHES.sub(r" \1 feet \2\3 inch ", text)
    return _FEET.sub(lambda found: _foot(found, text), text)


def _foot(found: re.Match[str], text: str) -> str:
    if len(_QUOTED.findall(text, 0, found.start())) % 2:
        return found[0]  # closes a quotation
    more = text[found.end() : found.end() + 2].lstrip()[:1].isdigit()
    return f"{found[1]} prime " if more else f"{found[1]} feet "


def words_with_signs(text: str, words: Sequence[re.Match[str]]) -> list[str]:
    """The words, and between them what the signs between them say.

    text: lower case, every dash a hyphen. words: found in it, in order; a number begins with a digit.
    """
    links = _dashes(text, words)
    told: list[str] = []
    for at in range(len(words) + 1):
        left = words[at - 1][0] if at else ""
        right = words[at][0] if at < len(words) else ""
        gap = text[words[at - 1].end() if at else 0 : words[at].start() if at < len(words) else len(text)]
        told += _said(left, gap, right)
        if at in links:
            told.append(DASH)
        if right:
            told.append(right)
    return told


def _said(left: str, gap: str, right: str) -> list[str]:
    """The signs of one gap, but for hyphens."""
    if not gap or gap == " ":
        return []
    after, before = _is_number(left), _is_number(right)
    digits = left[:1].isdigit() and right[:1].isdigit()
    inside = digits and not any(c.isspace() for c in gap)
    told: list[str] = []
    for sign in gap:
        if sign == "+":
            told.append("plus")
        elif sign == "/" and (after or before):
            told.append("slash")
        elif sign == "=" and not after:
            told += ["not"] if "!" in gap or "/" in gap else []
        elif (inside and sign in _IN_A_NUMBER) or (digits and sign in _OPENING):
            told.append("sign")
        elif (after or before) and _has_meaning(sign):
            told += re.findall("[a-z]+", unicodedata.name(sign, "sign").lower())
    return told


def _has_meaning(sign: str) -> bool:
    if sign in _PLAIN_MARKS or sign in "/-" or "\ufe00" <= sign <= "\ufe0f":  # how a sign is to look
        return False
    return unicodedata.category(sign) in _CATEGORIES


def _is_number(word: str) -> bool:
    return word[:1].isdigit() or word in ONES or word in TEENS or word in TENS or word in ZEROS


def _dashes(text: str, words: Sequence[re.Match[str]]) -> set[int]:
    """The places (that of the word after it) at which a hyphen is no spelling of one number."""
    if ".." not in text and not set(text) & _LINKS:
        return set()
    gaps = {at: text[words[at - 1].end() : words[at].start()] for at in range(1, len(words))}
    found = _at_the_ends(text, words)
    at = 1
    while at < len(words):
        chain = [at]
        while _joins(words, gaps, chain[-1]):
            chain.append(chain[-1] + 1)
        if len(chain) > 1:
            found |= _between(words, gaps, chain[:-1])
            at = chain[-1]
            continue
        if "-" in gaps[at] and _is_apart(words, gaps, at):
            found.add(at)
        at += 1
    return found


def _at_the_ends(text: str, words: Sequence[re.Match[str]]) -> set[int]:
    """'- 5', '--5' and '185-'."""
    found = set()
    if (
        words
        and "-" in text[: words[0].start()]
        and (words[0][0][:1].isdigit() or words[0][0] in ("minus", "plus"))
    ):
        found.add(0)
    if words and "-" in text[words[-1].end() :] and words[-1][0][:1].isdigit():
        found.add(len(words))
    return found


def _joins(words: Sequence[re.Match[str]], gaps: dict[int, str], at: int) -> bool:
    """Whether the words before and at this place are parts of numbers, and no comma, point or space alone between them."""
    if at >= len(words) or not (".." in gaps[at] or set(gaps[at]) & _LINKS):
        return False
    left, right = words[at - 1][0], words[at][0]
    if gaps[at] == "-":
        return (_is_number(left) or left in _SPELLED) and (_is_number(right) or right in _SPELLED)
    # 'one hundred... and five', 'two... point five' go on.
    return (_is_number(left) or left in ("hundred", "thousand")) and _is_number(right)


def _is_apart(words: Sequence[re.Match[str]], gaps: dict[int, str], at: int) -> bool:
    """'upper - 142', '4 minutes-5', '--5': a hyphen after a word that may be a sign, not one inside a name ('zone-2')."""
    left, right = words[at - 1][0], words[at][0]
    if right in ("minus", "plus"):
        return True
    after_unit = at > 1 and _is_number(words[at - 2][0]) and not _is_number(left)
    return (gaps[at] != "-" and right[:1].isdigit()) or (after_unit and _is_number(right))


def _between(words: Sequence[re.Match[str]], gaps: dict[int, str], chain: list[int]) -> set[int]:
    """chain: the places of the hyphens in one run of number words."""
    run = [words[at][0] for at in (chain[0] - 1, *chain)]
    close = all(gaps[at] == "-" for at in chain)
    if close and any(word in _SPELLED for word in run):
        return set()
    joined = {at for at in chain if gaps[at] == "-" and words[at - 1][0] in TENS and words[at][0] in ONES}
    if len(run) > 2 and all(re.fullmatch(r"\d", word) or word in ONES or word in ZEROS for word in run):
        return set()
    written = "-".join(run)
    if _GROUPS.fullmatch(written) or (close and _MIXED.fullmatch(written)):
        return set()
    return set(chain) - joined
