"""Measures how long an utterance takes to become a meaning, what each near-miss threshold would take, how many sayings
each command has, and how many of the listed sayings are taken as wanted.

`python tests/bench/measure_understand.py` prints all of it. The reference is rapidfuzz's own `extractOne` over the flat list of all sayings, which understands
neither numbers nor topics nor danger.
"""

from __future__ import annotations

import importlib.util
import sys
import time
from collections.abc import Callable, Iterator
from math import sqrt
from pathlib import Path
from statistics import median
from types import ModuleType

from figures import Figure, table
from rapidfuzz import fuzz, process

from intents import near
from intents.canonical import canonical
from intents.match import understand
from intents.meaning import AskBack, Expected, Heard, Meaning, Sayable, Topic
from intents.phrasebook import COMMANDS, Phrasebook, load_phrasebook

ZERO_C_K = 273.15
SAID = {
    "exact command": ("say again", "What's next?", "that is right", "how long left"),
    "near miss": ("shoe the recipe", "what come next", "wich step is this"),
    "value": ("one hundred and eighty five degrees", "one eighty five", "185", "365"),
    "topic": ("change thickness to one point nine two", "what is the thickness", "upper platen one four two"),
    "gate sentence": (
        "The conveyor is locked, and it will not start.",
        "the conveyor is not locked and it will not start",
    ),
    "danger": ("there is smoke over here", "my hand is burnt"),
    "not for us": ("did you see the match on sunday", "pass me the other clamp and the long rule please"),
}
SAYABLE = Sayable(
    COMMANDS,
    sentence="the conveyor is locked and it will not start",
    sentences_elsewhere=("my hands are behind the blade", "the tension is off and blocked"),
    expected=Expected("upper_temperature", "quantity", "temperature", ZERO_C_K + 60, ZERO_C_K + 230),
    topics=(
        Topic("thickness", ("thickness", "belt thickness"), "length", 0.0003, 0.03, changeable=True),
        Topic(
            "upper_reading", ("upper platen", "upper"), "temperature", ZERO_C_K, ZERO_C_K + 250, readable=True
        ),
    ),
)


def of_intents(name: str) -> ModuleType:
    """A module of the tests of intents."""
    folder = Path(__file__).parents[1] / "intents"
    sys.path[:0] = [str(folder), str(folder.parent)]
    spec = importlib.util.spec_from_file_location(name, folder / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def microseconds(
    work: Callable[[str], object], texts: tuple[str, ...], rounds: int, *, cold: bool = False
) -> float:
    """Median time of one call, us; `cold`: the text has not been seen before."""
    times = []
    for _ in range(rounds):
        for text in texts:
            if cold:
                canonical.cache_clear()
            began = time.perf_counter_ns()
            work(text)
            times.append((time.perf_counter_ns() - began) / 1000)
    return median(times)


def figures(rounds: int) -> Iterator[Figure]:
    book = load_phrasebook()
    flat = [s for c in book.commands.values() for s in c.says]
    for kind, texts in SAID.items():

        def ours(text: str) -> object:
            return understand(Heard(text, "voice", 1.0, 2.0), SAYABLE, book)

        def theirs(text: str) -> object:
            return process.extractOne(text, flat, scorer=fuzz.ratio)

        first = microseconds(ours, texts, 6 * rounds, cold=True)
        reference = microseconds(theirs, texts, 6 * rounds)
        yield Figure(
            f"understand: {kind}",
            f"{first:.0f} us",
            f"{first / reference:.1f} x rapidfuzz extractOne over {len(flat)} sayings, which knows no values",
        )


def print_thresholds(book: Phrasebook) -> None:
    data = of_intents("near_misses")
    everything = Sayable(COMMANDS)
    print(f"\nNear misses: {len(data.MEANT)} nearly said, {len(data.OTHER)} that mean something else")
    print(f"{'threshold':>9}{'right':>8}{'asked':>8}{'wrong':>8}{'dropped':>9}{'others taken':>14}")
    for threshold in (*range(70, 96, 2), near.NEAR):
        right = asked = wrong = taken = 0
        for said, command in data.MEANT.items():
            found = near.nearly(canonical(said), everything, book, threshold)
            right += isinstance(found, Meaning) and found.intent == command
            wrong += isinstance(found, Meaning) and found.intent != command
            asked += isinstance(found, AskBack)
        for said in data.OTHER:
            taken += isinstance(near.nearly(canonical(said), everything, book, threshold), Meaning | AskBack)
        mark = "  in use" if threshold is near.NEAR else ""
        dropped = len(data.MEANT) - right - asked - wrong
        print(f"{threshold:9.0f}{right:8}{asked:8}{wrong:8}{dropped:9}{taken:14}{mark}")


def print_counts(book: Phrasebook) -> None:
    counts = sorted((len(c.says) + len(c.openings), c.id) for c in book.commands.values())
    print(
        f"\n{sum(n for n, _ in counts)} ways to say {len(counts)} commands, {len(book.questions)} whole questions. Fewest:"
    )
    print(", ".join(f"{name} {n}" for n, name in counts[:12]))


def print_sayings() -> None:
    at_press = of_intents("test_sayings_at_press")
    print("\nSayings at moments of a real job, taken and answered as wanted")
    for title, rows in (("tuned to", at_press.TUNED), ("kept apart", at_press.APART)):
        said = [(at_press.say(at, saying), wanted, reply) for at, saying, wanted, reply in rows]
        right = sum(at_press.agrees(*one) for one in said)
        other = sum(
            isinstance(a.understood, Meaning) and not at_press.means(a.understood, w) for a, w, _ in said
        )
        low, high = interval(right, len(rows))
        print(
            f"{title:12}{right} of {len(rows)} ({100 * low:.0f} to {100 * high:.0f} %, 95 % interval), taken for something else: {other}"
        )


def interval(right: int, count: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share."""
    z, share = 1.959964, right / count
    middle = share + z * z / (2 * count)
    spread = z * sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    return (middle - spread) / (1 + z * z / count), (middle + spread) / (1 + z * z / count)


if __name__ == "__main__":
    print(table(figures(7)))
    print_thresholds(load_phrasebook())
    print_counts(load_phrasebook())
    print_sayings()
