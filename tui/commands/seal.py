"""`loopwright seal SESSION`: a supervisor's own seal on a finished session, after the bench's."""

from __future__ import annotations

from pathlib import Path

import click

from tui.commands.options import a_path, as_json, print_json
from tui.commands.passphrase import passphrase, passphrase_file
from tui.commands.record_file import verdict_on
from tui.plain import plain


@click.command(
    "seal",
    short_help="Seal a finished session as its supervisor.",
    epilog="Exit codes: 0 sealed; 1 the record is not in order, and nothing was sealed; 2 bad input: unfinished, "
    "sealed already, a wrong key or passphrase.",
)
@click.argument("session")
@click.option(
    "--as", "name", required=True, metavar="NAME", help="Who you are, as it shall stand in the record."
)
@click.option("--key", type=a_path, required=True, help="Your own key, as 'keys new' has made it.")
@passphrase_file
@click.option("--bench-key", type=a_path, help="The bench's public key: seal only what it has sealed.")
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    session: str,
    name: str,
    key: Path,
    passphrase_file: Path | None,
    bench_key: Path | None,
    folder: Path | None,
    as_json: bool,
) -> None:
    """Signs the record of SESSION, a session's name or a log file, as it stands, with your own key.

    It says that you had this record before you then, and that nothing in it has changed since; look at it
    first: 'loopwright review', 'loopwright verify'.
    """
    from assistant.record.chain import BadLog
    from assistant.record.own_key import PassphraseWanted, own_key
    from assistant.record.seal import counter_seal

    path = _log(session, folder)
    try:
        own = own_key(key) if passphrase_file is None else own_key(key, passphrase(passphrase_file))
    except PassphraseWanted:
        own = own_key(key, passphrase(None))
    try:
        line = counter_seal(path, own, name, check=lambda: _check(ctx, path, bench_key))
    except BadLog:
        _check(ctx, path, bench_key)
        raise
    one = verdict_on(path).counter_seals[-1]
    if as_json:
        print_json({"file": str(path), "line": one.line, "name": one.name, "head": line.digest, "code": one.code,
                    "fingerprint": one.key_fingerprint, "sealed": one.wall})  # fmt: skip
        return
    click.echo(
        f"Sealed by {plain(one.name)} in line {one.line} of {plain(str(path))}, with the key {one.key_fingerprint}."
    )
    click.echo(f"Seal code {one.code}: note it where nobody at the bench can change it.")


def _log(session: str, folder: Path | None) -> Path:
    """Raises: StoreTrouble, click.ClickException."""
    from assistant.record.store import Store

    if "/" in session or Path(session).is_file():
        return Path(session)
    path = Store(folder).log_path(session)
    if not path.exists():
        raise click.ClickException(f"There is no session '{session}'; give its name or its log file.")
    return path


def _check(ctx: click.Context, path: Path, bench_key: Path | None) -> None:
    """Ends the command where the record is not in order."""
    verdict = verdict_on(path)  # of the bench in whose records it lies, not a copy
    if verdict.ok and bench_key is not None:
        verdict = verdict_on(path, bench_key)
    if not verdict.ok:
        for sentence in verdict.sentences:
            click.echo(f"Not sealed. {plain(sentence)}")
        ctx.exit(1)
