"""`loopwright talk`: the conversation on standard input and output."""

from __future__ import annotations

import sys
from typing import Any

import click

from tui.commands.options import choice_from, session_options


@click.command(
    "talk",
    short_help="The conversation line by line, without a screen.",
    epilog="Exit codes: 0 the job is finished; 2 bad input; 3 left, can be taken up again, or finished and not "
    "sealed; 130 interrupted.",
)
@session_options
@click.pass_context
def command(ctx: click.Context, /, **given: Any) -> None:
    """The same conversation as on the bench screen, line by line, in real time.

    Plain text for ssh, pipes and screen readers. The end of the input leaves the session; it can be taken up again.
    """
    from tui.compose import open_port
    from tui.talk import run_talk

    port = open_port(choice_from(**given))
    try:
        ctx.exit(run_talk(port, sys.stdin, sys.stdout))
    finally:
        port.close()
