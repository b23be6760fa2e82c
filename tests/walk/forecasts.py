"""The real engine behind a memory: every forecast is computed once, however many walks ask for it."""

from __future__ import annotations

import os
import pickle
from fcntl import LOCK_EX, flock
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from benchtui.buildfile.models import Build
from benchtui.diagnosis.retest import Retest
from benchtui.forecast.results import Finding, TrimTarget
from benchtui.session.earlier import StageRead
from benchtui.session.forecaster import GateFacts, RealForecaster, StageFacts
from benchtui.session.suspects import Evidence
from benchtui.session.view import Figure, Suspects
from benchtui.wiring.wires import Wire


class Remembering:
    """A Forecaster: what any process of this test run asked before lies in `folder`, all else the engine computes."""

    def __init__(self, folder: Path) -> None:
        self._engine = RealForecaster()
        self._folder = folder
        self._known: dict[tuple[Any, ...], Any] = {}

    def gate(self, build: Build, stage: str) -> GateFacts:
        return self._ask("gate", build, stage)

    def cold(self, build: Build, stage: str, linked: bool, after: str | None) -> StageFacts:
        return self._ask("cold", build, stage, linked, after)

    def stage(self, build: Build, stage: str, mains_v: float | None, earlier: tuple[StageRead, ...]) -> StageFacts:
        return self._ask("stage", build, stage, mains_v, earlier)

    def prepare(self, build: Build, earlier: tuple[StageRead, ...]) -> None:
        """Whatever is asked later may be remembered already."""

    def limited(self, build: Build, stage: str) -> StageFacts:
        return self._ask("limited", build, stage)

    def trim(self, build: Build, stage: str, adjustment: str, ht_v: float, mains_v: float) -> TrimTarget:
        target = self._ask("trim", build, stage, adjustment, ht_v, mains_v)
        assert isinstance(target, TrimTarget)
        return target

    def review(self, build: Build) -> tuple[Finding, ...]:
        return self._ask("review", build)

    def wires(self, build: Build) -> tuple[Wire, ...]:
        """Without sizes: nothing here is about them."""
        return ()

    def suspects(self, build: Build, evidence: Evidence) -> Suspects:
        """Nothing: walks are not about it, and it takes seconds."""
        return Suspects()

    def figure(self, build: Build, what: str, *arguments: object) -> Figure:
        """None: walks look at no figure, and they take seconds."""
        return Figure()

    def whole(self, build: Build, what: str, *arguments: object) -> StageFacts:
        return self._ask("whole", build, what, *arguments)

    def retest(self, build: Build, parts: tuple[str, ...]) -> Retest:
        return self._ask("retest", build, parts)

    def _ask(self, kind: str, build: Build, *arguments: Any) -> Any:
        key = (kind, build.id, *arguments)
        if key not in self._known:
            self._known[key] = self._shared(key, build)
        return self._known[key]

    def _shared(self, key: tuple[Any, ...], build: Build) -> Any:
        """What lies in the folder, or is computed now, while others that ask for it wait."""
        file = self._folder / sha256(repr(key).encode()).hexdigest()
        with file.with_suffix(".lock").open("w") as lock:
            flock(lock, LOCK_EX)
            if not file.exists():
                self._compute(key, build, file)
        return pickle.loads(file.read_bytes())

    def _compute(self, key: tuple[Any, ...], build: Build, file: Path) -> None:
        kind, _, *arguments = key
        found = getattr(self._engine, kind)(build, *arguments)
        unfinished = file.with_suffix(".new")  # whoever computes may be killed
        unfinished.write_bytes(pickle.dumps(found))
        unfinished.rename(file)


def shared_folder(factory: pytest.TempPathFactory) -> Path:
    """A folder of this test run, the same for all of its processes."""
    base = factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "forecasts"
    folder.mkdir(exist_ok=True)
    return folder
