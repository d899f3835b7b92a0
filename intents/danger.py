"""Words of danger, listened for in everything that is said, on a path of their own.

Kept in code, so that no edited data file can take a word away. Better once too often: a false
alarm costs one sentence. Only what plainly says the opposite ('no smoke', 'nobody is hurt') or
names a thing ('fire extinguisher', 'shock cord') does not count.
"""

from __future__ import annotations

import re

from intents.canonical import canonical

WORDS = frozenset((
    "fire", "fires", "flames", "smoke", "smoking", "smoky", "burn", "burns", "burnt", "burned", "burning",
    "scalded", "shock", "shocked", "electrocuted", "electrocution", "trapped", "crushed", "hurt", "hurts",
    "injured", "injury", "bleeding", "blood", "emergency", "mayday", "ambulance", "explosion", "exploded",
    "unconscious",
))  # fmt: skip
PHRASES = (
    "stop stop", "help help", "first aid", "cut myself", "i am cut", "cut my hand", "cut my finger", "cut my arm",
    "caught my hand", "caught my finger", "my hand is caught", "my fingers are caught", "my hand is stuck",
    "my finger is stuck", "my fingers are stuck", "my arm is stuck", "fainted", "can not breathe",
)  # fmt: skip

_HARM = "hurt|burnt|burned|burning|trapped|injured|bleeding|shocked|crushed|smoking|unconscious"
_THING = "smoke|fire|fires|flames|shock|burns|blood|emergency|injury"
_INNOCENT = re.compile(
    r"\b(?:"
    rf"no (?:more |sign of |signs of |sign of any )?(?:{_THING}|smoking)"
    rf"|(?:nobody|no one|none of us)(?: is| was| has been| got| gets)? (?:{_HARM})"
    rf"|not (?:{_HARM}|an emergency|on fire|a fire|a burn)"
    rf"|(?:without|not) (?:any )?(?:{_THING})"
    r"|fired? (?:(?:the )?(?:press|machine|compressor|heater|heaters|it|her) )?up"
    r"|fire (?:extinguisher|extinguishers|blanket|door|doors|exit|drill|watch|permit)"
    r"|(?:shock|fire) (?:cord|absorber|absorbers|proof|resistant|load|loads)"
    r"|(?:smoke|burn) (?:free|break|mark|marks)"
    r"|first aid (?:kit|box)"
    r"|trapped (?:air|bubbles|bubble|moisture)|air (?:is |was )?trapped"
    r")\b"
)
# 'oh no smoke' and 'no no smoke' cry out; they do not deny.
_OUTCRY = re.compile(r"\b(?:oh|god|no) no\b")


def is_danger(text: str) -> bool:
    """True if anything in the utterance says that someone or something is in danger."""
    return danger_word(text) is not None


def danger_word(text: str) -> str | None:
    """The first word or phrase of danger, canonical; None if there is none.

    Clauses are looked at one by one: 'no, smoke!' is not 'no smoke'.
    """
    whole = canonical(text)
    for phrase in PHRASES[:2]:  # cries run over commas
        if f" {phrase} " in f" {whole} ":
            return phrase
    for clause in re.split(r"[,.;:!?\n]|\s[-–—]+\s", text):
        words = _INNOCENT.sub(" ", _OUTCRY.sub(" ", canonical(clause)))
        for phrase in PHRASES:
            if f" {phrase} " in f" {words} ":
                return phrase
        for word in words.split():
            if word in WORDS:
                return word
    return None
