"""Reads a procedure from its folder of TOML files, checks it, and refuses one whose gates are weakened.

A procedure is `procedure.toml` (key, name, source), `gates.toml` and one file for each stage,
`01_job.toml` to `18_keep.toml`. A works' own folder holds only the files that differ: a file there
takes the place of the packaged one of the same name, and the whole is checked as if it were one. It may
add plain steps and words; it may take nothing away that a gate rests on (`works_own`).
"""

from __future__ import annotations

import hashlib
import string
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeVar

from pydantic import BaseModel, Field

from assistant.bench.bad_data import BadData, parse_toml, read_bytes, validate
from assistant.bench.strict import Strict
from assistant.procedure.mandatory import check
from assistant.procedure.model import STAGE_ORDER, Gate, Procedure, Stage
from assistant.procedure.slots import PLACEHOLDERS
from assistant.procedure.works_own import strayed

PACKAGED = Path(__file__).parent / "data" / "splice"
STAGE_FILES = tuple(f"{number:02d}_{stage}.toml" for number, stage in enumerate(STAGE_ORDER, start=1))
FILES = ("procedure.toml", "gates.toml", *STAGE_FILES)

Part = TypeVar("Part", bound=BaseModel)


class BadProcedure(BadData):
    """The procedure cannot be used; str() says what is wrong, where, and what to do."""


class _Head(Strict):
    schema_version: Literal[1]
    key: str = Field(pattern=r"^[a-z][a-z0-9_]*$")
    name: str = Field(min_length=2)
    source: str = Field(min_length=4)


class _Gates(Strict):
    gates: tuple[Gate, ...]


@dataclass(frozen=True)
class LoadedProcedure:
    """`digest`: SHA-256, hex, of the names and bytes of all files that the procedure was read from."""

    procedure: Procedure
    digest: str


def load_procedure(folder: Path | None = None) -> LoadedProcedure:
    """The packaged procedure, with the files of `folder` in place of its own.

    Raises: BadProcedure for a folder or file that cannot be read, is not a procedure, or drops,
    weakens or moves a mandatory gate, or strays from what a works may change.
    """
    own = _own_files(folder)
    digest = hashlib.sha256()

    def part(name: str, model: type[Part]) -> Part:
        path = own.get(name, PACKAGED / name)
        try:
            raw = read_bytes(path)
            digest.update(f"{name} {len(raw)}\n".encode() + raw)
            return validate(model, parse_toml(raw, path), raw, path)
        except BadData as error:
            raise BadProcedure(str(error)) from None

    head = part("procedure.toml", _Head)
    gates = part("gates.toml", _Gates)
    stages = tuple(part(name, Stage) for name in STAGE_FILES)
    procedure = Procedure(key=head.key, name=head.name, source=head.source, gates=gates.gates, stages=stages)
    wrong = _unknown_placeholders(procedure) + check(procedure)
    if folder is not None and not wrong:
        wrong = strayed(procedure, load_procedure().procedure)
    if wrong:
        where = f"in '{folder}'" if folder is not None else "that came with the program"
        more = f" (and {len(wrong) - 1} more things are wrong)" if len(wrong) > 1 else ""
        raise BadProcedure(f"The procedure {where} is refused{more}: {wrong[0]}")
    return LoadedProcedure(procedure, digest.hexdigest())


def _own_files(folder: Path | None) -> dict[str, Path]:
    if folder is None:
        return {}
    try:
        found = {path.name: path for path in sorted(folder.iterdir()) if not path.name.startswith(".")}
    except FileNotFoundError:
        raise BadProcedure(
            f"There is no folder '{folder}'; name a folder that holds files of a procedure."
        ) from None
    except NotADirectoryError:
        raise BadProcedure(
            f"'{folder}' is a file; a procedure is a folder of files such as {STAGE_FILES[6]}."
        ) from None
    except (OSError, ValueError) as error:
        told = error.strerror if isinstance(error, OSError) and error.strerror else "the name is not usable"
        raise BadProcedure(
            f"The folder '{folder}' cannot be read ({told}); check its name and permissions."
        ) from None
    if not found:
        raise BadProcedure(f"The folder '{folder}' is empty; put a file such as {STAGE_FILES[6]} in it.")
    for name, path in found.items():
        if name not in FILES:
            raise BadProcedure(f"'{path}' is no file of a procedure; the names are {', '.join(FILES)}.")
    return found


def _unknown_placeholders(procedure: Procedure) -> list[str]:
    wrong = []
    for stage in procedure.stages:
        for act in stage.acts:
            for text in (act.say, act.how, act.why, *act.cautions):
                try:
                    fields = {
                        field
                        for _, field, spec, conversion in string.Formatter().parse(text)
                        if field is not None
                    }
                except ValueError:
                    wrong.append(f"act '{act.id}' has a bracket that is not closed in '{text}'.")
                    continue
                wrong += [
                    f"act '{act.id}' names {{{field}}}, which has no value; known are {', '.join(sorted(PLACEHOLDERS))}."
                    for field in sorted(fields - PLACEHOLDERS)
                ]
    return wrong
