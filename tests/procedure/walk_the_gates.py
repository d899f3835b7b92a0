"""A million steps against the gates: `python tests/procedure/walk_the_gates.py --steps 1000000`.

The same walks as `test_gate_machine`, chosen at random from a seed and without hypothesis, which is many times
quicker. Prints what was reached and attacked; exit code 1 with the seed of every walk that broke a rule, and
where a gate was reached or attacked too seldom. `--walk SEED` takes one walk again; `--processes 2` shares the
walks between two, with seeds of their own. Ctrl-C ends it with the table of what was walked so far.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

import at_the_press as press  # noqa: E402
import gate_walk  # noqa: E402
from edited_procedure import EDITS  # noqa: E402
from gate_model import TABLE  # noqa: E402
from gate_talk import ATTACKS, MOVES, QUESTIONS, VALUES  # noqa: E402
from gate_walk import Walk, scrambled  # noqa: E402

from assistant.bench.job import Job  # noqa: E402
from assistant.recipe.causes_of_readings import Weighed  # noqa: E402
from assistant.recipe.outcome import Given, Infeasible, Recipe  # noqa: E402
from assistant.recipe.refused import Refused  # noqa: E402

FORGERIES = ("replayed", "closings replayed", "left out", "swapped", "spliced", "altered")
LENGTH = 80
SEEDS_APART = 10_000_000
Step = Callable[[Walk, random.Random], object]


def edits(draw: random.Random) -> list[tuple[str, int, int]]:
    return [
        (draw.choice(EDITS), draw.randrange(1000), draw.randrange(1000)) for _ in range(draw.randint(1, 3))
    ]


STEPS: tuple[tuple[int, str, Step], ...] = (
    (30, "as it should be", lambda w, d: w.as_it_should_be(d.randint(1, 3))),
    (50, "attack", lambda w, d: w.attack(d.choice(ATTACKS), d.randrange(1000), d.random() < 0.5)),
    (12, "sentence", lambda w, d: w.say_the_sentence(d.random() < 0.5, d.random() < 0.3)),
    (4, "nearly heard", lambda w, d: w.nearly_heard(d.randrange(1000), clear=d.random() < 0.8)),
    (6, "false readings", lambda w, d: w.false_readings(d.randrange(1000), d.random() < 0.7)),
    (20, "question", lambda w, d: w.ask(d.choice(QUESTIONS), d.random() < 0.5)),
    (30, "move", lambda w, d: w.say(d.choice(MOVES), d.random() < 0.5, d.random() < 0.5)),
    (3, "hand-over", lambda w, d: w.say("hand over to anna", d.random() < 0.5, confirmed=True)),
    (6, "back", lambda w, _: w.say("go back", aloud=False, confirmed=False)),
    (30, "value", lambda w, d: w.tell_a_value(d.choice(VALUES), d.random() < 0.5)),
    (8, "key", lambda w, _: w.press_the_key()),
    (12, "time", lambda w, d: w.time_passes(d.choice((0.2, 5.0, 29.0, 61.0, 400.0, 3000.0)))),
    (6, "clock", lambda w, d: w.clock_jumps(d.choice((-86400, -3600, 0, 3600)), d.choice((-8, 0, 700)))),
    (2, "killed", lambda w, d: w.power_cut(d.choice((1.0, 90.0, 7200.0)), restarted=False)),
    (1, "restarted", lambda w, d: w.power_cut(d.choice((-900.0, 5.0, 90.0, 7200.0)), restarted=True)),
    (1, "torn append", lambda w, d: w.killed_while_writing(d.choice((*MOVES, *VALUES)), d.random())),
    (1, "forged log", lambda w, d: w.forged(d.choice(FORGERIES), d.randrange(10**6))),
    (1, "edited procedure", lambda w, d: w.edited_procedure(edits(d))),
    (15, "any words", lambda w, d: w.chatter(scrambled(d), d.choice(("typed", "voice")), d.random() < 0.7)),
)  # fmt: skip
# Asked of few jobs or closed at the next word: attacked more while they are open, so that all are attacked enough.
RARE = frozenset(("lifting", "values_agree", "guards", "own_lock", "cold_inside", "closed"))
_CHANCES = [chance for chance, _, _ in STEPS]
_AT_A_RARE_GATE = [200 if name == "attack" else chance for chance, name, _ in STEPS]


_recipes: dict[tuple[str, Given], Recipe | Infeasible] = {}


def quicken(put: Callable[[object, str, object], None] = setattr, *, weigh: bool) -> None:
    """Each recipe is computed once, because every other walk wants it again. weigh: also compute what a bad
    reading may come of, and what change would help where a value is refused: half of the time, words only,
    and opens nothing. put: how it is put in place; of pytest the one that takes it away again."""
    from assistant.recipe import during, recipe

    def not_weighed(_job: Job, _recipe: Recipe, _line: object, readings: tuple[object, ...]) -> Weighed:
        return Weighed(len(readings), 0.0, 1.0, ())

    def not_sought(_job: Job, _given: Given, _sure: float, refused: Refused) -> str:
        return refused.infeasible.nearest_change

    if not weigh:
        put(during, "weighed_quickly", not_weighed)
        put(recipe, "nearest_change", not_sought)

    compute = recipe.compute_recipe

    def remembered(job: Job, given: Given) -> Recipe | Infeasible:
        key = (job.model_dump_json(), given)
        if key not in _recipes:
            _recipes[key] = compute(job, given)
        return _recipes[key]

    put(recipe, "compute_recipe", remembered)


@dataclass
class Found:
    """What walks have come to. seen: by gate and what was done to it; kinds: steps of each kind."""

    steps: int = 0
    inputs: int = 0
    walks: int = 0
    seconds: float = 0.0
    seen: Counter[tuple[str, str]] = field(default_factory=Counter)
    kinds: Counter[str] = field(default_factory=Counter)
    violations: list[str] = field(default_factory=list)
    cut_short: bool = False

    def with_others(self, others: Iterable[Found]) -> Found:
        """All of it together; the seconds are those of the longest, since they walked side by side."""
        whole = Found(self.steps, self.inputs, self.walks, self.seconds, self.seen.copy(), self.kinds.copy())
        whole.violations, whole.cut_short = [*self.violations], self.cut_short
        for other in others:
            whole.steps, whole.inputs = whole.steps + other.steps, whole.inputs + other.inputs
            whole.walks, whole.seconds = whole.walks + other.walks, max(whole.seconds, other.seconds)
            whole.seen, whole.kinds = whole.seen + other.seen, whole.kinds + other.kinds
            whole.violations += other.violations
            whole.cut_short |= other.cut_short
        return whole


def one_walk(path: Path, seed: int, length: int, found: Found) -> None:
    """One walk of at most `length` steps, all of it from the seed. Raises: AssertionError where a rule is broken."""
    draw, walk = random.Random(seed), Walk(path)
    gates = (*TABLE, None, None)
    near = gates[seed % len(gates)]
    if near is None:
        job = draw.choice(sorted(press.JOBS))
        walk.begin(job, draw.randrange(len(press.ends(job))))
    else:
        walk.begin_near(near, draw.randrange(100), draw.randrange(3))
    try:
        for _ in range(length):
            if walk.over:
                break
            asked = walk.gate()
            _, name, step = draw.choices(
                STEPS, _AT_A_RARE_GATE if asked is not None and asked[0] in RARE else _CHANCES
            )[0]
            if name in ("attack", "sentence", "nearly heard") and asked is None:
                continue
            found.steps += 1
            found.kinds[name] += 1
            step(walk, draw)
            walk.nothing_is_broken()
        walk.end()
    finally:
        found.inputs += walk.inputs
        walk.session.writer.close()


def walks_of(steps: int, seed: int, length: int = LENGTH, told: float = float("inf")) -> Found:
    """Walks until so many steps are taken; the seeds follow each other from `seed`. Every broken rule is kept."""
    found, begun, said = Found(), time.monotonic(), 0.0
    gate_walk.seen.clear()
    with tempfile.TemporaryDirectory(dir=press.ram_folder()) as folder:
        path = Path(folder) / "log.jsonl"
        while found.steps < steps:
            one = seed + found.walks
            found.walks += 1
            try:
                one_walk(path, one, length, found)
            except KeyboardInterrupt:
                found.cut_short = True
                break
            except Exception:
                found.violations.append(f"walk {one}: {traceback.format_exc(limit=-4)}")
                if told < float("inf"):
                    print(found.violations[-1], flush=True)
            found.seconds = time.monotonic() - begun
            if found.seconds - said > told:
                said = found.seconds
                print(
                    f"from {seed}: {found.steps} steps, {found.walks} walks, {len(found.violations)} violations, "
                    f"{found.steps / found.seconds:.0f} steps/s",
                    flush=True,
                )
    found.seen = gate_walk.seen.copy()
    return found


def _share(steps: int, seed: int, length: int, *, weigh: bool) -> Found:
    quicken(weigh=weigh)
    return walks_of(steps, seed, length, told=60.0)


def side_by_side(processes: int, steps: int, seed: int, length: int, *, weigh: bool) -> Found:
    """The walks shared between so many processes, whose seeds lie far apart."""
    if processes == 1:
        return _share(steps, seed, length, weigh=weigh)
    with ProcessPoolExecutor(processes) as pool:
        each = -(-steps // processes)
        shares = [
            pool.submit(_share, each, seed + n * SEEDS_APART, length, weigh=weigh) for n in range(processes)
        ]
        return Found().with_others(share.result() for share in shares)


def table(found: Found) -> str:
    """What was reached and attacked, a line for each gate."""
    lines = [f"{'gate':<16}{'reached':>9}{'attacked':>9}{'least tried way':>24}{'closed':>8}"]
    for gate in TABLE:
        tried = {how: found.seen[gate, how] for how in (*ATTACKS, "false readings")}
        least = min(ATTACKS, key=lambda how: tried[how])
        lines.append(
            f"{gate:<16}{found.seen[gate, 'reached']:>9}{sum(tried.values()):>9}"
            f"{least + ' ' + str(tried[least]):>24}{found.seen[gate, 'closed']:>8}"
        )
    kinds = ", ".join(f"{name} {count}" for name, count in found.kinds.most_common())
    refused, accepted = found.seen["", "edited and refused"], found.seen["", "edited and accepted"]
    return "\n".join([
        *lines, f"steps: {kinds}", f"forged logs refused: {found.seen['', 'forged']}",
        f"edited procedures refused: {refused}, accepted and passing by no gate: {accepted}",
    ])  # fmt: skip


def seldom(found: Found) -> list[str]:
    """Gates that were reached or attacked too seldom for so many steps to prove anything."""
    wanted = found.steps // 5000
    return [
        f"{gate} was tried by '{how}' only {found.seen[gate, how]} times"
        for gate in TABLE
        for how in (*ATTACKS, "reached", "closed")
        if found.seen[gate, how] < wanted
    ]


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--steps", type=int, default=1_000_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--length", type=int, default=LENGTH)
    asked.add_argument("--walk", type=int, help="take this one walk again")
    asked.add_argument("--processes", type=int, default=1, choices=range(1, 9))
    asked.add_argument("--weigh", action="store_true", help="also what a bad reading may come of; slower")
    given = asked.parse_args()
    if given.walk is not None:
        quicken(weigh=given.weigh)
        with tempfile.TemporaryDirectory(dir=press.ram_folder()) as folder:
            one_walk(Path(folder) / "log.jsonl", given.walk, given.length, Found())
        return 0
    found = side_by_side(given.processes, given.steps, given.seed, given.length, weigh=given.weigh)
    print(
        f"{found.steps} steps ({found.inputs} inputs) in {found.walks} walks, {found.seconds:.0f} s, "
        f"{found.steps / found.seconds:.0f} steps/s, {len(found.violations)} violations"
    )
    print(table(found))
    rare = seldom(found)
    print("\n".join(rare))
    return 1 if rare or found.violations or found.cut_short else 0


if __name__ == "__main__":
    sys.exit(main())
