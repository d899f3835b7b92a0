"""How well the ears hear, in one table: `python tests/bench/measure_hearing.py [--half dev|held|all] [--only CLASS...] [--kept FILE]`.

People's recordings of numbers and command words, at five levels over four kinds of noise; such words and numbers in
synthetic voices, to tell how much worse those are heard than people; the gates' sentences in synthetic voices, said
again more slowly where they failed; nearly those sentences; other people's speech and noise.
Counted by the program's own rules: right, asked or refused, wrong. Numbers compare by their digits, however grouped.
'dev' clips chose the rules, 'held' ones did not. Intervals: Wilson's, 95 %. Minutes are of distinct sound; each level
is the same sound again with noise under it. About 0.5 s a take and core; `--kept` lets a run go on later.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from hearing_clips import LEVELS_DB, Clip, Take, nearly_sentences, people, spoken, voices_here
from hearing_kept import Heard, heard_of, key

from assistant.procedure.gate_table import RULES
from assistant.procedure.gate_wording import next_wording, wordings
from assistant.procedure.gates import QUIET_dB
from assistant.procedure.load import load_procedure
from assistant.procedure.model import Gate
from intents.canonical import canonical
from intents.hypotheses import among, has_not_run_in, turned_round
from intents.meaning import Heard as HeardWords
from intents.meaning import Meaning, NotForUs, Understood
from intents.number_words import ONES, TEENS, TENS
from speech.ear import Ear
from speech.ears import open_ear
from speech.errors import Missing
from speech.sound import RATE_HZ
from speech.utterance import Utterance
from tui.heard_as import heard_from

COMMANDS = frozenset(
    ("yes", "no", "stop", "go", "help", "repeat", "on", "off", "up", "down", "left", "right")
)
NEAR_GROUPS = (
    ("nearly a gate's sentence", "NEARLY"),
    ("nearly one of its other wordings", "NEARLY_OTHER"),
    ("one sound apart from it", "ALIKE"),
)
NEAR_VOICES = ("espeak en-us", "flite slt", "piper")
_ZERO = {"oh": 0, "o": 0}
_SPELT = {"to": 2, "too": 2, "for": 4}  # the ear's spelling of digits, inside a run of them


def digits(text: str) -> str | None:
    """'enter eight twenty seven', 'Enter 827' -> 'enter 827'; None: no number in digits."""
    words = canonical(text).split()
    lead = "enter " if words[:1] == ["enter"] else ""
    words = words[bool(lead) :]
    values = {**TENS, **TEENS, **ONES, **_ZERO, **(_SPELT if lead or len(words) > 1 else {})}
    out, tens = "", 0
    for word in words:
        if word in TENS:
            out, tens = out + (str(tens) if tens else ""), TENS[word]
            continue
        value = values.get(word)
        if tens and value is not None and 0 < value < 10:
            out, tens = out + str(tens + value), 0
            continue
        said = str(value) if value is not None else word.replace(",", "")
        if not said.isdigit():
            return None
        out, tens = out + (str(tens) if tens else "") + said, 0
    out += str(tens) if tens else ""
    return None if not out or canonical(text) in _ZERO else lead + out


def exactly(heard: HeardWords) -> Understood:
    """What one text means where twelve words and every number can be said."""
    word = canonical(heard.text)
    if word in COMMANDS:
        return Meaning(word, said=heard.text)
    number = digits(heard.text)
    return NotForUs("not sayable") if number is None else Meaning("value", value=number, said=heard.text)


def accepted(heard: Iterable[Utterance], only_verified: bool = False) -> list[str]:
    """What the program would take of a recording: a value to read back, or a command that moves only the screen.

    only_verified: a command as it must be heard where something rests on it ('that is correct', 'false alarm').
    """
    taken = []
    for utterance in heard:
        # Each of the words stands for a command that moves only the screen.
        found = among(heard_from(utterance), exactly, lambda _: True)
        if isinstance(found, Meaning) and (
            found.intent == "value" or utterance.verified or not only_verified
        ):
            taken.append(str(found.value) if found.intent == "value" else found.intent)
    return taken


def closes(heard: Iterable[Utterance], sentences: Sequence[str]) -> bool:
    """Whether one of the sentences, were it asked for, would be taken as said."""
    wanted = {canonical(sentence) for sentence in sentences}
    return any(
        u.gate_grade
        and canonical(u.text) in wanted
        and not turned_round(heard_from(u))
        and not has_not_run_in(heard_from(u))
        for u in heard
    )


def interval(hits: int, of: int) -> str:
    """Wilson's 95 % interval of a share, in per cent."""
    if not of:
        return "-"
    z, share = 1.96, hits / of
    middle = share + z * z / (2 * of)
    half = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    low, high = (middle - half) / (1 + z * z / of), (middle + half) / (1 + z * z / of)
    return f"{100 * max(0.0, low):.0f}-{100 * min(1.0, high):.0f} %"


