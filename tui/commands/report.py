"""`loopwright report FILE -o out.html`: the one-page report."""

from __future__ import annotations

import os
from pathlib import Path

import click

from tui.commands.options import a_path
from tui.commands.record_file import readable_lines, verdict_on
from tui.plain import plain


@click.command(
    "report",
    short_help="Write a session's one-page report.",
    epilog="Exit codes: 0 written; 1 written, and it says that the record is not in order; 2 no record, or bad input.",
)
@click.argument("file", type=a_path)
@click.option("-o", "--output", type=a_path, required=True, help="The HTML file to write.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@click.pass_context
def command(ctx: click.Context, /, file: Path, output: Path, force: bool) -> None:
    """One self-contained HTML page that prints well, with the predicted and the read curve."""
    from assistant.review.report import report_html

    _check_output(output, file, force)
    verdict = verdict_on(file)
    page = report_html(readable_lines(file), verdict)
    beside = output.with_name(f".{output.name}.{os.getpid()}")
    try:
        beside.unlink(missing_ok=True)  # never through a link that lies there
        with beside.open("x", encoding="utf-8") as draft:
            draft.write(page)
        beside.replace(output)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise click.ClickException(
            f"'{output}' cannot be written: {error.strerror}; name another file."
        ) from None
    click.echo(plain(f"Written: {output}"))
    ctx.exit(0 if verdict.ok else 1)


def _check_output(output: Path, record: Path, force: bool) -> None:
    """Raises: click.ClickException where writing would lose something or cannot be."""
    if output.is_dir() or not output.name:
        raise click.ClickException(f"'{output}' is a folder; name an HTML file in it.")
    if output.exists() and not output.is_file():
        raise click.ClickException(f"'{output}' is not an ordinary file; name an HTML file.")
    if output.exists() and record.exists() and output.samefile(record):
        raise click.ClickException(
            f"'{output}' is the record itself and is never written over; name another file."
        )
    if output.exists() and not force:
        raise click.ClickException(f"'{output}' is there already; name another file, or add --force.")
