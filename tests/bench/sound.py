"""Sound builds to judge windows by: like those that the forecast draws, but with other constants than it knows of.

Beside all that the forecast draws (parts within tolerance, valves as they are bought, mains, meter) each build's valves
differ from their type's constants: amplification factor and current by 3 to 8 % either way, exponent by up to 1 %, the
constants of knee and screen by up to 5 %, in common for a type, as makers and years differ (common practice, no
source). Readings move a little while the others are taken, and no digit is like another.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.circuit.elements import Circuit, Diode, Element, Value, Valve
from benchtui.circuit.operate import Trim, operate
from benchtui.forecast.drawn import powered_points, read_points
from benchtui.forecast.run import stage_run
from benchtui.parts.guide import spread
from tests.builds import recorded
from tests.reference import amplifiers

NAMES = (*amplifiers.NAMES, *recorded.NAMES)

MAINS_SHARES = (0.94, 0.97, 1.0, 1.03, 1.06)
"""What the mains is read to be, as shares of its rating: few, so that they repeat. At 10 % over many a heater of a
sound build is over its own limit of 10 %, and the stop is right."""

OFF_TYPE = (0.03, 0.08)
OFF_EXPONENT, OFF_SHAPE, OFF_MOMENT = 0.01, 0.05, 0.005

_OF_TYPE = {"mu of the type", "current of the type"}


class SoundDraw(Draw):
    """Factors of sound builds in one stage: fresh digits for each reading, and types that are off by `OFF_TYPE`."""

    def __init__(self, samples: int, seed: int, stage: str) -> None:
        super().__init__(samples, seed)
        self._seed = seed
        self._stage = stage

    def factor(self, part: str, parameter: str, tolerance: tuple[float, float]) -> Value:
        """The same as the forecast's, but for digits and types."""
        if parameter in _OF_TYPE:
            return 1.0
        if parameter.endswith("digits"):
            parameter = f"{parameter} in {self._stage}"
        return super().factor(part, parameter, tolerance)

    def off(self, kind: str, constant: str) -> np.ndarray:
        """How far a constant of a type is off in each build, as a factor (samples,)."""
        rng = self._own(kind, constant)
        return 1.0 + rng.uniform(*OFF_TYPE, self.samples) * rng.choice([-1.0, 1.0], self.samples)

    def slightly(self, kind: str, constant: str) -> np.ndarray:
        """The same for exponent, knee and screen."""
        most = OFF_EXPONENT if constant.endswith("ex") else OFF_SHAPE
        return 1.0 + self._own(kind, constant).uniform(-most, most, self.samples)

    def _own(self, kind: str, constant: str) -> np.random.Generator:
        return np.random.default_rng([self._seed, 2, crc32(f"{kind}/{constant}".encode())])


@dataclass(frozen=True, eq=False)
class Sound:
    """Sound builds of one kind: by stage the mains as read (builds,) and the readings (builds, points), with names."""

    build: Build
    mains_v: Mapping[str, np.ndarray]
    points: Mapping[str, tuple[str, ...]]
    readings: Mapping[str, np.ndarray]

    def record(self, number: int, stage: str) -> dict[str, float]:
        """Point -> reading of one build in one stage; what did not settle or floats is left out."""
        values = zip(self.points[stage], self.readings[stage][number].tolist(), strict=True)
        return {point: value for point, value in values if np.isfinite(value)}


def made(name: str) -> Build:
    """A reference amplifier or a demo build."""
    return (amplifiers.build(name) if name in amplifiers.NAMES else recorded.build(name)).build


def powered_stages(build: Build) -> list[str]:
    """The stages that are read with power on, in order."""
    return [info.id for info in stages(build) if powered_points(build, info.id)]


def sound_builds(build: Build, count: int, seed: int, *, at_rated: bool = False) -> Sound:
    """`count` sound builds through all powered stages, on any mains of its spread or (`at_rated`) on rated mains."""
    rng = np.random.default_rng([seed, 1])
    base = np.sort(rng.integers(0, len(MAINS_SHARES), count))
    mains, points, values = {}, {}, {}
    for stage in powered_stages(build):
        moved = np.clip(base + rng.choice([0, 0, 0, 0, -1, 1], count), 0, len(MAINS_SHARES) - 1)
        share = np.clip(np.array(MAINS_SHARES), 1.0 - build.mains.spread, 1.0 + build.mains.spread)[moved]
        mains[stage] = build.mains.volts * (np.ones(count) if at_rated else share)
        points[stage], values[stage] = _read(build, stage, mains[stage], SoundDraw(count, seed, stage))
        moment = rng.uniform(-OFF_MOMENT, OFF_MOMENT, values[stage].shape)
        values[stage] = values[stage] * (1.0 + moment)
    return Sound(build, mains, points, values)


def _read(build: Build, stage: str, mains_v: np.ndarray, draw: SoundDraw) -> tuple[tuple[str, ...], np.ndarray]:
    share, digits = build.meter.ac
    gain = draw.factor("meter", "ac", (-share, share))
    last_v = draw.factor("mains", "digits", (-digits, digits)) - 1.0
    nominal = {volts: stage_run(build, stage, mains_v=float(volts)) for volts in np.unique(mains_v)}
    targets = {
        name: np.array([nominal[volts].targets[name] for volts in mains_v])
        * draw.factor(name, "target", spread("trim.reached"))
        for name in nominal[mains_v[0]].targets
    }
    state = replace(nominal[mains_v[0]].state, mains_v=(mains_v - 0.1 * last_v) / gain)
    circuit = _off_type(build, assemble(build, state, draw), draw)
    found = operate(circuit, trims=_trims(build, targets), start=stage_run(build, stage).nominal)
    nodes = found.system.network.nodes.keys() | {"0"}
    points = {name: build.point[name] for name in powered_points(build, stage)}
    points = {name: point for name, point in points.items() if {point.red, point.black} <= nodes}
    return tuple(points), read_points(build, found, points, draw)


def _trims(build: Build, targets: Mapping[str, np.ndarray]) -> list[Trim]:
    adjusted = {name: build.adjust[name] for name in targets}
    at = {name: build.point[each.point] for name, each in adjusted.items()}
    return [Trim(adjusted[n].pot, at[n].red, at[n].black, targets[n], build.meter.input) for n in sorted(targets)]


def _off_type(build: Build, circuit: Circuit, draw: SoundDraw) -> Circuit:
    kinds = {section.id: section.type for section in sections(build)}
    elements = (_valve_off(each, kinds[each.name], draw) if each.name in kinds else each for each in circuit.elements)
    return replace(circuit, elements=tuple(elements))


def _valve_off(element: Element, kind: str, draw: SoundDraw) -> Element:
    """The valve with its type's constants as its maker has them."""
    if not isinstance(element, (Valve, Diode)):
        return element
    constants = dict(element.law.constants)
    for name, value in constants.items():
        if name in ("mu", "kg1", "kd", "perveance_a_v15"):
            constants[name] = value * draw.off(kind, name)
        elif name in ("ex", "screen_ex", "kvb", "kg2"):
            constants[name] = value * draw.slightly(kind, name)
    return replace(element, law=replace(element.law, constants=constants))
