"""An option's value in its own unit, or in another one that is written after it: '29 psi', '47 thou', '1/4 in'."""

from __future__ import annotations

import re
from collections.abc import Callable

import click

from tui.commands.options import between

_WITH_UNIT = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:/[0-9]+)?) *([a-zA-Z°\"%][a-zA-Z°²%/ ]*2?)")


def measured(low: float, high: float, kind: str, unit: str) -> Callable[[str | float], float]:
    """An option's type: as `between`, in `unit` ('mm', 'bar', 'c' ...) where none is written.

    Converted once, exactly; what may be either of two units is refused with the question between them.
    """
    plain = between(low, high)

    def number(given: str | float) -> float:
        text = str(given)
        found = _WITH_UNIT.fullmatch(text.strip()) if len(text) <= 60 else None
        return plain(text if found is None else repr(_in_own(f"{found[1]} {found[2]}", kind, unit)))

    return number


def _in_own(text: str, kind: str, unit: str) -> float:
    from assistant.bench.units import NoQuantity, in_unit

    try:
        return in_unit(text, kind, unit)
    except NoQuantity as refusal:
        raise click.BadParameter(str(refusal)) from None
