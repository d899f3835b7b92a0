"""Where words and numbers are lost on their way, in one table: `python tests/bench/measure_stages.py [--half dev|held|all] [--kept FILE]`.

The first column is the plainest way to use the recogniser: each recording as it is, with noise, straight into it, and
its likeliest text compared. Then, each further one step on: cut out of a stream by the voice detector; of those, heard
well enough for what counts; and by the program's own rule, with the less likely texts and single words: a value is
read back and a command moves only the screen, so neither has to be heard that well.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from hearing_clips import AROUND_S, LEVELS_DB, Take, people
from hearing_kept import Hears, key, read
from measure_hearing import digits, half_of, interval, judge_command

from intents.canonical import canonical
from speech.ear import Ear
from speech.ears import open_ear
from speech.errors import Missing
from speech.sound import RATE_HZ
from speech.utterance import Utterance

HEAD = (
    "| class | speech over noise | takes | straight into the recogniser, likeliest text right | cut, likeliest text right"
    " | heard well enough | by the rule right | wrong | no utterance |\n|---|---|---|---|---|---|---|---|---|"
)


class Straight:
    """The likeliest text of each recording alone, without detector and limits. kept: as for `Hears`."""

    def __init__(self, ear: Ear, kept: Path | None) -> None:
        self._ear, self._kept = ear, kept
        self._known = read(kept) if kept is not None and kept.is_file() else {}

    def __call__(self, take: Take) -> str:
        name = f"{key(take)} | straight"
        if name not in self._known:
            around = int(AROUND_S * RATE_HZ)
            words = self._ear.hear(take.sound()[around:-around])
            self._known[name] = [Utterance(0.0, 0.0, words.text, self._ear.name, words.sureness)]
            if self._kept is not None:
                with self._kept.open("a", encoding="utf-8") as file:
                    file.write(json.dumps([name, [asdict(u) for u in self._known[name]]]) + "\n")
        return self._known[name][0].text


def is_said(text: str, take: Take) -> bool:
    truth = canonical(take.clip.said)
    return (digits(text) or canonical(text)) == (digits(truth) or truth)


def row(what: str, takes: Sequence[Take], straight: Straight, hears: Hears) -> str:
    n, level = len(takes), takes[0].snr_db
    heard = [(take, hears(take)) for take in takes]
    first = [(t, us[0]) for t, us in heard if len(us) == 1 and is_said(us[0].text, t)]
    told = [judge_command(t, us) for t, us in heard]
    counts = (
        sum(is_said(straight(t), t) for t in takes),
        len(first),
        sum(u.verified for _, u in first),
        told.count("right"),
    )
    shares = " | ".join(f"{count} = {100 * count / n:.0f} % ({interval(count, n)})" for count in counts)
    return (
        f"| {what} | {'clean' if level is None else f'{level:g} dB'} | {n} | {shares} | {told.count('wrong')}"
        f" | {sum(not us for _, us in heard)} |"
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--half", choices=("dev", "held", "all"), default="dev")
    parser.add_argument("--kept", type=Path, help="file to keep what was heard in, and to go on from")
    given = parser.parse_args()
    ear = open_ear()
    if isinstance(ear, Missing):
        print(ear.sentence)
        return 2
    straight, hears = Straight(ear, given.kept), Hears(ear, given.kept)
    said = half_of([c for c in people() if c.kind in ("command_number", "command_word")], given.half)
    print(f"{ear.name}\n\n{HEAD}")
    for what, kind in (("numbers and phrases", "command_number"), ("single words", "command_word")):
        for level in LEVELS_DB:
            takes = [Take(clip, level) for clip in said if clip.kind == kind]
            print(row(f"{what}, {given.half}", takes, straight, hears), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
