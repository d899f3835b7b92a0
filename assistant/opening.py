"""Opens a session: a new one, or one that was left. Joins rules, store, log and seal; knows no screen and no sound."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from pydantic import ValidationError

from assistant.bench.catalogue import Catalogue, load_catalogue, with_learned
from assistant.bench.learned import LearnedPress
from assistant.mouth import Mouth
from assistant.procedure import events as e
from assistant.procedure.events import Value
from assistant.procedure.load import load_procedure
from assistant.procedure.rules import KeptValues, Rules
from assistant.procedure.state import State
from assistant.record.append_signature import are_signed
from assistant.record.chain import Line, RecordError
from assistant.record.heads import BenchVoucher, mark_path, read_mark, standing
from assistant.record.keys import bench_key, earlier_keys
from assistant.record.log import LogWriter, Voucher
from assistant.record.opening_mark import mark_fits, marked, marked_with
from assistant.record.plain import plain
from assistant.record.recipe_book import KeptRecipe, RecipeBook
from assistant.record.seal import seal
from assistant.record.stamp import Clock, Stamp, SystemClock
from assistant.record.store import Store, session_id
from assistant.session import Session
from intents.phrasebook import Phrasebook, load_phrasebook


class NotBegun(RecordError):  # noqa: N818 - says what happened
    """The disk failed before the job sheet was on it."""


class NotTakenUp(RecordError):  # noqa: N818 - says what happened
    """The session cannot be taken up as it is."""


@dataclass(frozen=True)
class Bench:
    """What a session goes by, loaded once: rules, phrasebook and where the records are."""

    rules: Rules
    book: Phrasebook
    store: Store


def open_bench(folder: Path | None = None, callsign: str | None = None) -> Bench:
    """Everything packaged, and the works' own files in `<folder>/bench` and `<folder>/procedure` where they exist.

    Raises: BadData, BadProcedure, PhrasebookError, StoreTrouble; each one sentence.
    """
    store = Store(folder)
    own_bench, own_procedure = store.folder / "bench", store.folder / "procedure"
    catalogue = load_catalogue(own_bench if own_bench.is_dir() else None)
    loaded = load_procedure(own_procedure if own_procedure.is_dir() else None)
    book = load_phrasebook()
    digests = {"procedure": loaded.digest, "phrases": book.sha256, **dict(catalogue.digests)}
    return Bench(Rules(loaded.procedure, catalogue, digests, callsign), book, store)


def begin_session(
    bench: Bench,
    sheet: Mapping[str, Value],
    clock: Clock | None = None,
    mouth: Mouth | None = None,
    *,
    simulated: bool = False,
) -> Session:
    """A new session with its opening line on disk. `simulated`: the press and the clock are models. Raises: RecordError."""
    clock = SystemClock() if clock is None else clock
    stamp = clock.now()
    name = session_id(stamp.wall)
    opened = e.Opened(
        session=name, program="loopwright", version=program_version(), procedure=bench.rules.procedure.key,
        digests=dict(bench.rules.digests), simulated=simulated, previous_head=bench.store.previous_head(),
        learned={key: one.model_dump(mode="json") for key, one in bench.rules.catalogue.learned.items()},
        signed_appends=True,
    )  # fmt: skip
    opening = marked(opened.model_dump(mode="json"), bench_key(bench.store.folder))
    voucher = BenchVoucher(bench.store.folder, name)
    writer = LogWriter.create(bench.store.new_log(name), opening, stamp, voucher=voucher)
    rules, trouble = _with_kept_recipes(bench)
    session = Session(rules, bench.book, writer, clock, mouth, _Sealer(bench))
    session.begin(opened, sheet, stamp)
    if session.failed:
        # Nothing of the job is on disk; what would be taken up later is an empty one.
        writer.close()
        voucher.forget()
        with suppress(OSError):
            writer.path.unlink()
            writer.path.parent.rmdir()
        raise NotBegun(
            f"No session was begun: the record in {plain(bench.store.folder)} cannot be written, the disk is full "
            "or failing. Make room, or name another folder with --folder."
        )
    if trouble:
        session.note(trouble)
    return session


BEYOND_US = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError)
"""What an entry of another version, or of a type that no version writes, does to the fold and to what follows from it."""


def take_up_session(bench: Bench, name: str, mouth: Mouth | None = None) -> Session:
    """A session that was left, from its log; one that was closed and not sealed is only sealed.

    Raises: RecordError where it is busy, broken, finished or of other rules.
    """
    notes: list[str] = []

    def check(lines: Sequence[Line]) -> Voucher | None:
        _check_can_be_taken_up(bench, name, lines)
        notes.append(_check_standing(bench, name, lines))
        return BenchVoucher(bench.store.folder, name) if are_signed(lines[0]) else None

    writer = LogWriter.open_existing(bench.store.log_path(name), check=check)
    try:
        lines = writer.lines
        opened = e.parse_event(dict(lines[0].event))
        assert isinstance(opened, e.Opened)
        rules, trouble = _with_kept_recipes(bench)
        rules = replace(rules, catalogue=_as_it_was(rules.catalogue, opened))
        session = Session(rules, bench.book, writer, SystemClock(lines[-1].stamp), mouth, _Sealer(bench))
        session.take_up(lines, writer.torn.cut_bytes if writer.torn else 0, notes[0])
        if trouble:
            session.note(trouble)
    except BEYOND_US as error:
        writer.close()
        raise NotTakenUp(
            f"The session '{name}' holds an entry that this version of the program cannot follow "
            f"({type(error).__name__}). It stays as it is: read it with 'loopwright review', and begin a new one with --new."
        ) from error
    except BaseException:
        writer.close()
        raise
    return session


def _check_can_be_taken_up(bench: Bench, name: str, lines: Sequence[Line]) -> None:
    """Raises: NotTakenUp, KeyTrouble."""
    opened = e.parse_event(dict(lines[0].event))
    if not isinstance(opened, e.Opened):
        raise NotTakenUp(f"The session '{name}' does not begin with its opening line; it cannot be taken up.")
    if any(line.kind == "sealed" for line in lines):
        raise NotTakenUp(
            f"The session '{name}' is closed; begin a new one, or read it with 'loopwright review'."
        )
    if opened.simulated:
        raise NotTakenUp(
            f"The session '{name}' was SIMULATED: its press and clock are gone. Run the demo again."
        )
    if not _marked_here(bench.store.folder, lines[0]):
        raise NotTakenUp(
            f"The session '{name}' was not opened by this bench, or its opening line was changed; "
            "it cannot be taken up. Keep it as it is, and begin a new session."
        )
    if opened.session != name:
        raise NotTakenUp(
            f"The session '{name}' is a copy of the session '{plain(opened.session)[:60]}'; take up that one, "
            "or one joint would have two records."
        )
    if any(line.kind == "closed" for line in lines):
        return  # nothing is decided any more, it is only sealed
    for what, digest in opened.digests.items():
        if what == "learned" and opened.learned is not None:
            continue  # the opening line has the values themselves
        if bench.rules.digests.get(what) != digest:
            other = "learned constants" if what == "learned" else what
            raise NotTakenUp(
                f"The session '{name}' was begun with other {other}; put those files back, or begin a new session."
            )


def _check_standing(bench: Bench, name: str, lines: Sequence[Line]) -> str:
    """That nobody without the bench's key has written to the log, nor cut it. Returns: what is to be said of its mark.

    Raises: NotTakenUp, KeyTrouble.
    """
    folder = bench.store.folder
    found = standing(folder, lines, earlier_keys(folder), read_mark(mark_path(folder, name)))
    if found.fault:
        raise NotTakenUp(found.fault)
    return found.note


def _marked_here(folder: Path, opening: Line) -> bool:
    """Whether the bench's key, or one that it was handed over from by then, has marked it. Raises: KeyTrouble."""
    if mark_fits(opening.event, bench_key(folder).public_key()):
        return True
    keys = earlier_keys(folder)
    key = marked_with(opening.event, keys.earlier())
    return bool(key) and not keys.fault(key, opening.wall)


