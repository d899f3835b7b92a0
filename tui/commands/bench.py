"""`loopwright` alone: the bench screen on a session."""

from __future__ import annotations

import os
import sys

import click

from tui.choice import Choice
from tui.leaving import of_the_record
from tui.plain import plain


def open_bench(choice: Choice) -> int:
    """Shows the session until the technician leaves.

    Returns: 0 when the job is finished, 3 when it was left or its record has no seal. Raises: what the session or the screen raised.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise click.UsageError("The bench screen needs a terminal; use 'loopwright talk' with pipes.")
    if os.environ.get("TERM", "dumb") in ("", "dumb"):
        raise click.UsageError("This terminal cannot draw a screen (TERM=dumb); use 'loopwright talk'.")
    from tui.bench import BenchApp
    from tui.compose import open_port

    port = open_port(choice)
    try:
        app = BenchApp(port)
        app.run()
        view = port.view()
    finally:
        port.close()
    if app.failure is not None:
        raise app.failure
    if view.finished:
        click.echo(plain(view.finished))
        if not view.unrecorded:
            return 0
    if view.unrecorded:
        click.echo(f"Left. The record is on disk: {plain(view.log_path)}; {of_the_record(view)}")
        return 3
    click.echo(f"Left. The record is on disk: {plain(view.log_path)}. 'loopwright' takes this job up again.")
    return 3
