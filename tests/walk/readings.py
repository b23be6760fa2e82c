"""What the meter shows in each stage of the builds that are walked, from outside the engine.

The demo builds' readings are by ngspice (`tests/builds/recorded.py`), the reference amplifiers' are their own.
"""

from __future__ import annotations

from benchtui.buildfile.stages import stages
from tests.builds import recorded
from tests.reference import amplifiers
from tests.walk.rig import Volts

DEMOS = recorded.NAMES


def volts(name: str) -> Volts:
    """Stage -> point -> volts of the demo build or reference amplifier `name`, at 230 V."""
    return reference_volts(name) if name in amplifiers.NAMES else recorded.readings(name)


def whole_volts(name: str) -> Volts:
    """The same of a demo build, and in its last stage read inside what earlier ones read there, for a repair."""
    found, build = {stage: dict(read) for stage, read in volts(name).items()}, recorded.build(name).build
    order = [info.id for info in stages(build) if info.kind == "power" and not info.entry.soak]
    for stage in reversed(order):
        found[order[-1]] = found[stage] | found[order[-1]]
    return found


def reference_volts(name: str) -> Volts:
    """The nominal reference amplifier as the builder's own meter of 10 Mohm shows it."""
    return {
        stage: {point: reading["meter_10M"] for point, reading in found["test_points"].items()}
        for stage, found in amplifiers.nominal(name).items()
    }
