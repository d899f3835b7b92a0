"""`loopwright procedure`: the stages, acts and gates of a procedure, as an outline or a graph; and the search through it."""

from __future__ import annotations

import itertools
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.commands.options import a_path, as_json, print_json

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from assistant.procedure.graph import Traits
    from assistant.procedure.model import Act, Gate, Procedure, Stage

_WIDTH = 100
_WORDS = {
    "person": "another person takes over",
    "resume": "the session is taken up again",
    "back": "going back",
    "each": "each time",
    "unfastened": "the press is opened",
    "value_changed": "a value changes",
    "hotter_reading": "a hotter reading",
    "reconnect": "it is connected again",
}


@click.command(
    "procedure",
    short_help="Stages, acts and gates, and what arms each gate again; searched.",
    epilog="Exit codes: 0 printed, or the search found nothing wrong; 1 it did; 2 bad input.",
)
@click.argument("folder", type=a_path, required=False)
@click.option(
    "--traits",
    multiple=True,
    metavar="NAME=VALUE",
    help="Only what a job with this trait has, such as cooling=water; can be given again.",
)
@click.option("--graph", is_flag=True, help="As a graph, in Graphviz' language (DOT).")
@click.option("--check", is_flag=True, help="Search every state that any job can come to. Takes a minute.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    folder: Path | None,
    traits: tuple[str, ...],
    graph: bool,
    check: bool,
    as_json: bool,
) -> None:
    """The packaged procedure, or that of a works with its own files in FOLDER, which is checked first.

    --check follows every way that a job can take, through every order of gates opened again, for all traits
    or those given: no act without its gates, no dead end, a safe place to stop within reach from everywhere.
    """
    from assistant.procedure.load import BadProcedure, load_procedure

    if graph and (check or as_json):
        raise click.UsageError("Take --graph alone, or --check and --json without it.")
    wanted = _wanted(traits)
    try:
        procedure = load_procedure(folder).procedure
    except BadProcedure as error:
        raise click.UsageError(str(error)) from None
    if check:
        ctx.exit(_check(procedure, wanted, as_json))
    if as_json:
        print_json(_listed(procedure, wanted))
    else:
        for line in _dot(procedure, wanted) if graph else _outline(procedure, wanted):
            click.echo(line)


def _wanted(given: tuple[str, ...]) -> Traits:
    """The traits asked for. Raises: click.BadParameter for what no job has."""
    from assistant.procedure.job_sets import DOMAINS, combinations

    wanted: Traits = {}
    for one in given:
        name, _, value = one.partition("=")
        values = {str(v).lower(): v for trait, domain in DOMAINS.items() if trait == name for v in domain}
        if not values:
            raise click.BadParameter(
                f"there is no trait '{name[:40]}'; there are {', '.join(DOMAINS)}.", param_hint="--traits"
            )
        if value not in values:
            raise click.BadParameter(
                f"'{name}' is {' or '.join(values)}, not '{value[:40]}'.", param_hint="--traits"
            )
        wanted[name] = values[value]  # type: ignore[index]
    if not any(wanted.items() <= job.items() for job in combinations()):
        raise click.BadParameter("no job has these traits together.", param_hint="--traits")
    return wanted


def _stages(procedure: Procedure, wanted: Traits) -> Iterator[tuple[Stage, list[Act]]]:
    for stage in procedure.stages:
        yield (
            stage,
            [
                act
                for act in stage.acts
                if all(wanted.get(trait, value) == value for trait, value in act.when.items())
            ],
        )


def _when(act: Act, wanted: Traits) -> str:
    left = [f"{t.replace('_', ' ')} {str(v).lower()}" for t, v in act.when.items() if t not in wanted]
    return f"only with {', '.join(left)}" if left else ""


def _again(gate: Gate) -> str:
    return f"asked again when: {', '.join(_WORDS[reason] for reason in gate.rearm)}"


