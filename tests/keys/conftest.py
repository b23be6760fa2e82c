"""Walks over the keys see the terminal of the screen tests."""

from __future__ import annotations

from tests.screens.conftest import terminal  # noqa: F401
