"""What all entries of a build file have in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Entry(BaseModel):
    """Anything in a build file: unknown keys are refused, nothing changes after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True)
