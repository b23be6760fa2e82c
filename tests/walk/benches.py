"""Builds that are walked, opened on a bench of their own: file, record, clock, rig and builder."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from benchtui.buildfile.load import load
from benchtui.session.forecaster import Forecaster
from benchtui.session.opening import open_session
from benchtui.session.session import Session
from benchtui.session.shutting import with_touchable
from tests.builds import recorded
from tests.reference import amplifiers
from tests.reference.convert import convert
from tests.walk import readings
from tests.walk.builder import Builder
from tests.walk.clock import StillClock
from tests.walk.rig import Rig, Volts


@dataclass
class Bench:
    """A build file in a folder of its own, and everything around it."""

    path: Path
    clock: StillClock
    builder: Builder
    forecaster: Forecaster

    def session(self) -> Session:
        """The session, opened or opened again."""
        return open_session(self.path, clock=self.clock, forecaster=self.forecaster)

    @property
    def record(self) -> Path:
        return self.path.with_suffix(".bench")


def bench(name: str, folder: Path, forecaster: Forecaster, volts: Volts | None = None, **rig: object) -> Bench:
    """The demo build or reference amplifier `name`, written into `folder`, with its own readings or with `volts`."""
    path = folder / f"{name}.toml"
    if name in amplifiers.NAMES:
        path.write_text(convert(amplifiers.described(name)).text, "utf-8")
    else:
        shutil.copyfile(recorded.BUILDS / path.name, path)
    return around(path, forecaster, volts or readings.volts(name), **rig)


def around(path: Path, forecaster: Forecaster, volts: Volts, **rig: object) -> Bench:
    """A bench around the build file that lies at `path`; nothing is powered or charged yet."""
    clock = StillClock()
    made = Rig(with_touchable(load(path).build), volts, clock, **rig)  # type: ignore[arg-type]
    return Bench(path, clock, Builder(made), forecaster)
