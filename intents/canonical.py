"""One spelling for each utterance, so that words can be compared exactly.

Numbers keep their own digits and separators ('1.82', '4:30', '1,000', '1/2'): what they mean is
decided in `numbers`, where a doubtful spelling gives more than one reading. Nothing here joins
two numbers, drops a sign or moves a point: a sign beside a number becomes a word (see `signs`).
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from intents.signs import feet_and_clock, long_dashes_apart, words_with_signs

_SYMBOLS = str.maketrans(
    {
        **dict.fromkeys("°º˚", " degrees "),
        "℃": " celsius ",
        "℉": " fahrenheit ",
        "²": " squared ",
        "³": " cubed ",
        **dict.fromkeys("−–—‒‐‑﹣－", "-"),
        **dict.fromkeys("’‘ʼ`´′", "'"),
        **dict.fromkeys("“”″", '"'),
        **dict.fromkeys("⁄∕", "/"),
        **dict.fromkeys("%٪", " percent "),
        "&": " and ",
        "@": " at ",
        # Words in place of signs, so that '>185' or '~185' is not taken for 185.
        **dict.fromkeys("~≈", " about "),
        "<": " under ",
        ">": " over ",
        "±": " plus or minus ",
        "^": " to the power of ",
        **dict.fromkeys("×*", " times "),
        "_": " ",
    }
)

# Written without the apostrophe, as people type and recognisers sometimes write.
_BARE = {
    "arent": "are not", "cannot": "can not", "cant": "can not", "couldnt": "could not", "didnt": "did not",
    "doesnt": "does not", "dont": "do not", "hasnt": "has not", "havent": "have not", "hows": "how is",
    "im": "i am", "isnt": "is not", "its": "it is", "ive": "i have", "lets": "let us", "ok": "okay",
    "shouldnt": "should not", "thats": "that is", "theres": "there is", "wasnt": "was not", "weve": "we have",
    "whats": "what is", "wheres": "where is", "wont": "will not", "wouldnt": "would not",
}  # fmt: skip
_WITH_APOSTROPHE = {
    "won't": "will not",
    "can't": "can not",
    "shan't": "shall not",
    "ain't": "is not",
    "let's": "let us",
}
_ENDINGS = {"n't": " not", "'re": " are", "'ve": " have", "'ll": " will", "'m": " am", "'d": " would"}
_TAKES_IS = frozenset((
    "it", "that", "what", "where", "there", "here", "how", "who", "he", "she", "when", "everything",
    "nobody", "someone",
))  # fmt: skip

_APART = re.compile(r"\bevery body\b")  # as the ear often spells it; the sound is the same
_APOSTROPHE_WORD = re.compile(r"[^\W\d_]+'[^\W\d_]+")
_OKAY = re.compile(r"\bo\. ?k\b\.?")
_INITIALS = re.compile(r"\b(?:[^\W\d_]\.){2,}")
_INCH_MARK = re.compile(r'(?<=\d) ?"')
_SIGN = re.compile(r"(?<![\w)])([-+])(?=[.,]?\d)")
_LONE_POINT = re.compile(r"(?<=\d)\s+\.\s+(?=\d)")
_LEADING_POINT = re.compile(r"(?<![\w.,])([.,])(?=\d)")
_WORD = re.compile(
    r"\d+(?:st|nd|rd|th)\b"  # '1st' is not the number 1
    r"|\d+(?:[.,:/]\d+)*"
    r"|(?:mm|cm|m)2\b"
    r"|[^\W\d_](?:[^\W\d_]|[\u0300-\u036f])*"
)


@lru_cache(maxsize=4096)
def canonical(text: str) -> str:
    """Lower-case words one space apart, contractions written out, no punctuation outside numbers.

    canonical(canonical(x)) == canonical(x). '' when nothing sayable is in it.
    """
    text = "".join(map(_plain_digit, long_dashes_apart(text).translate(_SYMBOLS)))
    text = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold()).translate(_SYMBOLS)
    text = _OKAY.sub(" okay ", text)
    text = _INITIALS.sub(lambda found: found[0].replace(".", "") + " ", text)
    text = _inches(feet_and_clock(text))
    text = _SIGN.sub(lambda found: " minus " if found[1] == "-" else " plus ", text)
    text = _LONE_POINT.sub(" point ", text)
    text = _LEADING_POINT.sub(r"0\1", text)
    text = _APOSTROPHE_WORD.sub(_expanded, text).replace("'", "")
    words = words_with_signs(text, list(_WORD.finditer(text)))
    return _APART.sub("everybody", " ".join(_BARE.get(word, word) for word in words))


def _plain_digit(char: str) -> str:
    """Digits of other scripts become ours; '½' or '²' must not run into the number before it."""
    if char.isascii():
        return char
    if unicodedata.category(char) == "Nd":
        return str(unicodedata.decimal(char))
    plain = unicodedata.normalize("NFKC", char)
    return f" {plain} " if any(c.isdigit() for c in plain) else char


def _inches(text: str) -> str:
    """A double quote after a digit means inches unless it closes a quotation."""
    if '"' not in text:
        return text
    return _INCH_MARK.sub(lambda found: '"' if text.count('"', 0, found.start()) % 2 else " inch ", text)


def _expanded(found: re.Match[str]) -> str:
    word = found[0]
    if word in _WITH_APOSTROPHE:
        return _WITH_APOSTROPHE[word]
    for ending, words in _ENDINGS.items():
        if word.endswith(ending):
            return word.removesuffix(ending) + words
    stem, _, tail = word.partition("'")
    return f"{stem} is" if tail == "s" and stem in _TAKES_IS else word
