"""What the demo tells at its end: the recipe, the deviations, how much went by ear, the record and its check."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from assistant.practice.bench import PracticeBench
from assistant.record.read import read_log
from assistant.review.deviations import departures
from assistant.review.verify import Verdict
from tui.plain import plain


@dataclass
class Tally:
    """How the technician's utterances got across. Each counts once, when it has."""

    by_ear: Counter[int] = field(default_factory=Counter)  # by the number of the try
    typed: list[str] = field(default_factory=list)  # after two tries
    typed_only: int = 0  # there was no voice or no ear
    put_right: int = 0  # first understood as something else


def summary(practice: PracticeBench, verdict: Verdict, tally: Tally, say: Callable[[str], None]) -> None:
    view, path = practice.session.view(), practice.session.writer.path
    say("")
    say("RECIPE (SIMULATED)")
    for row in view.recipe:
        say(f"  {row.label}: {row.value}. {plain(row.reason)}")
    results = practice.session.state.computed.get("recipe", {})
    for label, seconds, reason in results.get("dwell_items", []):
        say(f"    dwell: {seconds:+.0f} s {label}. {reason}")
    say("DEVIATIONS (SIMULATED)")
    for departure in departures(read_log(path)):
        say(f"  {departure.t_s / 60:5.1f} min {departure.sort}: {plain(departure.sentence)}")
    say("HOW THE TECHNICIAN WAS UNDERSTOOD")
    for sentence in understood(tally):
        say(f"  {sentence}")
    say("RECORD")
    say(f"  {path}")
    for sentence in (*verdict.sentences, *verdict.vouched):
        say(f"  {sentence}")
    say(f"OUTCOME (SIMULATED): {view.finished or 'not finished'}")


def understood(tally: Tally) -> list[str]:
    """The count in sentences."""
    total = sum(tally.by_ear.values()) + len(tally.typed) + tally.typed_only
    told = [f"{total} utterances."]
    told += [
        f"By ear at the {'first' if tries == 1 else 'second'} try: {count} ({100 * count / total:.0f} %)."
        for tries, count in sorted(tally.by_ear.items())
    ]
    if tally.put_right:
        told.append(f"First understood as something else, and put right: {tally.put_right}.")
    if tally.typed_only:
        told.append(f"Typed, for want of a voice or ears: {tally.typed_only}.")
    if tally.typed or not tally.typed_only:
        what = f": {'; '.join(tally.typed)}" if tally.typed else ""
        told.append(f"Typed after two tries: {len(tally.typed)}{what}.")
    return told
