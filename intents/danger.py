"""Words of danger, listened for in everything that is said, on a path of their own.

Better once too often: a false alarm costs one sentence. A cry counts wherever it stands, unless the whole utterance is one of a
closed list of sayings that plainly deny it ('no smoke', 'nobody is hurt') or name a thing ('where is
the fire extinguisher'). One word more, and it counts: 'nobody is hurt except me'. Other cries are made of plain words
('stop the press', 'it will not stop') and count only as a whole clause: 'it will not stop raining' is none. Our own
callsign is no word more: 'computer, nobody is hurt' says the same. It is passed in, in canonical words, '' where
there is none. The cries themselves stand in `cries`.
"""

from __future__ import annotations

import re

from intents.canonical import canonical
from intents.cries import AROUND, CRIES, PHRASES, PLAIN_CRIES, WORDS

_PLAIN_CRY = re.compile(rf"\b(?:{'|'.join(PLAIN_CRIES)})\b")
_WHOLE_CRY = re.compile("|".join(PLAIN_CRIES))
_AROUND = frozenset(AROUND)
_LONGEST_PIECE = 20  # words of one cry
_SUPPOSED = re.compile(r"(?:if|unless|whenever|suppose|in case)\b")  # 'if the lamp is on, the cable is live'

_CRY = re.compile(
    r"\b(?:" + "|".join((*CRIES, *PHRASES, *sorted(WORDS, key=lambda word: (-len(word), word)))) + r")\b"
)

_SPELLINGS = frozenset(("someones", "somebodys"))  # without the apostrophe, as `canonical` writes them


def words_of_danger() -> frozenset[str]:
    """Every word that a cry may hold: what an ear must know to write one down."""
    found: set[str] = set()
    for cry in (*WORDS, *PHRASES, *CRIES, *PLAIN_CRIES, *AROUND):
        for word, may_lack_its_last in re.findall(r"([a-z]+)(\??)", cry.replace(r"\b", " ")):
            found.update((word, word[:-1]) if may_lack_its_last else (word,))
    return frozenset(found - _SPELLINGS)


