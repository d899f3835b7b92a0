"""Reading a TOML data file: one clear sentence for whatever is wrong with it."""

from __future__ import annotations

import re
import stat
import tomllib
from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, ValidationError

from assistant.bench.strict import SteeringText

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

LARGEST_BYTES = 1_000_000
DEEPEST_KEY = 16  # parts of a dotted key; the reader's time and memory grow with their square
_KEY_PART = rb"""(?:(?<![\w-])[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+"""
_DEEP_KEY = re.compile(rb"(?:%b){%d}" % (_KEY_PART, DEEPEST_KEY))

Model = TypeVar("Model", bound=BaseModel)


class BadData(ValueError):  # noqa: N818 - the trade's word reads better in `except BadData`
    """A file cannot be used. Its text is one sentence: which file and line, what is wrong, what to do.

    each: such a sentence for everything wrong with it, the text among them.
    """

    def __init__(self, text: str, each: Sequence[str] = ()) -> None:
        super().__init__(text)
        self.each = tuple(each) or (text,)


def read_bytes(path: Path) -> bytes:
    """The whole of a small file.

    Raises: BadData when it is missing, a folder, unreadable, empty or over `LARGEST_BYTES`.
    """
    try:
        kind = path.stat().st_mode
        if stat.S_ISREG(kind):
            with path.open("rb") as file:
                raw = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise BadData(f"There is no file '{path}'; check the name and the folder.") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "the name is not usable"
        raise BadData(f"'{path}' cannot be read ({reason}); check the name and the permissions.") from None
    if stat.S_ISDIR(kind):
        raise BadData(f"'{path}' is a folder; name a TOML file inside it.")
    if not stat.S_ISREG(kind):
        raise BadData(f"'{path}' is not an ordinary file; name a TOML file.")
    if len(raw) > LARGEST_BYTES:
        raise BadData(f"'{path}' is larger than one megabyte, so it is no data file of ours; check the name.")
    if not raw.strip():
        raise BadData(f"'{path}' is empty; fill it in or leave it out.")
    return raw


def parse_toml(raw: bytes, path: Path) -> dict[str, Any]:
    """The tables of a TOML file. Raises: BadData when it is not UTF-8 text or not TOML."""
    if deep := _DEEP_KEY.search(raw):
        line = raw.count(b"\n", 0, deep.start()) + 1
        raise BadData(f"'{path}', line {line}: a key of more than {DEEPEST_KEY} parts; correct that line.")
    try:
        return tomllib.loads(raw.decode("utf-8-sig").replace("\r\n", "\n"))
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise BadData(f"'{path}' is not UTF-8 text (line {line}); save it as a TOML text file.") from None
    except tomllib.TOMLDecodeError as error:
        told = str(error)
        found = re.search(r"^(.*?)\s*\(at (?:line (\d+).*|end of document)\)$", told, re.DOTALL)
        what, line_text = (found[1], found[2]) if found else (told, None)
        where = f", line {line_text}" if line_text else ", at its end"
        raise BadData(f"'{path}'{where}: not TOML, {_lower_first(what)}; correct that line.") from None
    except RecursionError:
        raise BadData(
            f"'{path}' is not TOML that can be used, being nested too deeply; write it flat."
        ) from None
    except ValueError:  # the interpreter's own limit on the digits of a whole number
        raise BadData(f"'{path}' holds a number of more than 4000 digits; correct it.") from None


def validate(model: type[Model], table: dict[str, Any], raw: bytes, path: Path) -> Model:
    """The table as `model`. Raises: BadData naming the key, its line, what is wrong and what was expected."""
    try:
        return model.model_validate(table)
    except ValidationError as error:
        details = error.errors()
        # A key written wrongly is also one that is missing: say the one that stands in the file.
        first = next((detail for detail in details if detail["type"] == "extra_forbidden"), details[0])
        missing = [str(detail["loc"][-1]) for detail in details if detail["type"] == "missing"]
        unknown = [str(detail["loc"][-1]) for detail in details if detail["type"] == "extra_forbidden"]
        meant = [name for key in unknown for name in get_close_matches(key, missing, 1)]
        told = [one for one in details if not (one["type"] == "missing" and one["loc"][-1] in meant)]
        each = dict.fromkeys(_sentence(detail, raw, path, missing) for detail in (first, *told))
        raise BadData(next(iter(each)), tuple(each)) from None


def key_line(raw: bytes, location: tuple[int | str, ...]) -> int | None:
    """The line where a key is written, found by searching for it; None when it is nowhere to be seen."""
    lines = raw.decode("utf-8", errors="replace").splitlines()
    names = [part for part in location if isinstance(part, str)]
    nth = next((part for part in location if isinstance(part, int)), 0)
    start, first = 0, None
    for position, name in enumerate(names):
        pattern = re.compile(rf"(^|[\[.{{,\s\"']){re.escape(name)}[\"']?\s*(=|\]|\.)")
        hits = [index for index in range(start, len(lines)) if pattern.search(lines[index].partition("#")[0])]
        if not hits:
            break
        in_list = position == 0 and len(names) > 1 and len(hits) > nth
        start = hits[nth] if in_list else hits[0]
        first = start + 1
    return first


def _sentence(detail: ErrorDetails, raw: bytes, path: Path, missing: Sequence[str] = ()) -> str:
    location = detail["loc"]
    line = key_line(raw, location[:-1] if detail["type"] == "missing" else location)
    where = f"'{path}'" + (f", line {line}" if line else "")
    key = ".".join(str(part) for part in location)
    given = detail["input"]
    match detail["type"]:
        case "missing":
            return f"{where}: the key '{key}' is missing; add it."
        case "extra_forbidden":
            meant = get_close_matches(str(location[-1]), missing, 1)
            told = f"write '{meant[0]}'" if meant else "correct its name or take it out"
            return f"{where}: the key '{key}' is not known here; {told}."
        case "value_error":
            error = detail.get("ctx", {}).get("error", detail["msg"])
            told = str(error)
            if isinstance(error, SteeringText) and (line := key_line(raw, (*location, *error.location))):
                where = f"'{path}', line {line}"
            named = re.match(r"\w+_\w+", told)  # a rule of the whole table begins with the key it is about
            if named and (line := key_line(raw, (*location, named[0]))):
                where = f"'{path}', line {line}"
            return f"{where}: {told}; correct it."
    shown = f" is {_shortened(repr(given))} but" if isinstance(given, str | int | float | bool) else ""
    return f"{where}: the key '{key}'{shown} {_lower_first(detail['msg']).replace('input should', 'should')}; correct it."


def _shortened(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]
