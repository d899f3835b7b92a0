"""The index of many sessions: SQLite, read again from any log that has changed, thrown away when in doubt.

The files are the truth. Nothing is in the index that is not in a log.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import astuple, dataclass, replace
from itertools import count as counting
from pathlib import Path
from typing import Any

from assistant.record.chain import FIRST_PREV, BadLog, Line
from assistant.record.plain import plain
from assistant.record.read import cannot, check_is_log_file, lines_with_lengths
from assistant.record.stamp import instant_s

_COLUMNS = "session, path, size, changed_ns, opened, technician, belt, press, outcome, count, head, code, simulated, trouble"


_MOST_STEPS = (
    100  # times 100,000 instructions of SQLite's, about a second; ten thousand sessions take a tenth
)
_TYPES = (str, str, int, int, str, str, str, str, str, int, str, str, int, str)


@dataclass(frozen=True)
class SessionRow:
    """What one log says of itself. belt, press: keys. outcome '': not closed. code '': not sealed.

    Only whole appends count: what a crash tore, or is being written now, is not yet said, and no trouble.
    trouble: why the log cannot be read to its end; the other fields then hold what came before.
    """

    session: str
    path: str
    size: int
    changed_ns: int
    opened: str  # wall time
    technician: str
    belt: str
    press: str
    outcome: str
    count: int
    head: str
    code: str
    simulated: bool
    trouble: str


def rows(index: Path, logs: Mapping[str, Path]) -> tuple[SessionRow, ...]:
    """One row a log, newest opening first. Writes the index anew where it is missing, damaged or of another shape."""
    try:
        return _refreshed(index, logs)
    except (sqlite3.Error, UnicodeDecodeError):
        try:
            index.unlink(missing_ok=True)
            return _refreshed(index, logs)
        except (sqlite3.Error, OSError):
            # A folder that cannot be written to is no reason not to show what is in it.
            return _newest_first([_read(name, path) for name, path in logs.items()])


def _refreshed(index: Path, logs: Mapping[str, Path]) -> tuple[SessionRow, ...]:
    if index.is_symlink() or (index.exists() and not index.is_file()):
        raise sqlite3.DatabaseError("what lies there, or where it leads to, is no index of ours")
    with closing(sqlite3.connect(index, timeout=5)) as base, base:
        steps = counting()  # a stranger's index may hold a query without end in the table's place
        base.set_progress_handler(lambda: next(steps) > _MOST_STEPS, 100_000)
        base.execute(f"CREATE TABLE IF NOT EXISTS session ({_COLUMNS}, PRIMARY KEY (session))")
        known = {row.session: row for row in map(_row, base.execute(f"SELECT {_COLUMNS} FROM session"))}
        fresh = []
        for name, path in logs.items():
            stat, old = path.stat(), known.get(name)
            same = old and (old.path, old.size, old.changed_ns) == (str(path), stat.st_size, stat.st_mtime_ns)
            fresh.append(old if old and same else _read(name, path))
        base.execute("DELETE FROM session")
        base.executemany(
            f"INSERT INTO session ({_COLUMNS}) VALUES ({', '.join('?' * len(_COLUMNS.split(',')))})",
            map(astuple, fresh),
        )
    return _newest_first(fresh)


def _row(values: tuple[Any, ...]) -> SessionRow:
    row = SessionRow(*values)
    if tuple(map(type, values)) != _TYPES:  # SQLite puts anything into any column
        raise sqlite3.DataError("a column holds what it never does")
    return replace(row, simulated=bool(row.simulated))  # SQLite knows no booleans


def _newest_first(found: list[SessionRow]) -> tuple[SessionRow, ...]:
    return tuple(sorted(found, key=lambda row: (instant_s(row.opened), row.session), reverse=True))


def _read(name: str, path: Path) -> SessionRow:
    stat = path.stat()
    opened, outcome, code, head, trouble, count, simulated = "", "", "", FIRST_PREV, "", 0, False
    values = {"technician": "", "belt": "", "press": ""}
    try:
        for line in whole_appends(path):
            count, head = count + 1, line.digest
            match line.event:
                case {"kind": "opened"}:
                    opened, simulated = line.stamp.wall, bool(line.event.get("simulated"))
                    if line.event.get("session") != name:
                        trouble = f"It is a copy of the session '{plain(line.event.get('session'))[:60]}'."
                case {"kind": "value_taken", "slot": str(slot), "value": value} if slot in values:
                    values[slot] = str(value)
                case {"kind": "handed_over", "taker": taker}:
                    values["technician"] = str(taker)
                case {"kind": "closed"}:
                    outcome = str(line.event.get("outcome", "closed"))
                case {"kind": "sealed", "by": "bench"}:
                    code = str(line.event.get("code", ""))
        if not count:
            trouble = "It has no whole opening line."
    except BadLog as error:
        trouble = str(error)
    return SessionRow(
        name, str(path), stat.st_size, stat.st_mtime_ns, opened, values["technician"], values["belt"],
        values["press"], outcome, count, head, code, simulated, trouble,
    )  # fmt: skip


def whole_appends(path: Path) -> Iterator[Line]:
    """The lines that opening the log would keep. Raises: BadLog."""
    check_is_log_file(path)
    append: list[Line] = []
    try:
        with path.open("rb") as file:
            for line, _ in lines_with_lengths(file, stop_at_torn=True):
                append.append(line)
                if line.left == 0:
                    yield from append
                    append.clear()
    except OSError as error:
        raise BadLog(0, cannot("read", path, error)) from error
