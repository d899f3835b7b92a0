"""How exchanges by voice end, in one table: `python tests/bench/measure_dialogue.py [--half dev|held|all] [--kept FILE]`.

People's recordings of numbers and of single words, each as one exchange by the program's own rules. A value is read
back; who hears another one says 'no' and says it again; what was refused is asked for once more. A value that was read
back rightly is confirmed by 'that is correct', in a synthetic voice for want of a recording. A command acts, and the
answer says what was done: a wrong one is noticed by that, and counted as acted apart. At most two tries of the value
or word, and two of the confirmation; then it is typed, and where the voice's confirmation alone was not heard that is
counted apart. Not noticed: a value counts that was not said.

'Said again' is the same recording with other noise, which in quiet is the same sound: so clean figures are those of
somebody who slips in the same way twice. The second table has another person's recording of the same word instead.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Literal
from zlib import crc32

from hearing_clips import LEVELS_DB, Clip, Take, people, voices_here
from hearing_kept import Hears
from measure_hearing import COMMANDS, digits, exactly, half_of, interval

from intents.canonical import canonical
from intents.hypotheses import among
from intents.meaning import Heard as HeardWords
from intents.meaning import Meaning, Understood
from intents.phrasebook import load_phrasebook
from speech.ears import open_ear
from speech.errors import Missing
from speech.sound import RATE_HZ
from speech.utterance import Utterance
from tui.heard_as import heard_from

LEVELS = LEVELS_DB[:3]
MOST_TRIES = 2

Ended = Literal["right", "confirmation typed", "typed", "not noticed"]
Hear = Callable[[Take], list[Utterance]]


@dataclass(frozen=True)
class Exchange:
    """How one exchange ended. tries: of the value or word; acted: a command that was not said was carried out."""

    ended: Ended
    tries: int
    acted: bool = False


@dataclass(frozen=True)
class Act:
    """One thing that the program takes: a 'value' to read back, a 'confirm', or a command."""

    what: str
    value: str = ""


@cache
def confirmations() -> frozenset[str]:
    return frozenset(canonical(saying) for saying in load_phrasebook().commands["confirm"].says)


def meant(heard: HeardWords) -> Understood:
    """What one text means while a value stands to be confirmed: as in `exactly`, 'no' before a value, and the confirmations."""
    words = canonical(heard.text)
    if words in confirmations():
        return Meaning("confirm", said=heard.text)
    number = digits(words.removeprefix("no ")) if words.startswith("no ") else None
    return exactly(heard) if number is None else Meaning("value", value=number, said=heard.text)


def acts(heard: Iterable[Utterance]) -> list[Act]:
    """What the program does of each utterance, in order; only a verified one confirms."""
    done = []
    for utterance in heard:
        found = among(heard_from(utterance), meant, lambda meaning: meaning.intent != "confirm")
        if isinstance(found, Meaning) and found.intent == "value":
            done.append(Act("value", str(found.value)))
        elif isinstance(found, Meaning) and (utterance.verified or found.intent != "confirm"):
            done.append(Act(found.intent))
    return done


def exchange(
    take: Take, said_again: Callable[[Take, bool], Take], confirmation: Take, hear: Hear
) -> Exchange:
    """One exchange. said_again: of a take, and whether it corrects a value: what is said at the second try."""
    truth = digits(canonical(take.clip.said)) or canonical(take.clip.said)
    is_value = truth not in COMMANDS
    acted = False
    offered: str | None = None
    for tries in range(1, MOST_TRIES + 1):
        right = False
        for act in acts(hear(take)):
            if act.what == "confirm" and offered is not None:
                return Exchange("right" if offered == truth else "not noticed", tries, acted)
            if act.what == "value":
                offered = act.value
            elif act.what == "no":
                offered = None
            right |= not is_value and act.what == truth
            acted |= act.what not in ("value", "confirm", "no", truth)
        if right:
            return Exchange("right", tries, acted)
        if is_value and offered == truth:
            return Exchange("right" if _confirmed(confirmation, hear) else "confirmation typed", tries, acted)
        if tries < MOST_TRIES:
            take = said_again(take, offered is not None)
    return Exchange("typed", MOST_TRIES, acted)


def _confirmed(confirmation: Take, hear: Hear) -> bool:
    return any(Act("confirm") in acts(hear(replace(confirmation, again=k))) for k in range(MOST_TRIES))


def with_no(clip: Clip, clips: Sequence[Clip]) -> Clip:
    """The recording with somebody's 'no' of the same collection before it: the speaker's own where there is one."""
    nos = [c for c in clips if c.kind == clip.kind and c.said == "no"]
    own = [c for c in nos if c.speaker == clip.speaker]
    lead = (own or nos)[crc32(clip.name.encode()) % len(own or nos)]
    return replace(clip, before=lead.file)


def same_person(clips: Sequence[Clip]) -> Callable[[Take, bool], Take]:
    def again(take: Take, corrects: bool) -> Take:
        return Take(_corrected(take.clip, corrects, clips), take.snr_db, again=1)

    return again


def another_person(clips: Sequence[Clip]) -> Callable[[Take, bool], Take]:
    """The next recording of the same words by somebody else; of words that nobody else says, the same one."""

    def again(take: Take, corrects: bool) -> Take:
        same = [c for c in clips if c.kind == take.clip.kind and c.said == take.clip.said]
        at = same.index(take.clip)
        others = [c for c in (*same[at + 1 :], *same[:at]) if c.speaker != take.clip.speaker]
        if not others:
            return same_person(clips)(take, corrects)
        return Take(_corrected(others[0], corrects, clips), take.snr_db)

    return again


def _corrected(clip: Clip, corrects: bool, clips: Sequence[Clip]) -> Clip:
    return with_no(clip, clips) if corrects and digits(canonical(clip.said)) else clip


HEAD = "| class | speech over noise | exchanges | right at once | right after two tries at most | of the rest: right, but its confirmation typed | typed | not noticed | acted wrongly, and said so | distinct minutes | speakers |\n|---|---|---|---|---|---|---|---|---|---|---|"


def row(what: str, level: str, clips: Sequence[Clip], ended: Sequence[Exchange]) -> str:
    n = len(ended)
    right = sum(e.ended == "right" for e in ended)
    at_once = sum(e.ended == "right" and e.tries == 1 and not e.acted for e in ended)
    unnoticed = sum(e.ended == "not noticed" for e in ended)
    unconfirmed = sum(e.ended == "confirmation typed" for e in ended)
    minutes = sum(len(clip.samples()) for clip in clips) / RATE_HZ / 60
    return (
        f"| {what} | {level} | {n} | {at_once} ({interval(at_once, n)}) | {right} = {100 * right / n:.0f} % ({interval(right, n)})"
        f" | {unconfirmed} | {n - right - unnoticed - unconfirmed} | {unnoticed} ({interval(unnoticed, n)}) | {sum(e.acted for e in ended)} | {minutes:.1f}"
        f" | {len({clip.speaker for clip in clips})} |"
    )


def table(
    half: str, confirmed_by: str, hear: Hear, by: Callable[[Sequence[Clip]], Callable[[Take, bool], Take]]
) -> Iterable[str]:
    clips = [c for c in people() if c.kind in ("command_number", "command_word")]
    voices = voices_here()
    groups: tuple[tuple[str, tuple[str, ...]], ...] = (
        ("numbers", ("command_number",)), ("words", ("command_word",)), ("both", ("command_number", "command_word")),
    )  # fmt: skip
    for what, kinds in groups:
        for level in LEVELS:
            said = [c for c in half_of(clips, half) if c.kind in kinds]
            ended = []
            for at, clip in enumerate(said):
                confirmation = Take(Clip(confirmed_by, "confirmation", voices[at % len(voices)]), level)
                ended.append(exchange(Take(clip, level), by(clips), confirmation, hear))
            yield row(what, "clean" if level is None else f"{level:g} dB", said, ended)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--half", choices=("dev", "held", "all"), default="all")
    parser.add_argument(
        "--confirmation", default="that is correct", help="the words that confirm, in synthetic voices"
    )
    parser.add_argument("--kept", type=Path, help="file to keep what was heard in, and to go on from")
    given = parser.parse_args()
    ear = open_ear()
    if isinstance(ear, Missing):
        print(ear.sentence)
        return 2
    hear = Hears(ear, given.kept)
    print(f"{ear.name}; '{given.confirmation}' in {', '.join(voices_here())}")
    for what, by in (
        ("the same recording again", same_person),
        ("another person at the second try", another_person),
    ):
        print(f"\n{what}\n\n{HEAD}")
        for line in table(given.half, given.confirmation, hear, by):
            print(line, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
