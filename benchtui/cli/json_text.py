"""JSON as other programs read it: one document, plain ASCII, no number that is not finite."""

from __future__ import annotations

import json
from math import isfinite

SCHEMA = 1


def number(value: float | None) -> float | None:
    """`value`, or None (null) where there is none: no limit, open, not known."""
    return float(value) if value is not None and isfinite(value) else None


def document(data: dict[str, object]) -> str:
    """`data` behind the schema's number, as JSON. Raises ValueError for a number that is not finite."""
    return json.dumps({"schema": SCHEMA, **data}, indent=1, allow_nan=False)
