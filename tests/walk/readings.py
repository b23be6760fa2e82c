"""What the meter shows in each stage of the builds that are walked, from outside the engine.

The demo builds' volts are by ngspice (`tests/builds/spice.py`) at 230 V, written to `spice_volts.json` by

    python -m tests.walk.readings [BUILD ...]

which must be run again after a change to a build's circuit. The reference amplifiers' are their own readings.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from benchtui.buildfile.load import load
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from tests.builds import spice
from tests.reference import amplifiers
from tests.walk.rig import Volts

DEMOS = ("pp-6v6", "pp-el34", "se-stereo")
BUILDS = Path(__file__).parents[2] / "builds"

_FILE = Path(__file__).with_name("spice_volts.json")
_SOURCE = "ngspice on tests/builds/deck.py, mains at 230 V, pots trimmed to their targets, through the builder's meter"


def demo(name: str) -> Build:
    """The demo build `name`, as its file stands."""
    return load(BUILDS / f"{name}.toml").build


def volts(name: str) -> Volts:
    """Stage -> point -> volts of the demo build or reference amplifier `name`."""
    if name in amplifiers.NAMES:
        return reference_volts(name)
    return json.loads(_FILE.read_text("utf-8"))[name]


def reference_volts(name: str) -> Volts:
    """The nominal reference amplifier as the builder's own meter of 10 Mohm shows it."""
    return {
        stage: {point: reading["meter_10M"] for point, reading in found["test_points"].items()}
        for stage, found in amplifiers.nominal(name).items()
    }


def measured(name: str) -> dict[str, dict[str, float]]:
    """Stage -> point -> volts of a demo build, by ngspice now (a minute or more)."""
    build, found = demo(name), {}
    for info in stages(build):
        powered = {id for id, p in build.point.items() if info.id in p.stages and p.quantity != "resistance"}
        if powered:
            _, readings = spice.measure(build, info.id)
            found[info.id] = {id: float(f"{readings[id]:.5g}") for id in sorted(powered)}
    return found


def main(names: list[str]) -> None:
    kept = json.loads(_FILE.read_text("utf-8")) if _FILE.exists() else {}
    kept |= {"source": _SOURCE} | {name: measured(name) for name in names or DEMOS}
    _FILE.write_text(json.dumps(kept, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
