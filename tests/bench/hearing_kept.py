"""Takes through the whole listening chain; what was heard may be kept in a file, so that a long run can go on later."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from hearing_clips import Take

from speech.ear import Ear
from speech.listen import Listener
from speech.sound import BLOCK
from speech.utterance import Utterance

NUMBERS = ("command_number", "digits")  # while a number is expected the ears wait longer for its end

Heard = dict[str, list[Utterance]]


def key(take: Take) -> str:
    clip = take.clip
    level = "clean" if take.snr_db is None else f"{take.snr_db:g} dB"
    return f"{clip.name}{' slower' if clip.slower else ''} | {level} | {take.again}"


def hear(take: Take, ear: Ear) -> list[Utterance]:
    """What a session would be given of one take."""
    listener = Listener(ear)
    listener.wait_for_number(take.clip.kind in NUMBERS)
    sound = take.sound()
    heard = []
    for at in range(0, len(sound) - BLOCK + 1, BLOCK):
        heard += listener.feed(sound[at : at + BLOCK])
    return heard + listener.flush()


class Hears:
    """What is heard of takes, each heard once. kept: a file, read first and added to."""

    def __init__(self, ear: Ear, kept: Path | None) -> None:
        self._ear, self._kept = ear, kept
        self.known: Heard = read(kept) if kept is not None and kept.is_file() else {}

    def __call__(self, take: Take) -> list[Utterance]:
        if key(take) not in self.known:
            self.known[key(take)] = hear(take, self._ear)
            if self._kept is not None:
                line = [key(take), [asdict(u) for u in self.known[key(take)]]]
                with self._kept.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(line) + "\n")
        return self.known[key(take)]


def heard_of(takes: Iterable[Take], ear: Ear, kept: Path | None) -> Heard:
    """What is heard of each take, by `key`. kept: as for `Hears`."""
    hears = Hears(ear, kept)
    for take in takes:
        hears(take)
    return hears.known


def read(kept: Path) -> Heard:
    return {name: [utterance(u) for u in said] for name, said in map(json.loads, kept.open(encoding="utf-8"))}


def utterance(kept: dict[str, Any]) -> Utterance:
    """Out of JSON again."""
    return Utterance(**{k: tuple(v) if isinstance(v, list) else v for k, v in kept.items()})
