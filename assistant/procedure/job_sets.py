"""Every combination of the traits that choose acts, and sets of them.

A set of combinations is one whole number, a bit for each: so that a check over all of them is exact and
still quick at every start.
"""

from __future__ import annotations

import itertools
from functools import cache

from assistant.procedure.model import Act, Trait

KINDS_OF_JOB = ("shop", "conveyor")

DOMAINS: dict[Trait, tuple[str | bool, ...]] = {
    "job_kind": KINDS_OF_JOB,
    "guided": (False, True),
    "notched": (False, True),
    "halves": ("hinged", "loose"),
    "inner_lead": (False, True),
    "cooling": ("none", "fan", "air", "water"),
    "supply_until_vented": (False, True),
    "heavy": (False, True),
    "new_pair": (False, True),
    "preheat": (False, True),
    "asymmetric": (False, True),
}
"""Every value that a trait can have."""


@cache
def combinations() -> tuple[dict[Trait, str | bool], ...]:
    every = (dict(zip(DOMAINS, values, strict=True)) for values in itertools.product(*DOMAINS.values()))
    return tuple(traits for traits in every if traits["guided"] or not traits["notched"])


@cache
def jobs_where(trait: Trait, value: str | bool) -> int:
    """The combinations with this value, as bits. A value that a trait cannot have: none."""
    return sum(
        1 << bit
        for bit, traits in enumerate(combinations())
        if type(traits[trait]) is type(value) and traits[trait] == value
    )


@cache
def every_job() -> int:
    return (1 << len(combinations())) - 1


def jobs_of_act(act: Act) -> int:
    jobs = every_job()
    for trait, value in act.when.items():
        jobs &= jobs_where(trait, value)
    return jobs


def jobs_of(kinds: tuple[str, ...], only: tuple[Trait, str | bool] | None) -> int:
    jobs = 0
    for kind in kinds:
        jobs |= jobs_where("job_kind", kind)
    return jobs & jobs_where(*only) if only else jobs


def an_example(jobs: int) -> str:
    """One of the combinations in words."""
    traits = combinations()[(jobs & -jobs).bit_length() - 1]
    return ", ".join(f"{trait.replace('_', ' ')} {str(value).lower()}" for trait, value in traits.items())
