"""The real engine behind a memory: every forecast is computed once, however many walks ask for it."""

from __future__ import annotations

import pickle
from pathlib import Path
from typing import Any

from benchtui.buildfile.models import Build
from benchtui.forecast.results import TrimTarget
from benchtui.session.forecaster import GateFacts, RealForecaster, StageFacts


class Remembering:
    """A Forecaster: what was asked before is given from memory, all else computed by the engine."""

    def __init__(self, known: dict[tuple[Any, ...], Any] | None = None) -> None:
        self._engine = RealForecaster()
        self._known = {} if known is None else known

    def gate(self, build: Build, stage: str) -> GateFacts:
        return self._ask("gate", build, stage)

    def cold(self, build: Build, stage: str, linked: bool) -> StageFacts:
        return self._ask("cold", build, stage, linked)

    def stage(self, build: Build, stage: str, mains_v: float | None) -> StageFacts:
        return self._ask("stage", build, stage, mains_v)

    def limited(self, build: Build, stage: str) -> StageFacts:
        return self._ask("limited", build, stage)

    def trim(self, build: Build, stage: str, adjustment: str, ht_v: float, mains_v: float) -> TrimTarget:
        target = self._ask("trim", build, stage, adjustment, ht_v, mains_v)
        assert isinstance(target, TrimTarget)
        return target

    def save(self, path: Path) -> None:
        """Write what is known for a process of its own; only this test run reads it."""
        path.write_bytes(pickle.dumps(self._known))

    @classmethod
    def loaded(cls, path: Path) -> Remembering:
        """What `save` wrote."""
        return cls(pickle.loads(path.read_bytes()))

    def _ask(self, kind: str, build: Build, *arguments: Any) -> Any:
        key = (kind, build.id, *arguments)
        if key not in self._known:
            if kind == "trim":
                self._known[key] = self._engine.trim(build, *arguments)
            else:
                self._known[key] = getattr(self._engine, kind)(build, *arguments)
        return self._known[key]