_HARM = "(?:hurt|burnt|burned|burning|trapped|injured|bleeding|shocked|crushed|smoking|unconscious)"
_THING = "(?:smoke|fires?|flames?|shock|burns?|blood|emergency|injury|injuries|sparks|smoking)"
_WHERE = "(?: (?:here|there|now|at all|any more|anymore|any longer))*"
_NONE = "(?:nobody|no one|none of us)(?: is| was| has been| got| gets)?"
_LOOKED_AT = "(?:edges?|hedges?|marks?|spots?|corners?|patch|patches|places?|cloth|cloths|belt|joint|seam|weld|surface)"
_ON = "(?: (?:on|at|along|in) (?:the |its )?(?:left|right|top|bottom|upper|lower|other|one)?(?: ?(?:sides?|edges?|cover|belt|joint|corner|end))?)?"
_SLIGHTLY = "(?:slightly|a bit|a little|lightly|badly)"
_MACHINE = "(?:it|the (?:press|belt|joint|cloth|glue|rubber|platen))"
_MADE = "(?:fire (?:extinguishers?|blanket|door|doors|exit|drill|permit)|emergency exit|first aid (?:kit|box)|shock (?:cord|absorbers?))"
_STATE = "(?:(?:in place|close by|within reach|ready|full|tested|checked|closed|shut|off|on|new|old|over there|over here|here|there)|on the wall|by the door|at the door)"
# Said alone it is a cry; with more around it the part of the press, and the ear writes it in more ways than one.
_STOP = "emergency (?:stop|stopped|spot|stock|star|style|system|top)(?: (?:button|switch))?"
_SET = f"(?:reset|released|repaired|pulled out|unlocked|free|working|okay|beside the press|next to the press|on the (?:press|left|right)|{_STATE})"
_NOTE = "(?:(?:please )?(?:note|make a note|write down)(?: that)? )?"
INNOCENT = (
    rf"(?:(?:there|it|that) (?:is|was) )?no (?:more |sign of |signs of |sign of any )?{_THING}(?: (?:(?:and|or) no|or) {_THING})*{_WHERE}",
    rf"(?:there (?:is|was) )?not any (?:more )?{_THING}{_WHERE}",
    rf"without (?:any )?{_THING}",
    rf"(?:is|was) there (?:any |a )?{_THING}{_WHERE}",
    rf"(?:do|can) you (?:see|smell) (?:any )?{_THING}{_WHERE}",
    rf"{_NONE} {_HARM}{_WHERE}",
    rf"(?:(?:i am|i was|he is|he was|she is|it is|that is|this is|we are|they are|the (?:belt|joint|cloth) is) )?not {_HARM}{_WHERE}",
    rf"(?:(?:it|that|this|there) is )?not (?:an emergency|on fire|a fire|a burn){_WHERE}",
    r"(?:please )?fired? (?:the |it |her |this )?(?:press |machine |compressor |heaters? )?up(?: again)?",
    r"(?:please )?fire up (?:the )?(?:press|machine|compressor|heaters?)(?: again)?",
    rf"(?:(?:the|this|a|an|my|our) )?{_MADE}(?:(?: (?:is|are|was))? {_STATE})?",
    rf"where is (?:the|an?|our) (?:{_MADE}|{_STOP})",
    rf"(?:there is|is there|here is|we have) (?:the|a|an|no) (?:{_MADE}|emergency stop){_WHERE}",
    r"(?:the|this|an|my|our) emergency stop(?: (?:button|switch))?",
    rf"(?:(?:the|this|my|our) )?{_STOP} (?:is|was|has been) {_SET}",
    rf"(?:is|was) (?:the|our|this) {_STOP} {_SET}",
    rf"(?:(?:i|we|he|she|you) (?:have |has )?(?:just )?)?(?:reset|released?|tested|test|checked|check|unlocked) (?:the|our|this) {_STOP}",
    rf"(?:how|when|where) (?:do|can|must|shall|may) (?:i|we|you) (?:reset|release|test|check|find|use) (?:the|our|this) {_STOP}",
    rf"does (?:the|our|this) {_STOP} work",
    rf"what (?:is (?:the|our|this) {_STOP}(?: for)?|does (?:the|our|this) {_STOP} do)",
    r"(?:(?:there is|there are|i see|it is|it has) )?(?:a |an |some |the )?(?:small )?burn marks?",
    r"(?:a |the )?smoke break",
    r"(?:(?:there is|there are|i see|it is|some) )?(?:a |some )?trapped (?:air|bubbles?|moisture)(?: (?:in|under|inside) the (?:joint|belt|cloth|edge))?",
    # What an inspection finds; never a person: 'i am burnt', 'burnt' and 'it is burning' stay cries.
    rf"{_NOTE}(?:(?:there is|there are|i see|i found|we have|it has) )?(?:(?:a|an|one|two|some|the|no) )?(?:(?:small|little|{_SLIGHTLY}) )?(?:burnt|burned|burn) {_LOOKED_AT}{_ON}",
    rf"{_NOTE}(?:(?:the|a|one|both) )?(?:(?:left|right|upper|lower|outer|inner|front|back) )?{_LOOKED_AT} (?:is|are|looks?) (?:{_SLIGHTLY} )?(?:burnt|burned){_ON}",
    rf"(?:{_MACHINE} )?(?:does|will|did) not (?:smoke|burn){_WHERE}",
    # A learner's questions about what may happen. 'Why does it smoke' and 'does it burn' are none: perhaps it does.
    rf"(?:does|will|would|can|could|may|might|should) {_MACHINE} smoke(?: (?:a bit|a little|much|at all))?",
    rf"(?:will|would|can|could|may|might) {_MACHINE} burn(?: me| my (?:hands?|fingers?))?",
    r"(?:will|can|could|might) i (?:(?:get|be) (?:burnt|burned|hurt)|(?:burn|hurt) (?:myself|my (?:hands?|fingers?)))",
    r"(?:will|can|could|might) i get (?:a |an )?(?:electric )?shock",
    rf"how (?:hot|warm|long)(?: (?:can|may|must|does|will) {_MACHINE} (?:get|be|become|go|take))? (?:before|until|till) {_MACHINE} (?:smokes|burns)",
    r"(?:(?:there is|some|the) )?air (?:is |was )?trapped(?: (?:in|under|inside) the (?:joint|belt|cloth|edge))?",
)
"""All that may hold a cry and is none, as regular expressions over a whole clause's canonical words."""

_ALONGSIDE = "yes|no|okay|please|thanks|thank you|sorry|all is well|everything is fine|everything is okay|i am fine|we are fine"
_FALSE_ALARM = "(?:(?:it|that|this) (?:is|was) )?(?:only )?(?:a )?false alarm"
_DENIAL = re.compile(
    rf"(?:(?:yes|okay|please|sorry|{_FALSE_ALARM}) )*(?:{'|'.join(INNOCENT)})(?: (?:thanks|please|sorry|{_FALSE_ALARM}))*"
)
_EMPTY = re.compile(rf"(?:{_ALONGSIDE}|{_FALSE_ALARM})?")


def is_danger(text: str, callsign: str = "") -> bool:
    """True if anything in the utterance says that someone or something is in danger."""
    return danger_word(text, callsign) is not None


