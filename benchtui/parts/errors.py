"""Errors of this package."""

from __future__ import annotations


class PartError(ValueError):
    """Nothing in the library fits: `name` as asked for, `why`, and `hint` what would be right."""

    def __init__(self, name: str, why: str, hint: str) -> None:
        self.name = name
        self.why = why
        self.hint = hint
        super().__init__(f"{name!r} {why}: {hint}")