def _as_it_was(catalogue: Catalogue, opened: e.Opened) -> Catalogue:
    """The presses with what was known of them when the session began. Raises: NotTakenUp."""
    if opened.learned is None:
        return catalogue
    try:
        learned = {key: LearnedPress.model_validate(held) for key, held in opened.learned.items()}
    except ValidationError:
        raise NotTakenUp(
            f"The learned constants in the opening line of '{opened.session}' cannot be read; begin a new session."
        ) from None
    return with_learned(catalogue, learned)


def _with_kept_recipes(bench: Bench) -> tuple[Rules, str]:
    """The rules with the recipes of the book, newest first; and what is wrong with the book, '' for nothing."""
    try:
        book = RecipeBook(bench.store.recipes_folder).recipes()
    except RecordError as error:
        return bench.rules, f"No kept recipe is told: {error}"
    newest = sorted(book, key=lambda recipe: datetime.fromisoformat(recipe.kept), reverse=True)
    kept = tuple(KeptValues(r.name, r.belt, r.press, r.kept[:10], r.values) for r in newest)
    return (replace(bench.rules, kept_recipes=kept) if kept else bench.rules), ""


def program_version() -> str:
    try:
        return version("loopwright")
    except PackageNotFoundError:
        return "not installed"


@dataclass(frozen=True)
class _Sealer:
    """Keeps the recipe where it was asked for, signs the log, and says the code."""

    bench: Bench

    def __call__(self, writer: LogWriter, stamp: Stamp, state: State) -> str:
        said = ""
        if state.kept and state.closed in ("accepted", "accepted with a note"):
            said = self._keep(state, stamp)
        event = seal(writer, bench_key(self.bench.store.folder), stamp, simulated=state.simulated)
        mark = "SIMULATED, no joint. " if state.simulated else ""
        where = "" if state.simulated or state.closed == "stopped" else " Write it on the belt."
        return f"{said}{mark}The session is closed: {state.closed}. Seal code {event['code']}.{where}"

    def _keep(self, state: State, stamp: Stamp) -> str:
        """A recipe that can't be kept is told; the joint stands and is sealed all the same."""
        try:
            RecipeBook(self.bench.store.recipes_folder).keep(_kept(state, stamp), simulated=state.simulated)
        except RecordError as refused:
            return f"The recipe could not be kept as {state.kept}: {refused} "
        return f"The recipe is kept as {state.kept}. "


def _kept(state: State, stamp: Stamp) -> KeptRecipe:
    cycle = state.last_reading("cycle_time")
    outcome = state.closed
    assert outcome in ("accepted", "accepted with a note")
    return KeptRecipe(
        name=plain(state.kept or ""), belt=str(state.values["belt"]), press=str(state.values["press"]),
        template=str(state.values.get("template", "")),
        values={s: float(state.values[s]) for s in sorted(state.agreed)}, cycle_time_s=None if cycle is None else cycle.value,
        note=plain(state.note), technician=plain(state.technician or "unnamed"), kept=stamp.wall, session=state.session, outcome=outcome,
    )  # fmt: skip
