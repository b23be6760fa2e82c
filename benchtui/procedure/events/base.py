"""What all events are: facts in frozen data, written to the record as they are."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Event:
    """Anything that happened."""
