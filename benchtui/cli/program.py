"""The program by its name and version."""

from __future__ import annotations


def program() -> str:
    """Such as `benchtui 0.1.0`."""
    from importlib import metadata

    try:
        return f"benchtui {metadata.version('benchtui')}"
    except metadata.PackageNotFoundError:
        return "benchtui, not installed"