def _outline(procedure: Procedure, wanted: Traits) -> Iterator[str]:
    yield procedure.name
    for number, (stage, acts) in enumerate(_stages(procedure, wanted), start=1):
        yield f"\n{number:2}. {stage.title}"
        for act in acts:
            notes = [*(f"hazard: {hazard.replace('_', ' ')}" for hazard in act.hazards), _when(act, wanted)]
            told = "; ".join(filter(None, notes))
            mark = "GATE" if act.gate else act.kind
            yield f"    {mark:<8}{act.title}" + (f"  ({told})" if told else "")
            if act.gate is not None:
                gate = procedure.gate(act.gate)
                for text in (f"{gate.hazard}.", f'closed by "{gate.sentence}"', _again(gate)):
                    yield textwrap.fill(text, _WIDTH, initial_indent=" " * 12, subsequent_indent=" " * 14)


def _quoted(*lines: str) -> str:
    """A string of Graphviz, a line under the other."""
    return '"' + "\\n".join(text.replace("\\", "\\\\").replace('"', '\\"') for text in lines) + '"'


def _dot(procedure: Procedure, wanted: Traits) -> Iterator[str]:
    """A box a stage, an octagon a gate; a dashed line back is what is asked again."""
    yield f"digraph {_quoted(procedure.key)} {{"
    yield '  rankdir=TB; node [shape=box, fontname="sans-serif"]; edge [fontname="sans-serif", fontsize=10];'
    names: list[str] = []
    for number, (stage, acts) in enumerate(_stages(procedure, wanted), start=1):
        yield f"  subgraph cluster_{number} {{ label={_quoted(f'{number}. {stage.title}')};"
        for act in acts:
            looks = ", shape=octagon, penwidth=2" if act.gate else ", style=bold" if act.hazards else ""
            label = _quoted(*filter(None, (act.title, _when(act, wanted))))
            yield f"    {_quoted(act.id)} [label={label}{looks}];"
            names.append(act.id)
        yield "  }"
    for one, other in itertools.pairwise(names):
        yield f"  {_quoted(one)} -> {_quoted(other)};"
    for _, acts in _stages(procedure, wanted):
        for act in acts:
            if act.gate is not None:
                reasons = ", ".join(_WORDS[reason] for reason in procedure.gate(act.gate).rearm)
                yield f"  {_quoted(act.id)} -> {_quoted(act.id)} [style=dashed, label={_quoted(reasons)}];"
    yield "}"


def _listed(procedure: Procedure, wanted: Traits) -> Mapping[str, Any]:
    return {
        "key": procedure.key,
        "name": procedure.name,
        "traits": wanted,
        "stages": [
            {"id": stage.id, "title": stage.title, "acts": [_act_listed(act) for act in acts]}
            for stage, acts in _stages(procedure, wanted)
        ],
        "gates": [gate.model_dump(mode="json") for gate in procedure.gates],
    }


def _act_listed(act: Act) -> Mapping[str, Any]:
    told = act.model_dump(mode="json", exclude_none=True)
    return {key: value for key, value in told.items() if value not in ("", [], {})}


def _check(procedure: Procedure, wanted: Traits, as_json: bool) -> int:
    """Searches and tells. Returns: the exit code."""
    from assistant.procedure.graph import graphs_of
    from assistant.procedure.graph_search import search

    states = edges = jobs = 0
    wrong: list[str] = []
    graphs = graphs_of(procedure, wanted)
    for graph, sharing in graphs:
        found = search(graph, sharing).account
        states, edges, jobs = states + found.states, edges + found.edges, jobs + found.jobs
        wrong += [sentence for sentence in found.wrong if sentence not in wrong]
    if as_json:
        print_json(
            {"combinations": jobs, "graphs": len(graphs), "states": states, "edges": edges, "wrong": wrong}
        )
    else:
        click.echo(
            f"{jobs} combinations of traits make {len(graphs)} different graphs: {states} states visited, {edges} edges."
        )
        for sentence in wrong:
            click.echo(sentence)
        click.echo(
            f"{len(wrong)} things are wrong."
            if wrong
            else "No act is reached without its gates, each state leads to the end of the job and to a safe place to stop."
        )
    return 1 if wrong else 0
