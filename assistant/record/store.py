"""Where sessions live: one folder each with its log, under one data folder; which is open, which came last.

<data folder>/sessions/<session id>/log.jsonl
<data folder>/heads/<session id>
<data folder>/recipes/, bench.key, bench.pub, index.sqlite
"""

from __future__ import annotations

import re
import secrets
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from assistant.record.chain import FIRST_PREV, RecordError
from assistant.record.index import SessionRow, rows, whole_appends
from assistant.record.log import sync_folder
from assistant.record.plain import plain

LOG_NAME = "log.jsonl"
_SESSION_ID = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,58}[a-z0-9])?")


class StoreTrouble(RecordError):  # noqa: N818 - says what happened
    """The data folder or a session's name cannot be used."""


def default_folder() -> Path:
    """The user's own data folder for this program."""
    import platformdirs  # late: only where no folder is given

    return platformdirs.user_data_path("loopwright", appauthor=False)


def session_id(wall: str) -> str:
    """A new name such as '2026-11-25-1405-a1b2' from the wall time (ISO 8601) of opening."""
    return f"{datetime.fromisoformat(wall):%Y-%m-%d-%H%M}-{secrets.token_hex(2)}"


class Store:
    """The sessions of one data folder, made if it is not there. Raises: StoreTrouble."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = default_folder() if folder is None else folder
        try:
            self.sessions_folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            raise StoreTrouble(
                f"The folder {plain(self.folder)} cannot be used for the record: {reason}. Give another with --folder."
            ) from error

    @property
    def sessions_folder(self) -> Path:
        return self.folder / "sessions"

    @property
    def recipes_folder(self) -> Path:
        return self.folder / "recipes"

    def new_log(self, session: str) -> Path:
        """Path of the log of a session to be; its folder is made, the log is not.

        Raises: StoreTrouble for a name that could leave the folder, one that is taken, a failing disk.
        """
        path = self.log_path(session)
        try:
            path.parent.mkdir(mode=0o700)
            sync_folder(self.sessions_folder)
        except FileExistsError as error:
            raise StoreTrouble(
                f"There is already a session '{session}'; take it up or choose another name."
            ) from error
        except OSError as error:
            raise StoreTrouble(
                f"The session's folder {plain(path.parent)} cannot be made: {error.strerror}. "
                "Check the disk and the rights on the folder."
            ) from error
        return path

    def log_path(self, session: str) -> Path:
        """Where the log of that session is or would be.

        Raises: StoreTrouble for a name that is none, or a link that would lead out of the folder.
        """
        if not _SESSION_ID.fullmatch(session):
            raise StoreTrouble(
                "A session's name has small letters a to z, digits and hyphens, at most 60; "
                f"{ascii(session)[:40]} is none."
            )
        if self._is_linked(session):
            raise StoreTrouble(
                f"The session '{session}' is a link to another place and is not used; put the log itself there."
            )
        return self.sessions_folder / session / LOG_NAME

    def _is_linked(self, session: str) -> bool:
        folder = self.sessions_folder / session
        return folder.is_symlink() or (folder / LOG_NAME).is_symlink()

    def sessions(self) -> tuple[SessionRow, ...]:
        """All sessions, newest first, from the index brought up to date with the files."""
        return rows(self.folder / "index.sqlite", self._logs())

    def unfinished(self) -> SessionRow | None:
        """The newest session whose log is in order and has no seal yet; None if there is none.

        It is not closed, or the power or the disk failed between its closing line and its seal. One that another
        hand has changed or cut is not in order.
        """
        return next(
            (row for row in self.sessions() if not row.trouble and not row.code and not self._fault(row)),
            None,
        )

    def newest_in_disorder(self) -> SessionRow | None:
        """The newest session, if its log cannot be taken up; None if it can, or was closed, or there is none."""
        newest = next(iter(self.sessions()), None)
        if newest is None or newest.trouble or newest.code:
            return newest if newest is not None and newest.trouble else None
        return replace(newest, trouble=fault) if (fault := self._fault(newest)) else None

    def _fault(self, row: SessionRow) -> str:
        """Why a session that this bench began is not as it left it, a sentence; '' for one that is, or of another bench."""
        from assistant.record.heads import (
            mark_path,
            read_mark,
            standing,
        )  # late: cryptography is slow to import
        from assistant.record.keys import PRIVATE_NAME, earlier_keys

        if not (self.folder / PRIVATE_NAME).exists():
            return ""
        try:
            mark = read_mark(mark_path(self.folder, row.session))  # first, for the log may grow meanwhile
            return standing(self.folder, whole_appends(Path(row.path)), earlier_keys(self.folder), mark).fault
        except RecordError:
            return ""  # told when it is taken up

    def previous_head(self) -> str | None:
        """Head digest of the newest session, for the next one's opening line: so that it leaves its own file."""
        newest = next((row for row in self.sessions() if not row.trouble), None)
        return None if newest is None or newest.head == FIRST_PREV else newest.head

    def _logs(self) -> dict[str, Path]:
        names = (path.name for path in self.sessions_folder.iterdir() if _SESSION_ID.fullmatch(path.name))
        found = (name for name in names if not self._is_linked(name))
        return {name: path for name in found if (path := self.log_path(name)).exists()}
