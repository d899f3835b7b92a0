"""The limits of a recipe asked for in full: which of them keeps the cycle from being shorter, and by how much."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product

from assistant.recipe.problem import Problem, Side
from assistant.recipe.shortest import GOOD_ENOUGH_S, Pair, shortest
from assistant.recipe.tried import Rig

RELAX_K, RELAX_SHARE = 5.0, 1.1


@dataclass(frozen=True)
class Limit:
    """label: the limit; relaxed: what is tried in its place; saves_s: how much shorter the cycle then is."""

    key: str
    label: str
    relaxed: str
    saves_s: float


def _side(name: str, **by_K: float) -> Callable[[Problem], Problem]:
    def turned(problem: Problem) -> Problem:
        side: Side = getattr(problem, name)
        moved = replace(side, **{key: getattr(side, key) + more for key, more in by_K.items()})
        return replace(problem, upper=moved) if name == "upper" else replace(problem, lower=moved)

    return turned


def _dwell(problem: Problem) -> Problem:
    return replace(problem, dwell_s=None if problem.dwell_s is None else problem.dwell_s * RELAX_SHARE)


# What a limit is called, what is tried in its place, and the problem with it.
LIMITS: dict[str, tuple[str, str, Callable[[Problem], Problem]]] = {
    "upper_lowest": ("the upper platen's lowest set temperature", "5 K lower", _side("upper", lowest_K=-RELAX_K)),
    "upper_highest": ("the upper platen's highest set temperature", "5 K higher", _side("upper", highest_K=RELAX_K)),
    "lower_lowest": ("the lower platen's lowest set temperature", "5 K lower", _side("lower", lowest_K=-RELAX_K)),
    "lower_highest": ("the lower platen's highest set temperature", "5 K higher", _side("lower", highest_K=RELAX_K)),
    "above_fusion": ("fusion of the coldest point with its margin", "5 K less margin", lambda p: replace(p, above_fusion_K=p.above_fusion_K - RELAX_K)),
    "below_damage": ("damage of the hottest point with its margin", "5 K less margin", lambda p: replace(p, below_damage_K=p.below_damage_K - RELAX_K)),
    "longest_dwell": ("the longest dwell", "a tenth longer", lambda p: replace(p, longest_dwell_s=p.longest_dwell_s * RELAX_SHARE)),
    "near_damage": ("the longest time near damage", "a tenth longer", lambda p: replace(p, longest_near_damage_s=p.longest_near_damage_s * RELAX_SHARE)),
    "fixed_dwell": ("the dwell that is given", "a tenth longer", _dwell),
    "power": ("the power of the platens", "", lambda p: p),
    "cooling": ("the cooling", "", lambda p: p),
}  # fmt: skip


def _called(key: str, problem: Problem) -> str:
    """The limit in words; where one set temperature is all that is allowed, somebody gave it."""
    name = key.partition("_")[0]
    if name in ("upper", "lower"):
        side: Side = getattr(problem, name)
        if side.lowest_K == side.highest_K:
            return f"the {name} platen's set temperature, as given,"
    return LIMITS[key][0]


def binding(rig: Rig, best: Pair) -> tuple[Limit, ...]:
    """The limits that bind at the shortest cycle, the dearest first.

    Looked for where a neighbouring setting would be shorter: the limits it breaks are relaxed one by one and the
    whole search made again. Where only all of them together would do, they are one entry.
    """
    problem, step_K = rig.problem, rig.problem.step_K
    broken: dict[str, None] = {"above_fusion": None}  # its margin lengthens the dwell at every setting
    for i, j in product((-1, 0, 1), repeat=2):
        if (i, j) == (0, 0) or (problem.alike and i != j):
            continue
        there = (best.upper_K + i * step_K, best.lower_K + j * step_K)
        if rig.cycle_s(*there) < best.cycle_s - GOOD_ENOUGH_S / 10:
            broken.update(dict.fromkeys(rig.broken(*there)))
    keys = [key for key in broken if LIMITS[key][1]]

    def saved_s(changed: Problem) -> float:
        found = shortest(rig.under(changed), known=best)
        return best.cycle_s - found[0].cycle_s if found else 0.0

    found = [
        Limit(key, _called(key, problem), LIMITS[key][1], saved)
        for key in keys
        if (saved := saved_s(LIMITS[key][2](problem))) > GOOD_ENOUGH_S
    ]
    if not found and len(keys) > 1:
        all_of_them = problem
        for key in keys:
            all_of_them = LIMITS[key][2](all_of_them)
        saved = saved_s(all_of_them)
        if saved > GOOD_ENOUGH_S:
            label = " and ".join(_called(key, problem) for key in keys)
            return (Limit("+".join(keys), label, "both relaxed by so much", saved),)
    return tuple(sorted(found, key=lambda limit: -limit.saves_s))


def told(limits: tuple[Limit, ...], look: tuple[Look, ...]) -> str:
    """In a sentence or two."""
    if limits:
        first = (
            "; ".join(
                f"{limit.label} binds: with {limit.relaxed} the cycle would be {limit.saves_s:.1f} s shorter"
                for limit in limits
            )
            + ". "
        )
    else:
        first = "No limit binds: every other setting that can be set makes the cycle longer. "
    return first[0].upper() + first[1:] + " ".join(one.told for one in look)


@dataclass(frozen=True)
class Look:
    """Both platens by_K hotter. longer_s: of the cycle; None: never done. breaks: which limits, in words."""

    by_K: float
    longer_s: float | None
    breaks: tuple[str, ...]

    @property
    def told(self) -> str:
        way = f"{abs(self.by_K):g} K {'hotter' if self.by_K > 0 else 'colder'}"
        if self.longer_s is None:
            cost = "it would never be done"
        else:
            cost = f"the cycle would be {abs(self.longer_s):.1f} s {'longer' if self.longer_s >= 0 else 'shorter'}"
        word = "but" if self.longer_s is not None and self.longer_s < 0 else "and"
        but = f", {word} it breaks {' and '.join(self.breaks)}" if self.breaks else ""
        return f"{way[0].upper()}{way[1:]} {cost}{but}."


def look(rig: Rig, best: Pair, by_K: float) -> Look:
    """What it would be with both platens so much hotter, or colder."""
    there = (best.upper_K + by_K, best.lower_K + by_K)
    cycle_s = rig.cycle_s(*there)
    return Look(
        by_K,
        None if cycle_s == float("inf") else cycle_s - best.cycle_s,
        tuple(dict.fromkeys(_called(key, rig.problem).rstrip(",") for key in rig.broken(*there))),
    )
