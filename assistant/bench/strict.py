"""The base of every data-file model: unknown keys refused, nothing coerced silently, frozen."""

from pydantic import BaseModel, ConfigDict


class Strict(BaseModel):
    # Not pydantic's strict mode: TOML writes 2 for 2.0, and tuples arrive as lists.
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
