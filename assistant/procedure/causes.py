"""From what inspection found to likely causes, each held against what the log knows, and what to change next time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from assistant.procedure.inspection import NOTHING, Cause, Defect, load_defects

FACTS: dict[str, str] = {
    "over_set_K": "the highest platen reading was {:.0f} °C above set",
    "below_set_K": "the lowest reading of the dwell was {:.0f} °C below set",
    "uneven_K": "upper and lower were {:.0f} °C apart in how far they missed their values",
    "set_over_recipe_K": "the press was set {:.0f} °C above the computed value",
    "dwell_short_s": "the dwell was {:.0f} s shorter than needed",
    "dwell_over_s": "the dwell was {:.0f} s longer than agreed",
    "pressure_short_fraction": "the gauge read {:.0%} below the agreed pressure",
    "pressure_over_fraction": "the gauge read {:.0%} above the agreed pressure",
    "release_over_K": "it was let go {:.0f} °C above release temperature",
    "faster_ramp_fraction": "the ramp was {:.0%} shorter than predicted",
}
"""What the log may know about a run: name to words. Differences in K, s, or as a fraction."""

Weight = Literal["the log agrees", "the log cannot tell", "the log speaks against it"]
_ORDER: tuple[Weight, ...] = ("the log agrees", "the log cannot tell", "the log speaks against it")


@dataclass(frozen=True)
class Likely:
    """One cause of one finding, in words, and what follows from it for the next joint."""

    finding: str
    cause: str
    weight: Weight
    change: str
    sentence: str


def likely_causes(findings: Iterable[str], facts: Mapping[str, float]) -> tuple[Likely, ...]:
    """Causes of the found defects: first what the log supports, last what it speaks against.

    findings: keys of defects, as `Judged.finding`; 'nothing' and repeats are passed over.
    facts: by the names of `FACTS`; what the log does not know is left out.
    Raises: KeyError for a finding or a fact without an entry.
    """
    unknown = set(facts) - set(FACTS)
    if unknown:
        raise KeyError(sorted(unknown)[0])
    defects = load_defects()
    causes = [
        _weighed(defects[key], cause, facts)
        for key in dict.fromkeys(findings)
        if key != NOTHING
        for cause in defects[key].causes
    ]
    return tuple(sorted(causes, key=lambda likely: _ORDER.index(likely.weight)))


def _weighed(defect: Defect, cause: Cause, facts: Mapping[str, float]) -> Likely:
    weight, begins, shown = _ORDER[1], "Possible", ""
    if cause.fact in facts and cause.fact is not None and cause.above is not None:
        value = facts[cause.fact]
        if value > cause.above:
            weight, begins, shown = _ORDER[0], "Likely", f": {FACTS[cause.fact].format(value)}"
        else:
            weight, begins = _ORDER[2], "Less likely"
    change = f"{cause.change[0].lower()}{cause.change[1:]}"
    sentence = f"{begins} for {defect.name}: {cause.cause} ({weight}{shown}). Next time: {change}."
    return Likely(defect.key, cause.cause, weight, cause.change, sentence)