@dataclass(frozen=True)
class Row:
    """One line: a class of takes with the count of each outcome."""

    what: str
    level: str
    takes: Sequence[Take]
    right: int
    wrong: int

    def __str__(self) -> str:
        n, clips = len(self.takes), {take.clip for take in self.takes}
        minutes = sum(len(clip.samples()) for clip in clips) / RATE_HZ / 60
        speakers = len({clip.speaker for clip in clips})
        return (
            f"| {self.what} | {self.level} | {n} | {self.right} ({interval(self.right, n)}) | {n - self.right - self.wrong}"
            f" | {self.wrong} ({interval(self.wrong, n)}) | {minutes:.1f} | {speakers} |"
        )


HEAD = "| class | speech over noise | takes | right | refused or asked | wrong | distinct minutes | speakers |\n|---|---|---|---|---|---|---|---|"
Judge = Callable[[Take, list[Utterance]], str]


def rows(what: str, takes: Sequence[Take], heard: Heard, judge: Judge, by_noise: bool = False) -> list[Row]:
    """A row for each level, and with `by_noise` for each kind of noise at it."""
    found = []
    for level in dict.fromkeys(take.snr_db for take in takes):
        at = [take for take in takes if take.snr_db == level]
        name = "clean" if level is None else f"{level:g} dB"
        groups = [(name, at)]
        if by_noise and level is not None:
            groups += [
                (f"{name}, {noise}", [t for t in at if t.noise == noise])
                for noise in sorted({t.noise for t in at})
            ]
        for label, group in groups:
            told = [judge(take, heard[key(take)]) for take in group]
            found.append(Row(what, label, group, told.count("right"), told.count("wrong")))
    return found


def judge_command(take: Take, heard: list[Utterance], only_verified: bool = False) -> str:
    taken = accepted(heard, only_verified)
    truth = canonical(take.clip.said)
    return "refused" if not taken else "right" if taken == [digits(truth) or truth] else "wrong"


def judge_verified(take: Take, heard: list[Utterance]) -> str:
    return judge_command(take, heard, only_verified=True)


def judge_sentence(take: Take, heard: list[Utterance]) -> str:
    return "right" if closes(heard, [take.clip.said]) else "refused"


def judge_again(take: Take, heard: list[Utterance]) -> str:
    """At the second try what was asked first closes too: any wording that the gate may have been asked in."""
    return "right" if closes(heard, wordings(gate_of(take.clip.said))) else "refused"


@cache
def gate_of(sentence: str) -> Gate:
    """The gate that one of its wordings closes."""
    return next(gate for gate in load_procedure().procedure.gates if sentence in wordings(gate))


def judge_nearly(_take: Take, heard: list[Utterance]) -> str:
    return "wrong" if closes(heard, [s for rule in RULES for s in rule.sentences]) else "refused"


def judge_other(_take: Take, heard: list[Utterance]) -> str:
    return "wrong" if accepted(heard) else "refused"


def within_two(takes: Sequence[Take], heard: Heard, again: Callable[[Take], Take], judge: Judge) -> list[Row]:
    """After one more try, with other noise, where the first did not count; and, where it was wrong, said 'no' to it."""
    second: dict[Take, str] = {
        t: judge(again(t), heard[key(again(t))]) for t in takes if key(again(t)) in heard
    }
    return rows(
        "within two tries", [t for t in takes if t in second or judge(t, heard[key(t)]) == "right"], heard,
        lambda take, said: "right" if judge(take, said) == "right" else second[take],
    )  # fmt: skip


