"""The build file that a record carries."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from benchtui.record import Journal


def filed(journal: Journal) -> Mapping[str, Any]:
    """Hash and text of the build file that the record goes by: the first, or the last one decided on."""
    changes = [event.data for event in journal.events if event.kind == "build changed"]
    return changes[-1] if changes else journal.header


def filed_text(journal: Journal) -> str:
    """The text of that file; "" where the record is damaged from its first line on."""
    return str(filed(journal).get("source", ""))
