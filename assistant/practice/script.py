"""What the scripted technician says where, as data: the demo's deviations from saying the plain thing."""

from __future__ import annotations

import tomllib
from pathlib import Path

from pydantic import Field, ValidationError

from assistant.bench.bad_data import BadData
from assistant.bench.strict import Strict

PACKAGED = Path(__file__).parent / "data"


class Spoken(Strict):
    """at: an act's id, or 'sheet:<slot>' for a question of the job sheet. say: one after the other, once."""

    at: str
    say: tuple[str, ...] = Field(min_length=1)


class Script(Strict):
    """answers: by slot, a choice's key or the words of a value. usual: by kind of act."""

    schema_version: int = Field(ge=1, le=1)
    source: str = Field(min_length=4)
    job: str  # file of a job sheet beside the bench's data
    leave_out: tuple[str, ...] = ()  # slots of the sheet that are asked and answered aloud
    press_seed: int = 1
    answers: dict[str, str] = {}
    usual: dict[str, str] = {}
    spoken: tuple[Spoken, ...] = ()


def load_script(name: str = "demo") -> Script:
    """Raises: BadData."""
    path = PACKAGED / f"{name}.toml"
    try:
        return Script.model_validate(tomllib.loads(path.read_text("utf-8")))
    except (OSError, tomllib.TOMLDecodeError, ValidationError) as error:
        first = str(error).splitlines()[0]
        raise BadData(
            f"The script {path.name} can't be used: {first}. Correct it and start again."
        ) from error
