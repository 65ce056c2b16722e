"""What every table of a scenario file has in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Written(BaseModel):
    """A table of a scenario file: nothing unknown, nothing coerced, nothing changed later."""

    model_config = ConfigDict(
        strict=True, extra="forbid", frozen=True, allow_inf_nan=False, hide_input_in_errors=True
    )
