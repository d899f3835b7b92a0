"""`loopwright review FILE`: the record told in plain words, then what departed from the plain course."""

from __future__ import annotations

from pathlib import Path

import click

from tui.commands.options import a_path
from tui.commands.record_file import readable_lines, verdict_on
from tui.plain import plain


@click.command(
    "review",
    short_help="Tell a session's record in plain words.",
    epilog="Exit codes: 0 told and in order; 1 told as far as it goes, but not in order; 2 no record, or bad input.",
)
@click.argument("file", type=a_path)
@click.pass_context
def command(ctx: click.Context, /, file: Path) -> None:
    """Who did what when, what was refused, what was out of limits, who confirmed what."""
    from assistant.review.deviations import departures
    from assistant.review.words import retell

    verdict = verdict_on(file)
    lines = readable_lines(file)
    if verdict.simulated:
        click.echo("SIMULATED: the press was a simulated one; this is no record of a joint.")
    for row in retell(lines):
        click.echo(plain(row))
    click.echo("\nWhat a supervisor should look at")
    found = departures(lines)
    for departure in found:
        click.echo(f"- line {departure.line_no}: {plain(departure.sentence)}")
    if not found:
        click.echo("- Nothing: no refusal, no reading out of limits, no gate asked twice.")
    click.echo("\nThe record")
    for sentence in (*verdict.sentences, *verdict.vouched):
        click.echo(f"- {plain(sentence)}")
    ctx.exit(0 if verdict.ok else 1)
