"""Who decides a value: a person before the data sheet, the data sheet before the computation."""

from __future__ import annotations

from collections.abc import Callable

from assistant.recipe.outcome import Given, Slot, Source, Value
from assistant.recipe.stack import ZERO_C_K


def degC(kelvin: float) -> str:
    """A temperature [K] to be read, in whole °C."""
    return f"{kelvin - ZERO_C_K:.0f} °C"


def degC1(kelvin: float) -> str:
    """A temperature [K] to be read, in tenths of °C."""
    return f"{kelvin - ZERO_C_K:.1f} °C"


def seconds(s: float) -> str:
    """A time [s] to be read, in whole seconds."""
    return f"{s:.0f} s"


def bar(pascal: float) -> str:
    """A gauge pressure [Pa] to be read, in hundredths of a bar."""
    return f"{pascal / 1e5:.2f} bar"


def kelvin(degC: float | None) -> float | None:
    """A temperature [°C] in K; None stays None."""
    return None if degC is None else degC + ZERO_C_K


class Values:
    """The values of a recipe as they are decided, and what has to be warned of."""

    def __init__(self, given: Given) -> None:
        self.given = given
        self.taken: list[Value] = []
        self.warnings: list[str] = []

    def valid(self, slot: Slot, computed: float, sheet: float | None) -> float:
        """The value that counts: a person's before the data sheet's before the computed one. SI."""
        fixed = self.given.value(slot)
        return fixed if fixed is not None else sheet if sheet is not None else computed

    def overruled(self, *slots: Slot) -> bool:
        """Whether none of them is as computed."""
        return all(value.source != "computed" for value in self.taken if value.slot in slots)

    def take(
        self,
        slot: Slot,
        label: str,
        computed: float,
        sheet: float | None,
        reason: str,
        show: Callable[[float], str],
    ) -> float:
        """The value that counts, noted with its reason and with what it overrules. SI."""
        fixed = self.given.value(slot)
        source: Source = "given" if fixed is not None else "data sheet" if sheet is not None else "computed"
        value = self.valid(slot, computed, sheet)
        if source != "computed":
            who = "Given" if source == "given" else "The data sheet says"
            against = (
                "as computed"
                if abs(value - computed) < 1e-6 * abs(computed)
                else f"computed was {show(computed)}"
            )
            reason = f"{who} {show(value)}, {against}. {reason}"
        if fixed is not None and sheet is not None and fixed != sheet:
            self.warnings.append(f"The data sheet says {show(sheet)} for the {label}, not {show(fixed)}.")
        self.taken.append(Value(slot, label, value, reason, source, computed))
        return value
