"""The load line of a valve section: characteristics by its own law, and the loads that the whole circuit gives it.

Nothing is simplified for the picture: the operating point is the stage's nominal run, the curves are the law that this
run was solved with, and the slopes of both lines are the solved circuit's own answer to the valve's current.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from benchtui.assemble.valves import Section, sections
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.circuit.devices import VALVE_FORMS
from benchtui.circuit.elements import CHASSIS, Valve
from benchtui.circuit.load import signal_load, steady_ohms
from benchtui.circuit.operating import Operating
from benchtui.forecast.drawn import powered_points
from benchtui.forecast.run import stage_run

SIGNAL_HZ = 1000.0
"""Where the signal's load line is taken: mid band."""

POINTS = 61
"""Points of a curve, enough for a smooth knee on paper."""

_CURVES = 8
_STEPS = (0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0)


@dataclass(frozen=True)
class Curve:
    """Anode current at one grid volts, over anode volts to cathode."""

    grid_v: float
    volts: tuple[float, ...]
    amps: tuple[float, ...]


@dataclass(frozen=True)
class OperatingPoint:
    """Anode volts to cathode, and anode amperes."""

    volts: float
    amps: float


@dataclass(frozen=True)
class LoadLines:
    """All that a picture of one section in one stage needs; volts are to the cathode.

    `screen_share` is how far the screen follows the anode's swing in the curves: 0 as a pentode, 1 joined to the anode.
    `opposite` are the sections of the other half of a push-pull stage. Ratings are None where none is known.
    """

    section: str
    type: str
    stage: str
    mains_v: float
    point: OperatingPoint
    grid_v: float
    screen_v: float | None
    screen_share: float
    steady_ohm: float
    signal_ohm: float
    opposite: tuple[str, ...]
    curves: tuple[Curve, ...]
    top: OperatingPoint
    """Where the axes end."""

    rated_w: float | None
    rated_v: float | None


def drawable(build: Build, stage: str) -> tuple[Section, ...]:
    """The amplifying sections that carry current in `stage`."""
    run = stage_run(build, stage)
    names = run.nominal.system.network.valve_names
    return tuple(s for s in sections(build) if s.id in names and s.kind in ("triode", "pentode"))


def stage_of(build: Build, section: str) -> str | None:
    """The powered stage that reads most direct volts at `section`, which carries current there; the last of equals.

    With feedback open if there is such a stage.
    """
    closed = {link.stage for link in build.link.values() if link.feedback}
    own = next((set(each.nodes.values()) - {CHASSIS} for each in sections(build) if each.id == section), set())
    listed = (info.id for info in stages(build) if info.kind == "power")
    powered = [stage for stage in listed if powered_points(build, stage)]
    found = [stage for stage in powered if any(s.id == section for s in drawable(build, stage))]
    opened = [stage for stage in found if stage not in closed]
    read = [
        (sum(build.point[id].quantity == "dc" and build.point[id].red in own for id in powered_points(build, stage)), n)
        for n, stage in enumerate(opened or found)
    ]
    return (opened or found)[max(read)[1]] if read else None


def load_lines(build: Build, stage: str, section: str) -> LoadLines:
    """The load lines of `section` in `stage` at rated mains.

    Raises KeyError where the section carries no current there, ValueError where the stage does not settle.
    """
    of = {each.id: each for each in drawable(build, stage)}
    if section not in of:
        raise KeyError(section)
    run = stage_run(build, stage)
    found = run.nominal
    if found.blame[0] is not None:
        raise ValueError(f"stage {stage} could not be solved, node {found.blame[0]} does not settle")
    valve, at = of[section], found.valve(section)
    point = OperatingPoint(float(at.anode_v[0]), float(at.anode_a[0]))
    driven = _driven(build, valve, of)
    ohm, share = (float(each[0]) for each in signal_load(found, section, driven, SIGNAL_HZ))
    steady = float(steady_ohms(found, section)[0])
    top_v = 1.05 * max(point.volts + point.amps * ohm, point.volts + point.amps * min(steady, 10.0 * ohm))
    pentode = valve.kind == "pentode"
    share = share if pentode else 0.0
    curves = _curves(found, section, float(at.grid_v[0]), (point.volts, float(at.screen_v[0]), share), top_v)
    highest_a = max(max(curve.amps) for curve in curves)
    top_a = min(highest_a, 1.15 * max(point.amps + point.volts / ohm, 1.5 * point.amps))
    return LoadLines(
        section, valve.type, stage, run.state.mains_v, point, float(at.grid_v[0]),
        float(at.screen_v[0]) if pentode else None, share, steady, ohm,
        tuple(name for name, sign in driven.items() if sign < 0.0), curves, OperatingPoint(top_v, top_a),
        _rated(valve, "anode_w"), _rated(valve, "anode_v"),
    )  # fmt: skip


