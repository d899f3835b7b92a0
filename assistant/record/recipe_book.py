"""The recipe book: what worked, kept under a name for the next joint of the same belt on the same press.

One JSON file a name. A file is written whole beside the old one and put in its place, so that a crash
leaves either the old recipe or the new one.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import unicodedata
from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError

from assistant.bench.strict import Strict
from assistant.record.chain import RecordError
from assistant.record.log import sync_folder
from assistant.record.plain import plain
from assistant.record.stamp import instant_s

_LARGEST = 1_000_000  # bytes of one recipe file
LONGEST_NAME = 80


class RecipeNotKept(RecordError):  # noqa: N818 - says what happened
    """The recipe cannot go into the book; the sentence says why."""


class BadRecipe(RecordError):  # noqa: N818 - says what happened
    """A file of the book cannot be read."""


class KeptRecipe(Strict):
    """A recipe that made an accepted joint. Values are SI by slot (K, s, Pa), as in the log."""

    schema_version: Literal[1] = 1
    name: str = Field(min_length=1, max_length=LONGEST_NAME)
    belt: str  # key
    press: str  # key
    template: str = ""  # key
    values: dict[str, float] = Field(min_length=1)
    cycle_time_s: float | None = Field(default=None, gt=0)
    note: str = ""
    technician: str
    kept: str  # wall time, ISO 8601
    session: str  # whose log has the whole story
    outcome: Literal["accepted", "accepted with a note"]


class RecipeBook:
    """The recipes in one folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, recipe: KeptRecipe, *, simulated: bool) -> Path:
        """Writes the recipe, over an older one of the same name; on disk when this returns.

        Raises: RecipeNotKept for a simulated session, an unusable name, a disk that fails.
        """
        if simulated:
            raise RecipeNotKept("This session is SIMULATED: its recipe cannot be kept as that of a joint.")
        path = self._path(recipe.name)
        draft = path.with_suffix(f".{os.getpid()}.draft")
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            draft.unlink(missing_ok=True)  # never through a link that lies there
            with draft.open("x", encoding="utf-8") as file:
                file.write(recipe.model_dump_json(indent=2) + "\n")
                file.flush()
                os.fsync(file.fileno())
            draft.replace(path)
            sync_folder(self.folder)
        except OSError as error:
            with contextlib.suppress(OSError):
                draft.unlink()
            raise RecipeNotKept(
                f"The recipe '{plain(recipe.name)}' could not be written to {plain(self.folder)}: {error.strerror}. "
                "Mend that and keep it again."
            ) from error
        return path

    def get(self, name: str) -> KeptRecipe | None:
        """The recipe of that name, capitals and spaces aside; None if there is none. Raises: BadRecipe."""
        path = self._path(name)
        return _read(path) if path.exists() else None

    def recipes(self) -> tuple[KeptRecipe, ...]:
        """All of them, by name. Raises: BadRecipe for the first file that cannot be read."""
        if not self.folder.is_dir():
            return ()
        found = (_read(path) for path in sorted(self.folder.glob("*.json")))
        return tuple(sorted(found, key=lambda recipe: recipe.name.casefold()))

    def offered(self, belt: str, press: str) -> tuple[KeptRecipe, ...]:
        """Recipes for this belt on this press, newest first. Raises: BadRecipe."""
        fitting = [r for r in self.recipes() if r.belt == belt and r.press == press]
        return tuple(sorted(fitting, key=lambda recipe: instant_s(recipe.kept), reverse=True))

    def _path(self, name: str) -> Path:
        """Two names that people take for the same are the same file; no name leaves the folder."""
        folded = " ".join(unicodedata.normalize("NFKC", name).casefold().split())
        if not folded or len(name) > LONGEST_NAME:
            raise RecipeNotKept(f"A recipe needs a name of 1 to {LONGEST_NAME} characters.")
        readable = re.sub(r"[^a-z0-9]+", "-", folded).strip("-")[:40] or "recipe"
        mark = hashlib.sha256(folded.encode("utf-8", "surrogatepass")).hexdigest()[:8]
        return self.folder / f"{readable}-{mark}.json"


def _read(path: Path) -> KeptRecipe:
    try:
        with path.open("rb") as file:
            raw = file.read(_LARGEST + 1)
    except OSError as error:
        raise BadRecipe(f"The recipe {plain(path)} cannot be read: {error.strerror}.") from error
    if len(raw) > _LARGEST:
        raise BadRecipe(f"{plain(path)} is over {_LARGEST} bytes and no recipe; move it away.")
    try:
        return KeptRecipe.model_validate_json(raw)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        raise BadRecipe(
            f"{plain(path)}, {where}: {first['msg']}. Correct it or move the file away."
        ) from error
