"""`loopwright statistics`: charts, signals and pass rates over the sessions of a folder."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import a_path, as_json, between, print_json
from tui.plain import plain

if TYPE_CHECKING:
    from assistant.review.over_sessions import Group, Measured

_ZERO_C_K = 273.15
_number = between(-1e12, 1e12)
_WORDS = {
    "cycle_time_s": "cycle time", "ramp_s": "ramp", "upper_reading_K": "upper platen at the end",
    "lower_reading_K": "lower platen at the end", "edge_reading_K": "belt's edge at the end",
}  # fmt: skip


def _count(given: str) -> float:
    number = between(0, 1_000_000)(given)
    if not number.is_integer():
        raise click.BadParameter(f"{given[:40]} is not a whole number.")
    return number


@click.command(
    "statistics",
    short_help="Charts and pass rates over many sessions.",
    epilog="Exit codes: 0 told; 1 there is nothing to tell, a chart signals or a press has drifted; 2 bad input.",
)
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@click.option("--belt", metavar="KEY", help="Only this belt.")
@click.option("--press", metavar="KEY", help="Only this press.")
@click.option("--all-rules", is_flag=True, help="All run rules; the usual two give few false alarms.")
@click.option("--values", metavar="LIST", help="Of these numbers in place of sessions: '49.6 47.6 51.3'.")
@click.option(
    "--file", type=a_path, help="Of the numbers in this text file, one a line, in place of sessions."
)
@click.option("--low", type=_number, help="Lowest that is right: gives Cpk.")
@click.option("--high", type=_number, help="Highest that is right: gives Cpk.")
@click.option("--mean", type=_number, help="In place of a list: its mean; with --sigma.")
@click.option("--sigma", type=between(0, 1e12), help="In place of a list: its spread, one sigma.")
@click.option(
    "--passed",
    type=_count,
    metavar="COUNT",
    help="Joints that passed; with --tried: pass rate and intervals.",
)
@click.option("--tried", type=_count, metavar="COUNT", help="Joints that were judged.")
@click.option(
    "--confidence", type=between(1, 99.999), default=95.0, show_default=True, help="Of the intervals, %."
)
@click.option("--exact-constants", is_flag=True, help="d2 and D4 exact, not rounded as tables print them.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    folder: Path | None,
    belt: str | None,
    press: str | None,
    all_rules: bool,
    exact_constants: bool,
    as_json: bool,
    **given: Any,
) -> None:
    """Per belt and press: individuals and moving-range chart of cycle time, ramp and last readings, with run rules;
    pass rate with its 95 % intervals (Wilson and exact); drift of a press in its latest session. Sessions on the simulated press are left out.

    Or of a list of numbers, or of joints passed and tried, without any session.
    """
    from assistant.review.statistics import RULES, USUAL_RULES
    from tui.commands.statistics_of_list import ASKED, tell

    rules = tuple(RULES) if all_rules else USUAL_RULES
    if any(given[name] is not None for name in ASKED):
        if folder is not None or belt is not None or press is not None:
            raise click.UsageError("Give numbers, or --folder, --belt and --press for sessions, not both.")
        ctx.exit(1 if tell(given, rules=rules, exact=exact_constants, as_json=as_json) else 0)
    from assistant.bench.bad_data import BadData
    from assistant.bench.catalogue import load_catalogue
    from assistant.record.chain import BadLog
    from assistant.record.read import read_log
    from assistant.record.store import Store
    from assistant.review.over_sessions import over_sessions
    from assistant.review.own import Home, keys_in, not_own
    from assistant.review.past_runs import drift_by_press
    from assistant.review.story import story_of

    if folder is not None and not folder.is_dir():
        raise BadData(f"There is no folder '{folder}'; check the name.")
    store = Store(folder)
    keys = keys_in(store.folder)
    stories, left_out = [], []
    for row in store.sessions():
        try:
            lines = read_log(store.log_path(row.session))
        except BadLog as bad:
            left_out.append(f"{row.session}: {bad}")
            continue
        if keys is not None and (strange := not_own(lines, Home(row.session, keys))):
            left_out.append(f"{row.session}: {strange}")
        else:
            stories.append(story_of(lines))
    if keys is None and stories:
        left_out.append("nothing, but no bench's key lies there: whose records these are, nothing shows.")
    groups = [
        group
        for group in over_sessions(stories, rules)
        if belt in (None, group.belt) and press in (None, group.press)
    ]
    own = store.folder / "bench"
    drift = drift_by_press(
        [store.log_path(row.session) for row in store.sessions()],
        sorted({group.press for group in groups}),
        load_catalogue(own if own.is_dir() else None, planning=True),
        keys,
    )
    if as_json:
        print_json({"groups": [asdict(group) for group in groups], "drift": drift, "left_out": left_out})
    else:
        for group in groups:
            _print(group)
        for key, sentences in drift.items():
            for sentence in sentences:
                click.echo(plain(f"DRIFT of {key}: {sentence}"))
        for sentence in left_out:
            click.echo(plain(f"Left out: {sentence}"))
        if not groups:
            click.echo("There are no sessions of real joints yet.")
    signalled = bool(drift) or any(measured.signals for group in groups for measured in group.measured)
    ctx.exit(1 if signalled or not groups else 0)


def _print(group: Group) -> None:
    joint = plain(f"{group.belt} on {group.press}")  # as the logs have it
    click.echo(f"{joint}: {group.sessions} session{'s' if group.sessions != 1 else ''}")
    if group.rate is not None:
        low, high = group.rate.wilson
        click.echo(
            f"  accepted {group.rate.passed} of {group.rate.tried}, {100 * group.rate.rate:.0f} % (95 %: {100 * low:.0f} % to {100 * high:.0f} %)"
        )
    for measured in group.measured:
        _print_measured(measured)


def _print_measured(measured: Measured) -> None:
    made = measured.chart
    shift, unit = (_ZERO_C_K, "°C") if measured.name.endswith("_K") else (0.0, "s")
    limits = (
        "one point, no limits"
        if made.low is None or made.high is None
        else "no spread recorded"
        if made.flat
        else f"limits {made.low - shift:.0f} to {made.high - shift:.0f}{', provisional' if made.provisional else ''}"
    )
    click.echo(f"  {_WORDS[measured.name]:<26}{made.centre - shift:>7.0f} {unit}, {limits}")
    for signal in measured.signals:
        click.echo(
            f"    SIGNAL at {plain(measured.sessions[signal.at])}: {made.points[signal.at] - shift:.0f} {unit}, {signal.words}"
        )