def measured_point(build: Build, lines: LoadLines, volts: Mapping[str, float]) -> tuple[OperatingPoint, str] | None:
    """Where the section stands by `volts` (node = volts to chassis as read), and the part whose drop told its current.

    The anode's own resistor comes first; of a cathode's current the anode has the share that was computed. None where
    anode or cathode were not read, or no resistor of known value carries that current alone.
    """
    section = next(each for each in sections(build) if each.id == lines.section)
    known = {CHASSIS: 0.0, **volts}
    anode, cathode = section.nodes["anode"], section.nodes["cathode"]
    if anode not in known or cathode not in known:
        return None
    share = 1.0
    for node in (anode, cathode):
        alone = sum(node in each.nodes.values() for each in drawable(build, lines.stage)) == 1
        drops = [
            name for name, part in build.resistor.items() if node in part.nodes and set(part.nodes) <= known.keys()
        ]
        if alone and len(drops) == 1:
            part = build.resistor[drops[0]]
            amps = abs(known[part.nodes[0]] - known[part.nodes[1]]) / (part.measured or part.value)
            return OperatingPoint(known[anode] - known[cathode], amps * share), drops[0]
        at = stage_run(build, lines.stage).nominal.valve(lines.section)
        share = float((at.anode_a / at.cathode_a)[0])
    return None


def _driven(build: Build, section: Section, here: Mapping[str, Section]) -> dict[str, float]:
    """Sections whose signal current goes with that of `section` (1) or against it (-1): those on its transformer."""
    anode = section.nodes["anode"]
    found = {section.id: 1.0}
    for part in build.output_transformer.values():
        if anode in part.anodes:
            others = [each for each in here.values() if each.nodes["anode"] in part.anodes]
            found |= {each.id: 1.0 if each.nodes["anode"] == anode else -1.0 for each in others}
    return found


def _curves(
    found: Operating, name: str, grid_v: float, screen: tuple[float, float, float], top_v: float
) -> tuple[Curve, ...]:
    """Characteristics from zero grid volts down to twice the bias; `screen` is (anode, screen volts, share) at rest."""
    element = next(each for each in found.circuit.elements if isinstance(each, Valve) and each.name == name)
    law = VALVE_FORMS[element.law.form]
    constants = {key: np.asarray(value, dtype=float) for key, value in element.law.constants.items()}
    volts = np.linspace(0.0, top_v, POINTS)
    rest_v, screen_v, share = screen
    screens = np.maximum(screen_v + share * (volts - rest_v), 0.0)
    reach = max(2.0 * abs(grid_v), 1.0)
    step = next((step for step in _STEPS if reach / step <= _CURVES), _STEPS[-1])
    return tuple(
        Curve(grid, tuple(map(float, volts)), tuple(map(float, amps)))
        for grid in (-step * n if n else 0.0 for n in range(int(reach / step) + 1))
        for amps in [law(volts, screens, np.full(POINTS, grid), constants).amps[0] * element.emission]
        if grid == 0.0 or amps.max() > 0.0
    )


def _rated(section: Section, name: str) -> float | None:
    rating = section.ratings.get(name)
    return rating.value if rating is not None else None
