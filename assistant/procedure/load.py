"""Reads a procedure from its folder of TOML files, checks it, and refuses one whose gates are weakened.

A procedure is `procedure.toml` (key, name, source), `gates.toml` and one file for each stage,
`01_job.toml` to `18_keep.toml`. A works' own folder holds only the files that differ: a file there
takes the place of the packaged one of the same name, and the whole is checked as if it were one.
"""

from __future__ import annotations

import hashlib
import string
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from assistant.procedure.mandatory import check
from assistant.procedure.model import STAGE_ORDER, Procedure
from assistant.procedure.slots import PLACEHOLDERS

PACKAGED = Path(__file__).parent / "data" / "splice"
STAGE_FILES = tuple(f"{number:02d}_{stage}.toml" for number, stage in enumerate(STAGE_ORDER, start=1))
FILES = ("procedure.toml", "gates.toml", *STAGE_FILES)
LARGEST_FILE_BYTES = 1_000_000


class BadProcedure(Exception):  # noqa: N818 - a refusal with its reason, not a fault
    """The procedure cannot be used; str() says what is wrong, where, and what to do."""


@dataclass(frozen=True)
class LoadedProcedure:
    """`digest`: SHA-256, hex, of the names and bytes of all files that the procedure was read from."""

    procedure: Procedure
    digest: str


def load_procedure(folder: Path | None = None) -> LoadedProcedure:
    """The packaged procedure, with the files of `folder` in place of its own.

    Raises: BadProcedure for a folder or file that cannot be read, is not a procedure, or drops,
    weakens or moves a mandatory gate.
    """
    own = _own_files(folder)
    digest = hashlib.sha256()
    parts: dict[str, dict[str, Any]] = {}
    for name in FILES:
        path = own.get(name, PACKAGED / name)
        data = _bytes_of(path)
        digest.update(f"{name} {len(data)}\n".encode() + data)
        parts[name] = _toml_of(path, data)
    procedure = _assembled(parts, own)
    wrong = _unknown_placeholders(procedure) + check(procedure)
    if wrong:
        where = f"in {folder}" if folder is not None else "that came with the program"
        more = f" There are {len(wrong) - 1} more things wrong." if len(wrong) > 1 else ""
        raise BadProcedure(f"The procedure {where} is refused: {wrong[0]}{more}")
    return LoadedProcedure(procedure, digest.hexdigest())


def _own_files(folder: Path | None) -> dict[str, Path]:
    if folder is None:
        return {}
    if not folder.exists():
        raise BadProcedure(f"There is no procedure folder {folder}; give one that exists, or none for ours.")
    if not folder.is_dir():
        raise BadProcedure(f"{folder} is a file; a procedure is a folder of files such as {STAGE_FILES[6]}.")
    try:
        found = {path.name: path for path in sorted(folder.iterdir()) if not path.name.startswith(".")}
    except OSError as error:
        raise BadProcedure(f"The procedure folder {folder} cannot be read: {error.strerror}.") from error
    if not found:
        raise BadProcedure(
            f"The procedure folder {folder} is empty; put a file such as {STAGE_FILES[6]} in it."
        )
    for name, path in found.items():
        if name not in FILES:
            raise BadProcedure(f"{path} is not a file of a procedure; the names are {', '.join(FILES)}.")
    return found


def _bytes_of(path: Path) -> bytes:
    if path.is_dir():
        raise BadProcedure(f"{path} is a folder; a file of a procedure must stand there.")
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise BadProcedure(f"{path} cannot be read: {error.strerror}.") from error
    if len(data) > LARGEST_FILE_BYTES:
        raise BadProcedure(f"{path} is larger than 1 MB; no stage of a procedure is that long.")
    if not data.strip():
        raise BadProcedure(f"{path} is empty; fill it in, or take it away to use the packaged one.")
    return data


def _toml_of(path: Path, data: bytes) -> dict[str, Any]:
    try:
        return tomllib.loads(data.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise BadProcedure(f"{path} is not a text file (byte {error.start + 1} is not UTF-8).") from error
    except tomllib.TOMLDecodeError as error:
        raise BadProcedure(f"{path} is not valid TOML: {error}. Correct it and load again.") from error
    except RecursionError as error:
        raise BadProcedure(
            f"{path} is nested too deeply to be a procedure. Correct it and load again."
        ) from error


def _assembled(parts: dict[str, dict[str, Any]], own: dict[str, Path]) -> Procedure:
    head, gates, stages = parts["procedure.toml"], parts["gates.toml"], [parts[name] for name in STAGE_FILES]
    for name, part, taken in (
        ("procedure.toml", head, {"gates", "stages"}),
        ("gates.toml", gates, {"gates"}),
    ):
        wrong = sorted(part.keys() & taken if name == "procedure.toml" else part.keys() - taken)
        if wrong:
            raise BadProcedure(
                f"{own.get(name, PACKAGED / name)}, key '{wrong[0]}': it does not belong here."
            )
    try:
        return Procedure.model_validate({**head, "gates": gates.get("gates", ()), "stages": stages})
    except ValidationError as error:
        raise BadProcedure(_sentence(error, parts, own)) from error


def _sentence(error: ValidationError, parts: dict[str, dict[str, Any]], own: dict[str, Path]) -> str:
    first = error.errors()[0]
    place = list(first["loc"])
    name = "procedure.toml"
    if place[:1] == ["gates"]:
        name = "gates.toml"
    elif place[:1] == ["stages"] and len(place) > 1:
        name = STAGE_FILES[int(place[1])]
        place = place[2:]
    key = _key(parts[name], place)
    what = first["msg"].removeprefix("Value error, ").rstrip(".")
    return (
        f"{own.get(name, PACKAGED / name)}{', key ' + key if key else ''}: {what}. Correct it and load again."
    )


def _key(part: Any, place: list[int | str]) -> str:
    """The place in words: acts 'sheet', title."""
    words: list[str] = []
    for step in place:
        part = _inside(part, step)
        if isinstance(step, int) and words:
            named = part.get("id") if isinstance(part, dict) else None
            words[-1] += f" '{named}'" if isinstance(named, str) else f" {step + 1}"
        else:
            words.append(str(step))
    return ", ".join(words)


def _inside(part: Any, step: int | str) -> Any:
    try:
        return part[step]
    except (KeyError, IndexError, TypeError):
        return None


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
