"""How well the callsign is heard: `python tests/bench/measure_callsign.py [--callsigns WORD...] [--people N] [--kept FILE]`.

The callsign before a command and before a number, in synthetic voices, clean and over noise, through the whole
listening chain: how often it is found, how often what follows came out whole as well, and how often what came out is
taken for a cry of danger. Then recordings of people: how often a name is found that nobody says there. Intervals:
Wilson's, 95 %. About 0.5 s a take; `--kept` lets a run go on later.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from figures import Figure, table
from hearing_clips import AUDIO, LEVELS_DB, Take, people, spoken, voices_here
from hearing_kept import Heard, heard_of, key
from measure_danger import interval, level

from intents.canonical import canonical
from intents.danger import danger_word
from intents.quantities import Parsed, parse_quantity
from speech.ear import Ear
from speech.ears import open_ear
from speech.errors import Missing
from speech.utterance import Utterance
from tui.choice import DEFAULT_CALLSIGN

CALLSIGNS = (DEFAULT_CALLSIGN, "assistant", "november", "captain")
COMMAND, NUMBER, NUMBER_K = "where are we", "one eight five degrees", 185 + 273.15
LEVELS = LEVELS_DB[:4]


def after(said: Sequence[Utterance], callsign: str) -> str | None:
    """What follows the callsign in the likeliest texts, canonical; None: it is not found."""
    for utterance in said:
        _, found, rest = f" {canonical(utterance.text)} ".partition(f" {callsign} ")
        if found:
            return rest.strip()
    return None


def is_whole(rest: str | None, words: str) -> bool:
    if rest is None or words == COMMAND:
        return rest == words
    found = parse_quantity(rest, "temperature")
    return isinstance(found, Parsed) and abs(found.value_si - NUMBER_K) < 0.01


def danger_in(said: Sequence[Utterance], callsign: str) -> str | None:
    """The first text, of all that the ear considered, that raises the alarm."""
    texts = (text for u in said for text in (u.text, *u.alternatives))
    return next((text for text in texts if danger_word(text, callsign)), None)


def called(ear: Ear, callsigns: Sequence[str], kept: Path | None) -> Iterator[Figure]:
    for callsign in callsigns:
        for snr_db in LEVELS:
            n = found = whole = 0
            alarms: list[str] = []
            for words in (COMMAND, NUMBER):
                for clip in spoken([f"{callsign}, {words}"], "called", voices_here()):
                    take = Take(clip, snr_db)
                    said = heard_of([take], ear, kept)[key(take)]
                    rest = after(said, callsign)
                    n, found, whole = n + 1, found + (rest is not None), whole + is_whole(rest, words)
                    if rest is None:
                        print(f"not found: {key(take)}: {[u.text for u in said]}", file=sys.stderr)
                    if (text := danger_in(said, callsign)) is not None:
                        alarms.append(f"{key(take)}: {text}")
            for alarm in alarms:
                print(f"taken for danger: {alarm}", file=sys.stderr)
            yield Figure(
                f"'{callsign}' found, {level(snr_db)}",
                f"{found} of {n}",
                f"missed {interval(n - found, n)}; with what follows {whole}; taken for danger {len(alarms)}",
            )


def called_by_nobody(
    ear: Ear, callsigns: Sequence[str], recordings: int, kept: Path | None
) -> Iterator[Figure]:
    """In the words of people who never say it."""
    if not (AUDIO / "manifest.tsv").is_file():
        yield Figure("in people's words", "not measured", "the recordings are not beside the project")
        return
    takes = [Take(clip, None) for clip in people()]
    if recordings:
        takes = takes[:: max(1, len(takes) // recordings)][:recordings]
    heard: Heard = heard_of(takes, ear, kept)
    for callsign in callsigns:
        if any(f" {callsign} " in f" {canonical(take.clip.said)} " for take in takes):
            yield Figure(f"'{callsign}' in people's words", "not measured", "somebody does say it")
            continue
        n = len(takes)
        hits = [key(t) for t in takes if after(heard[key(t)], callsign) is not None]
        yield Figure(
            f"'{callsign}' in people's words, where it is not", f"{len(hits)} of {n}", interval(len(hits), n)
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--callsigns", nargs="+", default=CALLSIGNS, help="in canonical words")
    parser.add_argument("--people", type=int, default=0, help="of the recordings, evenly spread; 0: all")
    parser.add_argument("--kept", type=Path, help="a file of what was heard: read first, and added to")
    chosen = parser.parse_args()
    ear = open_ear()
    if isinstance(ear, Missing):
        sys.exit(ear.sentence)
    print(f"load at the start {os.getloadavg()[0]:.1f}; voices {', '.join(voices_here())} (synthetic)")
    for figure in called(ear, chosen.callsigns, chosen.kept):
        print(table([figure]), flush=True)
    for figure in called_by_nobody(ear, chosen.callsigns, chosen.people, chosen.kept):
        print(table([figure]), flush=True)


if __name__ == "__main__":
    main()
