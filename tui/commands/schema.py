"""`loopwright schema [KIND]`: what the input files may hold, from the very models that check them."""

from __future__ import annotations

import importlib
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin

import click

from tui.commands.options import print_json

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic.fields import FieldInfo

# Kind of file -> what it is, and the model that reads it.
KINDS = {
    "heat": ("a heating given in full, for 'loopwright heat'", "assistant.recipe.explicit", "HeatFile"),
    "recipe": (
        "a recipe asked for in full, layer by layer, for 'loopwright recipe'",
        "assistant.recipe.best_file",
        "BestFile",
    ),
    "job": ("a job sheet", "assistant.bench.sheet_file", "SheetFile"),
    "path": (
        "pulleys that a belt runs round, for 'loopwright length --pulleys'",
        "assistant.bench.path_file",
        "PathFile",
    ),
    "readings": (
        "readings of a cycle, for 'loopwright readings' and 'loopwright learn --readings'",
        "assistant.bench.readings_file",
        "ReadingsFile",
    ),
    "material": ("a material, for a works' own folder", "assistant.bench.material", "Material"),
    "belt": ("a belt with its data sheet", "assistant.bench.belt", "Belt"),
    "press": ("a press", "assistant.bench.press", "Press"),
    "template": ("a template with its pressure plate", "assistant.bench.template", "Template"),
    "punch": ("a finger punch", "assistant.bench.template", "Punch"),
    "cloth": ("a release cloth", "assistant.bench.template", "Cloth"),
    "lead": ("a lead", "assistant.bench.lead", "Lead"),
}
_EXAMPLES = {
    "heat": "recipe/data/heat.toml",
    "recipe": "recipe/data/recipe.toml",
    "job": "bench/data/jobs/flat_in_the_shop.toml",
    "path": "bench/data/examples/path.toml",
    "readings": "bench/data/examples/readings.toml",
    "material": "bench/data/materials/pvc.toml",
    "belt": "bench/data/belts/apple_lift.toml",
    "press": "bench/data/presses/hinged.toml",
    "template": "bench/data/templates/green.toml",
    "punch": "bench/data/punches/long.toml",
    "cloth": "bench/data/cloths/silicone.toml",
    "lead": "bench/data/leads/h2_5.toml",
}
_WIDTH = 120


@click.command(
    "schema",
    short_help="What the input files may hold.",
    epilog="Exit codes: 0 printed; 2 no such kind of file.",
)
@click.argument("kind", type=click.Choice(list(KINDS)), required=False)
@click.option("--example", is_flag=True, help="A whole file that works, in place of the description.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON schema.")
def command(kind: str | None, example: bool, as_json: bool) -> None:
    """The keys of a KIND of TOML file: type, limits, default, meaning. Without KIND: the kinds.

    The unit of a number is the end of its key.
    """
    if kind is None:
        if example or as_json:
            raise click.UsageError("Name the kind of file as well.")
        for name in KINDS:
            click.echo(f"{name:<12}{KINDS[name][0]}")
    elif example:
        import assistant

        click.echo(
            (Path(str(assistant.__file__)).parent / _EXAMPLES[kind]).read_text(encoding="utf-8"), nl=False
        )
    elif as_json:
        print_json(_model(kind).model_json_schema())
    else:
        _table(_model(kind), "", False, {})


def _model(kind: str) -> type[BaseModel]:
    _, module, name = KINDS[kind]
    model: type[BaseModel] = getattr(importlib.import_module(module), name)
    return model


def _table(model: type[BaseModel], name: str, repeated: bool, told: dict[type[BaseModel], str]) -> None:
    """The keys of one table, then those of the tables in it; a kind of table is told once."""
    heading = f"[[{name}]]" if repeated else f"[{name}]" if name else ""
    if heading:
        click.echo(f"\n{heading}")
    if model in told:
        click.echo(f"# as [{told[model]}]")
        return
    told[model] = name
    for line in textwrap.wrap(" ".join((model.__doc__ or "").split()), _WIDTH - 2):
        click.echo(f"# {line}")
    inner: list[tuple[str, type[BaseModel], bool]] = []
    for key, field in model.model_fields.items():
        table = _inner(field.annotation)
        words = "table" if table else _type(field.annotation)
        rest = "; ".join(part for part in (_limits(field), _default(field), field.description or "") if part)
        click.echo(textwrap.fill(f"{key:<24}{words:<36}{rest}", _WIDTH, subsequent_indent=" " * 60))
        if table:
            inner.append((f"{name}.{key}" if name else key, table[0], table[1]))
    for path, other, many in inner:
        _table(other, path, many, told)


def _inner(annotation: Any) -> tuple[type[BaseModel], bool] | None:
    """The model of a table, and whether it is a list of tables."""
    from pydantic import BaseModel

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    many = get_origin(annotation) is tuple
    found = [_inner(part) for part in get_args(annotation)] if get_origin(annotation) is not Literal else []
    return next(((item[0], many or item[1]) for item in found if item), None)


def _type(annotation: Any) -> str:
    if get_origin(annotation) is Literal:
        return " or ".join(
            repr(value) if isinstance(value, str) else str(value) for value in get_args(annotation)
        )
    if get_origin(annotation) is tuple:
        parts = [_type(part) for part in get_args(annotation) if part is not Ellipsis]
        return f"list of {parts[0]}" if Ellipsis in get_args(annotation) else f"[{', '.join(parts)}]"
    if get_origin(annotation) is dict:
        return f"{_type(get_args(annotation)[1])} by key"
    parts = [_type(part) for part in get_args(annotation) if part is not type(None)]
    if parts:
        return " or ".join(parts)
    return {float: "number", int: "whole number", str: "words", bool: "true or false"}.get(
        annotation, "value"
    )


def _limits(field: FieldInfo) -> str:
    words = {
        "gt": "above {}", "ge": "at least {}", "lt": "below {}", "le": "at most {}", "pattern": "form {}",
        "min_length": "length at least {}", "max_length": "length at most {}",
    }  # fmt: skip
    found = [
        sentence.format(value if isinstance(value, str) else f"{value:g}")
        for item in field.metadata
        for name, sentence in words.items()
        if (value := getattr(item, name, None)) is not None
    ]
    return ", ".join(found)


def _default(field: FieldInfo) -> str:
    from pydantic import BaseModel

    if field.is_required():
        return "needed"
    value = field.get_default()
    if value is None or value in ((), "", {}) or isinstance(value, BaseModel):
        return "may be left out"
    return f"{str(value).lower() if isinstance(value, bool) else value} if left out"
