"""How grave a finding is, for every review that has findings."""

from __future__ import annotations

SEVERITIES = ("stop", "warn", "note")
"""The gravest first."""


def gravity(severity: str) -> int:
    """0 for the gravest, for sorting; raises ValueError for what is no severity."""
    return SEVERITIES.index(severity)
