"""An option's value in its own unit, or in another one that is written after it: '29 psi', '47 thou', '1/4 in'."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from tui.commands.options import between

if TYPE_CHECKING:
    from intents.meaning import QuantityKind

_WITH_UNIT = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:/[0-9]+)?) *([a-zA-Z°\"%][a-zA-Z°²%/ ]*2?)")


def measured(low: float, high: float, kind: QuantityKind, unit: str) -> Callable[[str | float], float]:
    """An option's type: as `between`, in `unit` ('mm', 'bar', 'c' ...) where none is written.

    Converted once, exactly; what may be either of two units is refused with the question between them.
    """
    plain = between(low, high)

    def number(given: str | float) -> float:
        text = str(given)
        found = _WITH_UNIT.fullmatch(text.strip()) if len(text) <= 60 else None
        return plain(text if found is None else repr(_in_own(f"{found[1]} {found[2]}", kind, unit)))

    return number


def _in_own(text: str, kind: QuantityKind, unit: str) -> float:
    """Raises: click.BadParameter for a unit that is none of this kind, or that may be either of two."""
    from intents.quantities import Ambiguous, OutOfRange, Parsed, parse_quantity
    from intents.units import edge_unit

    parsed = parse_quantity(text, kind)
    if isinstance(parsed, Ambiguous):
        raise click.BadParameter(f"'{text}' may be either. {parsed.question}")
    if isinstance(parsed, OutOfRange):
        raise click.BadParameter(f"'{text}' cannot be. {parsed.sentence}")
    if not isinstance(parsed, Parsed):
        raise click.BadParameter(f"'{text}' is not a {kind}; write it in {unit}, or with a unit after it.")
    own = edge_unit(kind, unit)
    # Twelve figures: what the two conversions add to the last one is not part of what was said.
    return float(f"{(parsed.value_si - own.after) / own.scale - own.before:.12g}")
