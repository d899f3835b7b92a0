"""How a refusal leaves the middle of a recipe's computation."""

from __future__ import annotations

from assistant.recipe.outcome import Infeasible


class Refused(Exception):  # noqa: N818 - a refusal with its reason, not a fault
    """No recipe can work; `infeasible` says why and what would help."""

    def __init__(self, reason: str, nearest_change: str) -> None:
        super().__init__(reason)
        self.infeasible = Infeasible(reason, nearest_change)
