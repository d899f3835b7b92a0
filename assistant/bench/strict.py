"""The base of every data-file model: unknown keys refused, nothing coerced silently, frozen.

A text is one line that steers neither a terminal nor a reader's eye: it goes onto screens and into reports.
"""

from typing import Any

from pydantic import BaseModel, ConfigDict, model_validator

from assistant.record.plain import steering_sign


class SteeringText(ValueError):  # noqa: N818 - says what was found
    """A text that is more than one line of signs. location: of it in the file."""

    def __init__(self, location: tuple[int | str, ...], sign: str) -> None:
        super().__init__(f"{'.'.join(map(str, location))} holds {sign}, which is no sign that can be read")
        self.location = location


class Strict(BaseModel):
    # strict: "45" and true are no numbers; 2 still stands for 2.0, as TOML writers expect.
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, strict=True)

    @model_validator(mode="before")
    @classmethod
    def _lists_as_tuples(cls, table: object) -> object:
        return _tuples(table, ())


def _tuples(held: Any, at: tuple[int | str, ...]) -> Any:
    if isinstance(held, dict):
        return {_read(key, (*at, "a key")): _tuples(value, (*at, key)) for key, value in held.items()}
    if isinstance(held, list):
        return tuple(_tuples(value, (*at, n)) for n, value in enumerate(held))
    return _read(held, at)


def _read(held: Any, at: tuple[int | str, ...]) -> Any:
    if isinstance(held, str) and (sign := steering_sign(held)):
        raise SteeringText(at, sign)
    return held