def danger_word(text: str, callsign: str = "") -> str | None:
    """The first cry of danger, in canonical words; None if there is none.

    An innocent saying must be all that is said, clause by clause: 'no, smoke!' is not 'no smoke'.
    callsign: our own name, canonical; beside an innocent saying it counts for nothing.
    """
    words = canonical(text)
    cry = _CRY.search(words)
    if cry is not None:
        return None if _is_innocent(text, callsign) else cry[0]
    return _plain_cry(text, callsign) if _PLAIN_CRY.search(words) else None


def _plain_cry(text: str, callsign: str) -> str | None:
    """The first clause that is a cry of plain words, without what stands before and after it."""
    clauses = _clauses(text, callsign)
    cries = [cry for clause in clauses if (cry := _of_cries_alone(clause)) is not None]
    if any(_SUPPOSED.match(clause) for clause in clauses):
        cries = [cry for cry in cries if cry.startswith("help")]  # 'if you can hear me, help me'
    return cries[0] if cries else None


def _of_cries_alone(clause: str) -> str | None:
    """The first cry of a clause that is plain cries and what may stand around them, and nothing else."""
    ends = [at for at, sign in enumerate(f"{clause} ") if sign == " "]
    first: dict[int, str | None] = {0: None}  # where it is so up to there: the first cry
    for place, begin in enumerate([0, *(end + 1 for end in ends)]):
        if begin not in first:
            continue
        for end in ends[place : place + _LONGEST_PIECE]:
            if clause[begin:end] in _AROUND or (begin and clause[begin:end] == "and"):
                cry = first[begin]
            elif _WHOLE_CRY.fullmatch(clause, begin, end) is not None:
                cry = first[begin] or clause[begin:end]
            else:
                continue
            first[end + 1] = first.get(end + 1) or cry
    return first.get(len(clause) + 1)


def _is_innocent(text: str, callsign: str) -> bool:
    return all(_EMPTY.fullmatch(clause) or _DENIAL.fullmatch(clause) for clause in _clauses(text, callsign))


def _clauses(text: str, callsign: str) -> list[str]:
    """What is said between the stops, in canonical words, without loops and without our name."""
    found = (canonical(clause) for clause in re.split(r"[,.;:!?\n]|\s[-–—]+\s", text))
    clauses = [clause for clause in found if clause]
    last = clauses[-1] if clauses else ""
    if any(clause.startswith(last) for clause in clauses[:-1]) and not _CRY.search(last):
        clauses.pop()  # what was said before, broken off: the ear looped
    called = "" if _CRY.search(f"{callsign} {callsign}") else callsign  # a name that is a cry is one
    return [_without_call(once(clause), called) for clause in clauses]


def once(words: str) -> str:
    """Canonical words that end in the same two or more words several times over, as a recogniser that loops writes.

    Kept is one of the runs. A last one that breaks off goes too, unless it holds a cry. 'Fire fire' is no loop.
    """
    said = words.split()
    if len(said) > _MOST_WORDS:
        return words
    for length in range(2, min(_LONGEST_LOOP, len(said) // 2) + 1):
        for at in range(len(said) - 2 * length + 1):
            run = said[at : at + length]
            end = at + length
            while said[end : end + length] == run:
                end += length
            if end == at + length:
                continue
            rest = " ".join(said[end:])
            if " ".join(run).startswith(rest) and _CRY.search(rest) is None:
                return " ".join(said[: at + length])
    return words


def _without_call(clause: str, callsign: str) -> str:
    """The clause without our name at its head, perhaps behind a 'hey', or at its end."""
    if not callsign:
        return clause
    name = re.escape(callsign)
    headless = re.sub(rf"^(?:(?:yes|okay|hey|hello) )?{name}(?: |$)", "", clause)
    return re.sub(rf"(?:^| ){name}$", "", headless).strip()


_MOST_WORDS = 240  # that an ear writes of one utterance
_LONGEST_LOOP = 12  # words: longer than any innocent saying with our name before it
_RESTS = (
    "up", "press up", "the press up", "extinguisher", "blanket", "door", "exit", "drill", "permit", "stop", "kit", "box",
    "cord", "absorber", "mark", "break", "air", "bubbles", "moisture", "extinguisher is on the wall", "edge", "spot",
    "my fingers", "stop is reset", "is reset", "stop reset", "reset", "stop work", "work", "stop do", "do", "press", "the press",
)  # fmt: skip


def may_end_harmless(text: str, callsign: str = "") -> bool:
    """Whether a cry at the end of what has been said so far may yet turn out an innocent saying ('fire' + 'door')."""
    if _CRY.search(canonical(text)) is None:
        return True  # a cry of plain words: more of them, and it is none
    begun = canonical(text)  # the stops in a sentence that has not ended are guesses
    # ... and so is its last word: 'the fire extingu'
    return any(
        _is_innocent(f"{sure} {rest}".rstrip(), callsign)
        for sure in (begun, begun.rpartition(" ")[0])
        for rest in ("", *_RESTS)
        if danger_word(sure, callsign) or not rest
    )
