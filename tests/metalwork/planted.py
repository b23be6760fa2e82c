"""Mistakes planted in sound layouts: each changes one thing, and one rule alone must tell it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from tests.metalwork.layouts import Change, changed
from tests.metalwork.sound import SOUND


@dataclass(frozen=True)
class Planted:
    """What is planted in which layout, the rule that must tell it, and how gravely."""

    layout: str
    rule: str
    severity: str
    change: tuple[Change, ...]

    @property
    def text(self) -> str:
        return changed(SOUND[self.layout], *self.change)


def _read() -> dict[str, Planted]:
    rows = tomllib.loads((Path(__file__).parent / "planted.toml").read_text("utf-8"))["planted"]
    return {
        row["what"]: Planted(row["layout"], row["rule"], row["severity"], tuple((a, b) for a, b in row["change"]))
        for row in rows
    }


PLANTED = _read()
