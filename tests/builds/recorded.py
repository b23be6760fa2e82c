"""Readings and stresses of the demo builds by ngspice, kept beside this file.

    python -m tests.builds.recorded [BUILD ...]

makes them anew. Ohms are without the meter's leads, and "OL" where nothing joins the two nodes.
"""

from __future__ import annotations

import json
import sys
from functools import cache
from math import inf
from pathlib import Path
from typing import Any

from benchtui.buildfile.load import Loaded, load
from benchtui.buildfile.models import Build
from tests.builds import spice
from tests.builds.deck import moment
from tests.builds.stress import stresses

NAMES = ("pp-6v6", "pp-el34", "se-stereo")
BUILDS = Path(__file__).parents[2] / "builds"

_HERE = Path(__file__).parent
_SOURCE = (
    "By ngspice 39 from a deck made of the build file and the parts library (tests/builds/deck.py), not from a real "
    "amplifier: a model, and no permission to open a live chassis."
)


@cache
def build(name: str) -> Loaded:
    """The demo build called `name`."""
    return load(BUILDS / f"{name}.toml")


def readings(name: str) -> dict[str, dict[str, float]]:
    """Stage -> point -> what the meter shows at rated mains, in SI; infinite where an ohmmeter shows OL."""
    return {
        stage: {point: inf if value == "OL" else value for point, value in entry["readings"].items()}
        for stage, entry in recorded(name)["stages"].items()
    }


@cache
def recorded(name: str) -> dict[str, Any]:
    """The whole record: `stages` at rated mains, `highest` the stresses at the highest mains, pots as trimmed."""
    return json.loads((_HERE / f"{name}.json").read_text("utf-8"))


def stage_record(build: Build, stage: str) -> dict[str, Any]:
    """Readings, pots and stresses of one stage at rated mains."""
    if stage not in spice.powered(build):
        return {"readings": _plain(spice.ohms(build, moment(build, stage)))}
    run, shown = spice.measure(build, stage)
    return {"pots": run.moment.pots, "readings": _plain(shown), "stresses": stresses(build, run)}


def record(name: str) -> dict[str, Any]:
    """Every stage of a build that is read, at rated mains, and the stresses of its HT stages at the highest mains."""
    made = build(name).build
    read = {stage for point in made.point.values() for stage in point.stages}
    entries = {info: stage_record(made, info) for info in spice.in_order(made) if info in read}
    highest = {}
    for stage in ("supply", "output", "driver"):
        high_v = made.mains.volts * (1.0 + made.mains.spread)
        run, _ = spice.measure(made, stage, mains_v=high_v, pots=entries[stage]["pots"])
        highest[stage] = stresses(made, run)
    return {"source": _SOURCE, "mains_v": made.mains.volts, "stages": entries, "highest": highest}


def _plain(shown: dict[str, float]) -> dict[str, float | str]:
    return {point: "OL" if value == inf else value for point, value in shown.items()}


def _rounded(plain: Any) -> Any:
    if isinstance(plain, float):
        return float(f"{plain:.6g}")
    return {key: _rounded(value) for key, value in plain.items()} if isinstance(plain, dict) else plain


def main(names: list[str]) -> None:
    """Writes the records of the builds called `names`, all of them without any."""
    for name in names or NAMES:
        text = json.dumps(_rounded(record(name)), indent=1)
        (_HERE / f"{name}.json").write_text(text + "\n", "utf-8")
        print(name)


if __name__ == "__main__":
    main(sys.argv[1:])
