"""What an ohmmeter should show on the unpowered circuit of a stage."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import resistances
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS, Circuit
from benchtui.circuit.resistance import Unpowered, paths
from benchtui.forecast.charging import Charging, charging
from benchtui.forecast.clip import Ends, clips_on, powered_before
from benchtui.forecast.guarded import guarded_expectation
from benchtui.forecast.meter import resolution, shown
from benchtui.forecast.run import SAMPLES
from benchtui.forecast.windows import FLOOR_SHARE, dominant, joint_windows
from benchtui.parts.guide import guide
from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Expectation, Limit


def expect_ohms(
    build: Build, stage: str, *, clips: tuple[Ends, ...] | None = None, samples: int = SAMPLES
) -> tuple[Expectation, ...]:
    """The resistance points of `stage`, read with hands in and the bleed clip or the links across `clips`.

    None: clip and links from the first power on, before it nothing. Points on no node are left out.
    """
    points = {n: p for n, p in build.point.items() if stage in p.stages and p.quantity == "resistance"}
    if not points:
        return ()
    bench = ohms_bench(build, stage, clips=clips, samples=samples)
    points = {name: point for name, point in points.items() if {point.red, point.black} <= bench.nominal.nodes}
    bench.touch(node for point in points.values() for node in (point.red, point.black))
    return tuple(
        guarded_expectation(build, name, point, bench.ohm(point.red, point.black))
        if point.guards in ("bond", "insulation")
        else expect_between(bench, name, point.red, point.black, guards=point.guards)
        for name, point in points.items()
    )


@dataclass(frozen=True, eq=False)
class OhmsBench:
    """What the ohmmeter meets in a stage: nominal and drawn as it is read, and nominal without clip and links."""

    build: Build
    state: State
    circuit: Circuit
    bare: Unpowered
    nominal: Unpowered
    drawn: Unpowered
    draw: Draw

    def ohm(self, red: str, black: str) -> float:
        """Nominal ohms between two nodes; inf where no path joins them."""
        return float(self.nominal.between(red, black)[0])

    def charging(self, red: str, black: str) -> Charging:
        """How the nominal reading comes about while capacitors charge from the meter."""
        polarised = {name for name, part in self.build.capacitor.items() if part.make == "electrolytic"}
        return charging(self.circuit, self.nominal, red, black, polarised)

    def touch(self, nodes: Iterable[str]) -> None:
        """Solve for the probes at `nodes` together."""
        self.drawn.touch(nodes)


def ohms_bench(build: Build, stage: str, *, clips: tuple[Ends, ...] | None = None, samples: int = SAMPLES) -> OhmsBench:
    """The unpowered circuit of `stage`; `clips` as for `expect_ohms`."""
    state, draw = stage_state(build, stage), Draw(samples)
    bare = Unpowered(paths(resistances(build, state).elements))
    state = clipped(build, stage, state, bare, clips)
    circuit = resistances(build, state)
    drawn = Unpowered(paths(resistances(build, state, draw).elements))
    return OhmsBench(build, state, circuit, bare, Unpowered(paths(circuit.elements)), drawn, draw)


def clipped(build: Build, stage: str, state: State, bare: Unpowered, clips: tuple[Ends, ...] | None = None) -> State:
    """The state with `clips` on, as for `expect_ohms`, of those whose nodes are in the `bare` circuit."""
    if clips is None:
        clips = clips_on(build, stage, linked=False) if powered_before(build, stage) else ()
    return replace(state, clips=tuple(ends for ends in clips if set(ends) <= bare.nodes))


def expect_between(bench: OhmsBench, name: str, red: str, black: str, *, guards: str | None = None) -> Expectation:
    """What the meter should show between two nodes; open where no path joins them."""
    value, charges = bench.ohm(red, black), bench.charging(red, black)
    if not np.isfinite(value):
        least = guide("insulation.open").value
        return Expectation(name, "resistance", "ohm", value, least, np.inf, why=charges.says, guards=guards)
    meter = bench.build.meter
    values = shown(meter, "resistance", bench.drawn.between(red, black), bench.draw, f"{red} to {black}")
    last_digit = resolution(meter, "resistance", np.array([value]))
    low, high = joint_windows(values[:, None], np.array([value]), last_digit)[0]
    bare = float(bench.bare.between(red, black)[0])
    clipped = () if abs(value - bare) < FLOOR_SHARE * value else (_clip_on(bench, bare),)
    return Expectation(
        point=name,
        quantity="resistance",
        unit="ohm",
        nominal=value,
        low=float(low),
        high=float(high + meter.lead_ohm),
        stop_low=_short(1.0 / value - 1.0 / bare) if _is_rail(bench, {red, black}, bare) else None,
        why=(*clipped, *dominant(values, bench.draw.drawn), *charges.says),
        guards=guards,
    )


def _clip_on(bench: OhmsBench, bare_ohm: float) -> str:
    places = "; ".join(f"{red} to {black}" for red, black in bench.state.clips)
    ohm, without = show(bench.build.gate.clip, "ohm"), show(bare_ohm, "ohm", 3)
    one = len(bench.state.clips) == 1
    what = f"the bleed clip ({ohm}, {places}) is on and counts" if one else f"{ohm} each from {places} count"
    return f"{what} in; without {without}"


def _is_rail(bench: OhmsBench, ends: set[str], bare_ohm: float) -> bool:
    """Whether the reading is a smoothed rail's to chassis, which nothing but bleeders loads."""
    capacitors = (part for name, part in bench.build.capacitor.items() if name in bench.state.fitted)
    smoothed = any(set(part.nodes) == ends for part in capacitors)
    return smoothed and CHASSIS in ends and bare_ohm > 5.0 * guide("ht_to_chassis.stop").value


def _short(clip_siemens: float) -> Limit:
    """The reading of a rail that is shorted, with what the clip adds to it."""
    least = guide("ht_to_chassis.stop")
    ohm = 1.0 / (1.0 / least.value + clip_siemens)
    return Limit(ohm, f"a rail under 1 kohm to chassis is shorted ({least.source})")
