"""What is told of a part on the bench: findings, and the one step that comes next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Path = tuple[str | int, ...]
"""Keys and list positions of the part's own notes, such as ("ohms", "1-2"); empty for the part as a whole."""


@dataclass(frozen=True)
class Finding:
    """Something that is known or wrong. `stop`: nothing is done further with the part before it is cleared up."""

    severity: Literal["note", "warn", "stop"]
    text: str
    where: Path = ()
    source: str = ""


@dataclass(frozen=True)
class Step:
    """What is measured next: what it is for, how it is done line by line, and what can hurt in it."""

    name: str
    how: tuple[str, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Told:
    """All that the notes of one part come to. `next` is None where nothing is left to measure."""

    findings: tuple[Finding, ...]
    next: Step | None = None
    section: str = ""
    slip: str = ""
