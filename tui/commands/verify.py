"""`loopwright verify FILE`: is this record as it was written, and what vouches for that?"""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from tui.commands.options import a_path, as_json, print_json
from tui.commands.record_file import verdict_on
from tui.plain import plain


@click.command(
    "verify",
    short_help="Check a session's record, and say what vouches for it.",
    epilog="Exit codes: 0 in order; 1 not in order, the first bad line is named; 2 no record at all, or bad input.",
)
@click.argument("file", type=a_path)
@click.option("--key", type=a_path, help="The bench's public key file, had from elsewhere.")
@click.option("--history", type=a_path, help="A later copy of that file, with the hand-overs to newer keys.")
@click.option("--supervisor-key", type=a_path, help="Public key file of who must have sealed it too.")
@click.option("--code", help="The seal code as written on the belt or told at the time.")
@click.option("--head", help="A digest of one of its lines, as kept elsewhere.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    file: Path,
    key: Path | None,
    history: Path | None,
    supervisor_key: Path | None,
    code: str | None,
    head: str | None,
    as_json: bool,
) -> None:
    """Checks a record from its first byte to its last."""
    if history is not None and key is None:
        raise click.UsageError("--history tells of keys before and after the one of --key: give that too.")
    verdict = verdict_on(file, key, code, head, history=history, supervisor_key=supervisor_key)
    if as_json:
        print_json(asdict(verdict))
    else:
        for sentence in (*verdict.sentences, *verdict.vouched):
            click.echo(plain(sentence))
    ctx.exit(0 if verdict.ok else 1)
