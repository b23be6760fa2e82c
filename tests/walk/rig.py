"""An amplifier on the bench, as light as a walk needs it: what is plugged and clipped, and what a meter would show.

Volts at full mains are readings from outside the engine; after power-down they fall by the build's own capacitors and
bleeders; ohms come from `ohms.py`. Pots begin at their most negative, where next to no current flows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import exp, inf
from statistics import fmean

from benchtui.buildfile.models import Build, Point
from benchtui.buildfile.stages import fitted
from tests.builds.deck import CHASSIS
from tests.walk.clock import StillClock
from tests.walk.ohms import Ohms

Volts = Mapping[str, Mapping[str, float]]
"""Stage -> point -> what the meter shows there at full mains, pots trimmed."""

#: What a lamp leaves to an amplifier without a short, as a share of its volts: low, and not nothing for any lamp.
LAMP_SHARE = 0.9

#: What a trimmed reading is before its pot was turned, as a share of what it is to be.
UNTRIMMED_SHARE = 0.05

#: Without a bleeder a reservoir keeps its charge for all that a walk knows.
_FOR_EVER_S = 1e9


@dataclass
class Rig:
    """The amplifier `build`, its readings `volts`, and the mains of today."""

    build: Build
    volts: Volts
    clock: StillClock
    mains_v: float = 230.0
    bleeders: bool = True
    dead_pots: bool = False
    """Nothing that is turned changes a reading."""

    salvaged: dict[str, float] = field(default_factory=dict)
    """Capacitor -> volts that it holds as it comes onto the bench."""

    stage: str = ""
    plugged: bool = False
    powered: bool = False
    limited: bool = False
    clip: tuple[str, str] | None = None
    links: tuple[tuple[str, str], ...] = ()
    """Clip leads with the clip's resistor, beside the clip or, in a chassis that never met mains, alone."""

    pots: dict[str, float] = field(default_factory=dict)
    """Trimmed point -> its reading as a share of what it is when trimmed."""

    _off_s: float = -inf
    _charged_in: str = ""
    _ohms: dict[object, Ohms] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.pots = {trim.point: UNTRIMMED_SHARE for trim in self.build.adjust.values()}

    # -- what is done

    def switch_on(self, *, limited: bool) -> None:
        self.plugged = self.powered = True
        self.limited = limited

    def switch_off(self) -> None:
        if self.powered:
            self._off_s, self._charged_in = self.clock.steady(), self.stage
        self.powered = self.limited = False

    def bleed(self) -> None:
        """Every charge is led away, through the clip's resistor."""
        self._charged_in = ""

    def turn(self, point: str, wanted: float) -> None:
        """Turn the pot of `point` until the meter shows `wanted`."""
        self.pots[point] = wanted / self.volts[self.stage][point]

    # -- what a meter shows

    def reads(self, id: str) -> float:
        """The point `id` now: volts as they are with power on, ohms with it off."""
        point = self.build.point[id]
        if point.quantity == "resistance":
            return self.ohms(point.red, point.black)
        return self._full(self.stage, id) * self._mains_share() if self.powered else 0.0

    def on_the_bench(self, capacitor: str) -> float:
        """Volts across a capacitor that is not fitted yet."""
        if self.build.capacitor[capacitor].stage != self.stage:
            raise ValueError(f"{capacitor} is not fitted in stage {self.stage}")
        return self.salvaged.get(capacitor, 0.0)

    def volts_between(self, red: str, black: str = CHASSIS) -> float:
        """Direct volts between two nodes, with power on or as they fall after power-down."""
        return self._node(red) - self._node(black)

    def ohms(self, red: str, black: str = CHASSIS) -> float:
        """Ohms between two nodes as the present stage is wired, with the bleed clip and the links where they are."""
        clips = self.links if self.clip is None else (self.clip, *self.links)
        return self._known_ohms(self.stage, clips).between(red, black)

    # -- within

    def _mains_share(self) -> float:
        return LAMP_SHARE if self.limited else 1.0

    def _full(self, stage: str, id: str) -> float:
        """A reading at full mains as the pots stand: between those off load and those of pots all trimmed."""
        trimmed = self.volts[stage][id]
        if self.dead_pots:
            return trimmed
        if id in self.pots:
            return trimmed * self.pots[id]
        trims = [trim.point for trim in self.build.adjust.values() if stage in trim.stages]
        unloaded = self.volts.get("supply", {}).get(id, trimmed)
        if not trims or self.build.point[id].quantity != "dc":
            return trimmed
        return unloaded + (trimmed - unloaded) * fmean(self.pots[point] for point in trims)

    def _node(self, node: str) -> float:
        stage = self.stage if self.powered else self._charged_in
        if node == CHASSIS or not stage:
            return 0.0
        full = self._node_volts(stage, node)
        if self.powered:
            return full * self._mains_share()
        return full * exp(-(self.clock.steady() - self._off_s) / self._falls_in_s(stage))

    def _node_volts(self, stage: str, node: str) -> float:
        """Direct volts of a node to chassis: read there, or, where no point is, the highest that is read anywhere."""
        points = {id: p for id, p in self.build.point.items() if stage in p.stages and _to_chassis(p)}
        found = next((id for id, point in points.items() if point.red == node), None)
        if found is not None:
            return self._full(stage, found)
        return max((self._full(stage, id) for id in points), key=abs, default=0.0)

    def _falls_in_s(self, stage: str) -> float:
        """A time constant: every capacitor to chassis, and what the largest one finds as its way there, valves cold."""
        if not self.bleeders:
            return _FOR_EVER_S
        here = fitted(self.build, stage)
        held = [part for key, part in self.build.capacitor.items() if key in here and CHASSIS in part.nodes]
        if not held:
            return 1.0
        largest = max(held, key=lambda part: part.value * part.volts**2)
        end = next(node for node in largest.nodes if node != CHASSIS)
        farad = sum(part.value for part in held if part.volts >= largest.volts / 3)
        return self._known_ohms(stage, ()).between(end) * farad

    def _known_ohms(self, stage: str, clips: tuple[tuple[str, str], ...]) -> Ohms:
        if (stage, clips) not in self._ohms:
            self._ohms[stage, clips] = Ohms(self.build, stage, clips)
        return self._ohms[stage, clips]


def _to_chassis(point: Point) -> bool:
    return point.quantity == "dc" and point.black == CHASSIS
