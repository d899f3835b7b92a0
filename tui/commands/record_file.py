"""A session's record as review, verify and report take it: as far as it can be read, and what verifying found."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from assistant.record.chain import Line
    from assistant.review.verify import Verdict


def verdict_on(
    path: Path,
    key: Path | None = None,
    code: str | None = None,
    head: str | None = None,
    *,
    history: Path | None = None,
    supervisor_key: Path | None = None,
) -> Verdict:
    """Raises: click.ClickException where not one line is a record's; KeyTrouble for a key that is none.

    key, history, supervisor_key: public key files.
    """
    from assistant.review.own import home_of
    from assistant.review.verify import verify

    public_key = supervisor = None
    if key is not None or supervisor_key is not None:
        from assistant.record.keys import known_keys, load_public_key

        public_key = None if key is None else known_keys(key, history)
        supervisor = None if supervisor_key is None else load_public_key(supervisor_key)
    # A key that was given comes from elsewhere, and is worth more than the one beside the records.
    home = home_of(path) if key is None else None
    verdict = verify(path, public_key, code=code, head=head, supervisor_key=supervisor, home=home)
    if not verdict.ok and verdict.lines == 0:
        told = " ".join(verdict.sentences)
        raise click.ClickException(told if str(path) in told else f"'{path}' is no session's record. {told}")
    return verdict


def readable_lines(path: Path) -> list[Line]:
    """The lines up to the first bad one."""
    from assistant.record.chain import BadLog
    from assistant.record.read import stream_log

    lines: list[Line] = []
    with suppress(BadLog):  # the verdict says which line, and why
        lines.extend(stream_log(path))
    return lines
