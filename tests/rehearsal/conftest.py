"""Walks of a rehearsal share the memory of forecasts with all other walks of a run."""

from __future__ import annotations

from tests.walk.conftest import forecasts  # noqa: F401