def half_of(clips: Sequence[Clip], half: str) -> list[Clip]:
    """Every second clip chose the rules; the others were looked at once."""
    return list(clips[{"dev": 0, "held": 1}[half] :: 2] if half != "all" else clips)


def tables(half: str, only: Sequence[str], ear: Ear, kept: Path | None) -> Iterable[list[Row]]:
    clips = people() if {"numbers", "words", "others"} & set(only) else []
    for what, kind in (("numbers", "command_number"), ("words", "command_word")):
        if what in only:
            said = half_of([c for c in clips if c.kind in ("command_number", "command_word")], half)
            takes = [Take(c, level) for level in LEVELS_DB for c in said if c.kind == kind]
            heard = heard_of(takes, ear, kept)
            yield rows(f"{what}, people, {half}", takes, heard, judge_command, by_noise=True)
            if what == "words":
                yield rows("the same, verified", takes, heard, judge_verified)
            tried = [t for t in takes if t.snr_db in (20.0, 10.0)]
            failed = [t for t in tried if judge_command(t, heard[key(t)]) != "right"]
            heard = heard_of([replace(t, again=1) for t in failed], ear, kept)
            yield within_two(tried, heard, lambda t: replace(t, again=1), judge_command)
    if "voices" in only:
        numbers = dict.fromkeys(c.said for c in people() if c.kind == "command_number" and digits(c.said))
        for what, kind, texts in (
            ("words", "command_word", sorted(COMMANDS)),
            ("numbers", "command_number", list(numbers)[:20]),
        ):
            for voice in voices_here():
                takes = [Take(c, level) for level in LEVELS_DB[:2] for c in spoken(texts, kind, [voice])]
                yield rows(f"{what}, {voice}", takes, heard_of(takes, ear, kept), judge_command)
    if "gates" in only:
        sentences = [gate.sentence for gate in load_procedure().procedure.gates]
        takes = [Take(c, level) for level in LEVELS_DB for c in spoken(sentences, "gate", voices_here())]
        heard = heard_of(takes, ear, kept)
        yield rows("gates, synthetic voices", takes, heard, judge_sentence, by_noise=True)
        first = {t: heard[key(t)] for t in takes}
        failed = [t for t in takes if judge_sentence(t, first[t]) != "right"]
        heard = heard_of((asked_again(t, first[t]) for t in failed), ear, kept)
        yield within_two(takes, heard, lambda t: asked_again(t, first[t]), judge_again)
    if "nearly" in only:
        voices = [v for v in voices_here() if v in NEAR_VOICES]
        for what, group in NEAR_GROUPS:
            near = tuple(spoken(nearly_sentences(group), "nearly", voices))
            takes = [Take(c, level) for level in LEVELS_DB for c in near]
            yield rows(what, takes, heard_of(takes, ear, kept), judge_nearly)
    if "others" in only:
        takes = [Take(c, level) for level in LEVELS_DB for c in clips if not c.kind.startswith("command_")]
        heard = heard_of(takes, ear, kept)
        yield rows("other speech and noise, as a command or number", takes, heard, judge_other)
        yield rows("the same, as a gate", takes, heard, judge_nearly)


def asked_again(take: Take, heard: Sequence[Utterance]) -> Take:
    """The second try at a gate, more slowly and with other noise: in the words in which `gates` asks then."""
    said = take.clip.said
    quiet = any(u.verified and u.gate_grade and (u.snr_db is None or u.snr_db >= QUIET_dB) for u in heard)
    if quiet:
        said = next_wording(gate_of(said), said)
    return Take(replace(take.clip, said=said, slower=True), take.snr_db, again=1)


def main() -> int:
    classes = ("numbers", "words", "voices", "gates", "nearly", "others")
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--half", choices=("dev", "held", "all"), default="dev")
    parser.add_argument("--only", nargs="+", choices=classes, default=classes)
    parser.add_argument("--kept", type=Path, help="file to keep what was heard in, and to go on from")
    given = parser.parse_args()
    ear = open_ear()
    if isinstance(ear, Missing):
        print(ear.sentence)
        return 2
    print(f"{ear.name}; voices {', '.join(voices_here())}\n\n{HEAD}")
    for table in tables(given.half, given.only, ear, given.kept):
        print(*table, sep="\n", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
