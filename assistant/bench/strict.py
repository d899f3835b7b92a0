"""The base of every data-file model: unknown keys refused, nothing coerced silently, frozen."""

from typing import Any

from pydantic import BaseModel, ConfigDict, model_validator


class Strict(BaseModel):
    # strict: "45" and true are no numbers; 2 still stands for 2.0, as TOML writers expect.
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, strict=True)

    @model_validator(mode="before")
    @classmethod
    def _lists_as_tuples(cls, table: object) -> object:
        return _tuples(table)


def _tuples(held: Any) -> Any:
    if isinstance(held, dict):
        return {key: _tuples(value) for key, value in held.items()}
    return tuple(map(_tuples, held)) if isinstance(held, list) else held
