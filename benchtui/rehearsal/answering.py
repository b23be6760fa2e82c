"""The one door to the simulated amplifier: a question in, its answer out. It may take seconds and touches nothing."""

from __future__ import annotations

from typing import Any

from benchtui.buildfile.models import Build
from benchtui.rehearsal.amplifier import mains_v, meter_shows
from benchtui.rehearsal.asked import Asked, Falling, Ohms, Outlet, Plant, Powered, Signal, Source, Turned, Warming
from benchtui.rehearsal.falling import falls
from benchtui.rehearsal.planting import planted
from benchtui.rehearsal.power import turned
from benchtui.rehearsal.reading import reads, warming
from benchtui.rehearsal.signal import with_signal
from benchtui.rehearsal.unpowered import ohms


def answer(build: Build, asked: Asked) -> Any:
    """What `rehearsal.asked` says that a question of this kind is answered by."""
    match asked:
        case Plant(seed):
            return planted(build, seed)
        case Powered():
            return reads(build, asked)
        case Warming():
            return warming(build, asked)
        case Falling():
            return falls(build, asked)
        case Ohms():
            return ohms(build, asked)
        case Signal():
            return with_signal(build, asked)
        case Outlet(seed):
            return meter_shows(build, seed, "ac", mains_v(build, seed), "mains")
        case Source(seed, kind, volts):
            return meter_shows(build, seed, kind, volts, f"source {kind}")
        case Turned():
            return turned(build, asked)
