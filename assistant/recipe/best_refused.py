"""Why a problem given in full has no recipe, and the nearest change that gives it one: tried, not guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import ceil, inf

from assistant.recipe.feasible import HIGHEST_RELEASE_K, RELEASE_BELOW_FUSION_K, check_release
from assistant.recipe.knobs import Knob, least
from assistant.recipe.overrule import degC1, seconds
from assistant.recipe.plan_exact import fine_enough
from assistant.recipe.plan_refused import refused
from assistant.recipe.problem import Problem, Side
from assistant.recipe.refused import Refused
from assistant.recipe.shortest import shortest
from assistant.recipe.stack import ZERO_C_K
from assistant.recipe.tried import SEARCH_FINENESS, Lines, Rig

WIDER_K = 150.0  # how far beyond its range a platen is tried
TRIED_K = 2.0  # in such steps where it is fixed
LONGEST_S = 4 * 3600.0
OTHERWISE = "Take other materials, thinner cloths and plates, or a press with more even platens."


def check(problem: Problem) -> None:
    """What needs no search. Raises: Refused."""
    fusion_K = [layer.fusion_K or inf for column in problem.columns for layer in column.stack.belt]
    damage_K = [layer.damage_K or 0.0 for column in problem.columns for layer in column.stack.belt]
    room_K = min(damage_K) - max(fusion_K)
    if room_K <= problem.above_fusion_K + problem.below_damage_K:
        raise Refused(
            f"Between fusion at {degC1(max(fusion_K))} and damage at {degC1(min(damage_K))} there are {room_K:.0f} K, and the "
            f"margins take {problem.above_fusion_K:g} and {problem.below_damage_K:g} K.",
            f"Let both margins together be less than {room_K:.0f} K."
            if room_K > 0
            else "Take covers that fuse below the damage of the others.",
        )
    coolings = [side.platen.cooling for side in (problem.upper, problem.lower)]
    coolant_K = max(law.coolant_K for law in coolings if law is not None)
    error_K = problem.z * max(problem.upper.sensor_error_K, problem.lower.sensor_error_K)
    highest_K = min(HIGHEST_RELEASE_K, min(fusion_K) - RELEASE_BELOW_FUSION_K)
    if coolant_K + error_K + 1 > highest_K:
        raise Refused(
            f"The belt is firm at {degC1(highest_K)} at most, which a cooling of {degC1(coolant_K)} does not surely reach.",
            "Cool with something colder.",
        )
    check_release(coolant_K, problem.release_K, min(fusion_K), error_K, allowed_K=highest_K)


def refuse(problem: Problem, rig: Rig, works: Callable[[Problem], bool]) -> Refused:
    """Of a problem without any allowed setting. works: whether another problem has one."""
    reason, otherwise = _reason(problem, rig)
    return Refused(reason, least(_knobs(problem, works), works) or otherwise)


def _reason(problem: Problem, rig: Rig) -> tuple[str, str]:
    hot, cold = (
        (problem.upper.highest_K, problem.lower.highest_K),
        (problem.upper.lowest_K, problem.lower.lowest_K),
    )
    if problem.alike:
        hot, cold = (min(hot),) * 2, (max(cold),) * 2
    above_K, hot_below_K = (float(one[0]) for one in rig.margins_K(*hot))
    cold_above_K, below_K = (float(one[0]) for one in rig.margins_K(*cold))
    fixed = "" if hot == cold else " at most"
    if above_K < problem.above_fusion_K:
        line = min(rig.lines, key=lambda one: float(one.margins_K(*hot)[0][0]))
        said = _plain_reason(line, hot)
        more = f"At {_pair(hot)}{fixed} the coldest point settles {above_K:+.1f} K from fusion with edges and sensors at their worst; {problem.above_fusion_K:g} K above are asked for."
        return _join(problem, line, said, more), "Set the platens hotter."
    if below_K < problem.below_damage_K:
        line = min(rig.lines, key=lambda one: float(one.margins_K(*cold)[1][0]))
        said = _plain_reason(line, cold)
        least_ = "" if hot == cold else " at least"
        more = f"At {_pair(cold)}{least_} the hottest point settles {-below_K:+.1f} K from damage with sensors and overshoot at their worst; {problem.below_damage_K:g} K below are asked for."
        return _join(problem, line, said, more), "Set the platens colder."
    keys = rig.broken(*hot)
    if "power" in keys:
        said = _plain_reason(rig.lines[0], hot)
        return said or f"A platen never reaches {_pair(hot)}.", "Give the platens more power."
    needed_s = rig.needed_s(*hot)
    if hot == cold and problem.dwell_s is not None and needed_s > problem.dwell_s:
        return (
            f"A dwell of {problem.dwell_s:g} s is too short: at {_pair(hot)} at least {needed_s:.1f} s are needed.",
            f"Hold at least {ceil(needed_s)} s.",
        )
    if hot == cold and needed_s > problem.longest_dwell_s:
        return (
            f"At {_pair(hot)} a dwell of {needed_s:.1f} s is needed, longer than the {problem.longest_dwell_s:g} s allowed.",
            "Allow a longer dwell.",
        )
    if "near_damage" in keys and hot == cold:
        near_s = rig.near_damage_s(*hot, rig.dwell_s(*hot))
        return (
            f"At {_pair(hot)} a belt point is within {problem.near_damage_K:g} K of damage for {seconds(near_s)}, longer than {seconds(problem.longest_near_damage_s)}.",
            "Set the platens colder.",
        )
    return _by_time_alone(problem) or (
        f"No pair of set temperatures keeps every limit: at {_pair(cold)} the coldest point settles {cold_above_K:+.1f} K from fusion, at "
        f"{_pair(hot)} the hottest {-hot_below_K:+.1f} K from damage and {seconds(needed_s)} of dwell are needed.",
        OTHERWISE,
    )


def _by_time_alone(problem: Problem) -> tuple[str, str] | None:
    """The reason where one limit of time is all that stands against a recipe; None where it is not so."""
    near_K = problem.near_damage_K
    for changes, held, broken, otherwise in (
        ({"dwell_s": None}, "dwell", f"the dwell is given as {problem.dwell_s or 0:g} s", "Hold longer."),
        (
            {"longest_dwell_s": LONGEST_S}, "dwell", f"no dwell over {seconds(problem.longest_dwell_s)} is allowed",
            "Allow a longer dwell.",
        ),
        (
            {"longest_near_damage_s": LONGEST_S}, f"time within {near_K:g} K of damage",
            f"no more than {seconds(problem.longest_near_damage_s)} of that are allowed", "Allow it longer near damage.",
        ),
    ):  # fmt: skip
        changed = replace(problem, **changes)
        rig = Rig(changed, SEARCH_FINENESS)
        found = shortest(rig) if changed != problem else []
        if found:
            pair = found[0].upper_K, found[0].lower_K
            dwell_s = rig.dwell_s(*pair)
            there_s = dwell_s if held == "dwell" else rig.near_damage_s(*pair, dwell_s)
            return (
                f"The shortest cycle that keeps every other limit has {there_s:.1f} s of {held}, at {_pair(pair)}, but {broken}.",
                otherwise,
            )
    return None


def _join(problem: Problem, line: Lines, said: str, more: str) -> str:
    where = f" ({line.column.name})" if len(problem.columns) > 1 else ""
    return f"{said} {more}{where}".strip()


def _plain_reason(line: Lines, pair: tuple[float, float]) -> str:
    """What the plan as given, without allowances, is refused for; '' where only margins forbid it."""
    run, _ = fine_enough(line.plan(*pair), line.problem.error)
    found = refused(run)
    return found[0].reason if found else ""


def _pair(pair: tuple[float, float]) -> str:
    return f"{degC1(pair[0])} above and {degC1(pair[1])} below"


def _knobs(problem: Problem, works: Callable[[Problem], bool]) -> Iterator[Knob[Problem]]:
    """What a person fixed first; then ranges and times; then the press; margins and sureness, which make the joint safe,
    last."""
    upper, lower = problem.upper, problem.lower
    if problem.dwell_s is not None:
        free = Rig(replace(problem, dwell_s=None), SEARCH_FINENESS)
        needs_s = [free.needed_s(pair.upper_K, pair.lower_K) for pair in shortest(free)]
        if needs_s:
            yield Knob(
                problem.dwell_s, float(max(0, ceil(min(needs_s)))), 1.0,
                lambda x: f"Hold at least {x:.0f} s.", lambda x: replace(problem, dwell_s=x),
            )  # fmt: skip
    for sign, to in ((1, "up"), (-1, "down")):
        for name in ("upper", "lower"):
            side: Side = getattr(problem, name)
            fixed = side.lowest_K == side.highest_K
            now_K = side.highest_K if sign > 0 else side.lowest_K
            word = f"Set the {name} platen to" if fixed else f"Let the {name} platen be set {to} to"
            far_K = _as_far(problem, (name,), now_K, sign, works)
            if not problem.alike and far_K is not None:
                yield Knob(
                    now_K - ZERO_C_K, far_K - ZERO_C_K, 1.0,  # whole degrees Celsius
                    lambda x, word=word: f"{word} {degC1(x + ZERO_C_K)}.",  # type: ignore[misc]
                    lambda x, name=name, sign=sign, now_K=now_K: _moved(problem, (name,), x + ZERO_C_K - now_K, sign),  # type: ignore[misc]
                )  # fmt: skip
        fixed = upper.lowest_K == upper.highest_K and lower.lowest_K == lower.highest_K
        word = "Set the platens to" if fixed else f"Let the platens be set {to} to"
        edge = (lambda side: side.highest_K) if sign > 0 else (lambda side: side.lowest_K)
        by_K = _as_far(problem, ("upper", "lower"), 0.0, sign, works)
        if by_K is None:
            continue
        yield Knob(
            0.0, by_K, 1.0,
            lambda by, word=word, edge=edge: f"{word} {_pair((edge(upper) + by, edge(lower) + by))}.",  # type: ignore[misc]
            lambda by, sign=sign: _moved(problem, ("upper", "lower"), by, sign),  # type: ignore[misc]
        )  # fmt: skip
    for key, what in (("longest_dwell_s", "a dwell"), ("longest_near_damage_s", "near damage")):
        yield Knob(
            getattr(problem, key), LONGEST_S, 1.0,
            lambda x, what=what: f"Allow {seconds(x)} {'of dwell' if what == 'a dwell' else 'near damage'}.",  # type: ignore[misc]
            lambda x, key=key: replace(problem, **{key: x}),  # type: ignore[misc]
        )  # fmt: skip
    worst_K = max(upper.edge_deficit_K, lower.edge_deficit_K)
    if worst_K > 0:
        yield Knob(
            worst_K, 0.0, 0.5,
            lambda x: f"Take platens whose edges are no more than {x:.3g} K colder than the middle.",
            lambda x: problem.each(lambda side: replace(side, edge_deficit_K=min(side.edge_deficit_K, x))),
        )  # fmt: skip
    if any(side.platen.driven for side in (upper, lower)):
        yield Knob(
            0.0, 3.0, 0.01,
            lambda x: f"Give the platens {100 * x:.0f} % more power.",
            lambda x: problem.each(lambda side: side.stronger(1 + x)),
        )  # fmt: skip
    for key, what in (("below_damage_K", "below damage"), ("above_fusion_K", "above fusion")):
        yield Knob(
            getattr(problem, key), 0.0, 0.5,
            lambda x, what=what: f"Be content with {x:g} K {what}.",  # type: ignore[misc]
            lambda x, key=key: replace(problem, **{key: x}),  # type: ignore[misc]
        )  # fmt: skip
    yield Knob(
        problem.sure, 0.5, 0.01,
        lambda x: f"Be content to cover {100 * x:.0f} % of all joints.",
        lambda x: replace(problem, sure=x),
    )  # fmt: skip


def _moved(problem: Problem, names: tuple[str, ...], by_K: float, sign: int) -> Problem:
    """A fixed temperature moved, or a range widened at its hotter (sign 1) or colder end."""

    def side(name: str) -> Side:
        one: Side = getattr(problem, name)
        fixed = one.lowest_K == one.highest_K
        return replace(
            one,
            lowest_K=one.lowest_K + by_K if sign < 0 or fixed else one.lowest_K,
            highest_K=one.highest_K + by_K if sign > 0 or fixed else one.highest_K,
        )

    sides = {name: side(name) for name in names}
    return replace(problem, upper=sides.get("upper", problem.upper), lower=sides.get("lower", problem.lower))


def _as_far(
    problem: Problem, names: tuple[str, ...], from_K: float, sign: int, works: Callable[[Problem], bool]
) -> float | None:
    """How far a temperature is to be tried. A range is widened however far; what is fixed is moved only until it
    works, since further on it may not, and never beyond what may be set; None: it never works."""
    sides: list[Side] = [getattr(problem, name) for name in names]
    if not all(side.lowest_K == side.highest_K for side in sides):
        return from_K + sign * WIDER_K
    room_K = min(side.most_K - side.lowest_K if sign > 0 else side.lowest_K - side.least_K for side in sides)
    by_K = TRIED_K
    while by_K <= min(WIDER_K, room_K) + 1e-9:
        if works(_moved(problem, names, sign * by_K, sign)):
            return from_K + sign * by_K
        by_K += TRIED_K
    return None
