"""Every rating of a finished build with its margin: what stands against it at measured and at the highest mains.

The state is that of the last powered stage, hot and without signal; capacitors and resistors also with cold cathodes
at the highest mains, which is the moment of switch-on. What a sine at full power brings has rows of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite, isnan
from typing import Literal

from benchtui.assemble.valves import heaters, sections
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import SIGNAL, stages
from benchtui.buildfile.whole import last_powered
from benchtui.circuit.operating import Operating
from benchtui.forecast.full_drive import Borne, borne, supply
from benchtui.forecast.reservoirs import capacitor_peaks
from benchtui.forecast.review_state import StageStates, first, stage_states
from benchtui.forecast.rules_parts import RATING
from benchtui.forecast.rules_supply import mean_currents, peak_inverse, rectifiers
from benchtui.forecast.rules_valves import same_circuit
from benchtui.forecast.run import stage_run
from benchtui.parts.guide import guide, spread
from benchtui.parts.guide import value as guide_value

_VALVE = (
    ("anode_w", "anode dissipation", "W"),
    ("screen_w", "screen dissipation", "W"),
    ("anode_v", "anode to cathode", "V"),
    ("screen_v", "screen to cathode", "V"),
    ("cathode_a", "cathode current", "A"),
)


#: Under this share of its limit a value is rounding of the solver.
_NOTHING = 1e-6


@dataclass(frozen=True)
class Margin:
    """One rating: `here` and `high` are what stands against it at measured and at the highest mains, in `unit`.

    `share` is the smaller margin of both, as a share of the limit: 0.2 is a fifth below it, negative beyond it. A
    design-centre rating is held at measured mains, and at its `ceiling` a tenth above it at the highest: it was made
    for that. Of a heater `here`, `high` and `limit` are volts, and the margin is what is left at measured mains of the
    deviation that is `allowed` either way, as a share of the limit.
    """

    part: str
    quantity: str
    unit: str
    here: float
    high: float
    limit: float
    share: float
    source: str
    ceiling: float
    """The limit at the highest mains."""

    allowed: float = 0.0
    """How far it may be off its limit either way; 0 where it must stay below."""

    @property
    def standing(self) -> Standing:
        """How it stands in a word."""
        if isnan(self.share):
            return "unknown"
        if self.share < 0.0:
            return "past"
        return "close" if self.share < guide_value("margin.close") else "within"


Standing = Literal["within", "close", "past", "unknown"]


@lru_cache(maxsize=8)
def margins(build: Build, mains_v: float) -> tuple[Margin, ...]:
    """Every rating that is known, the least margin first; empty where nothing has power or does not settle.

    `mains_v` is the mains measured in the last powered stage. What cannot be computed comes before all, with NaN.
    """
    last = last_powered(build)
    states = stage_states(build, last.id) if last is not None else None
    if last is None or states is None:
        return ()
    here = stage_run(build, last.id, mains_v=mains_v).nominal
    if not bool(here.settled[0]):
        return ()
    found = (*_parts(states, here), *_valves(states, here), *_supply(states, here), *_heaters(states, here),
             *_at_full_power(build, mains_v))  # fmt: skip
    return tuple(sorted(found, key=lambda each: (isfinite(each.share), each.share, each.part)))


def _margin(
    part: str,
    quantity: str,
    unit: str,
    here: float,
    high: float,
    limit: float,
    source: str,
    ceiling: float | None = None,
) -> Margin:
    """`ceiling` is the limit at the highest mains, where it is another one; next to nothing is told as zero."""
    top = limit if ceiling is None else ceiling
    here, high = (0.0 if abs(each) < _NOTHING * limit else each for each in (here, high))
    return Margin(part, quantity, unit, here, high, limit, min(1.0 - here / limit, 1.0 - high / top), source, top)


def _parts(states: StageStates, here: Operating) -> Iterator[Margin]:
    """Capacitors, resistors, pots, loads and chokes."""
    build, present = states.build, {*here.system.network.linear_names, *here.system.network.tracks}
    now = capacitor_peaks(build, states.state, here)
    tops = [capacitor_peaks(build, states.state, found) for _, found in states.at_high_mains]
    for name, volts in now.items():
        rated = build.capacitor[name].volts
        yield _margin(name, "volts", "V", volts, max(top[name] for top in tops), rated, RATING)
    for table in ("resistor", "pot", "load"):
        for name, part in getattr(build, table).items():
            if name in present and part.watts:
                watts = [abs(first(found.power(name))) for found in (here, states.high, states.cold)]
                yield _margin(name, "dissipation", "W", watts[0], max(watts[1:]), part.watts, RATING)
    for name, part in build.resistor.items():
        if name in present and part.volts:
            across = [abs(first(found.dc(*part.nodes))) for found in (here, states.high, states.cold)]
            known = [each for each in across[1:] if isfinite(each)]
            if isfinite(across[0]) and known:
                yield _margin(name, "volts", "V", across[0], max(known), part.volts, RATING)
    for name, part in build.choke.items():
        if name in present and part.amps:
            amps = [abs(first(found.current(name))) for found in (here, states.high)]
            yield _margin(name, "current", "A", amps[0], amps[1], part.amps, RATING)


def _valves(states: StageStates, here: Operating) -> Iterator[Margin]:
    network, heater_at = here.system.network, {heater.valve: heater.a for heater in heaters(states.build)}
    for section in sections(states.build):
        if section.id in network.valve_names:
            for name, quantity, unit in _VALVE:
                rating = section.ratings.get(name)
                if rating is not None and (name != "screen_v" or "screen" in section.nodes):
                    both = (first(getattr(found.valve(section.id), name)) for found in (here, states.high))
                    yield _margin(section.id, quantity, unit, *both, rating.value, rating.source, rating.ceiling)
        rating, node = section.ratings.get("heater_cathode_v"), heater_at.get(section.valve)
        cathode = section.nodes.get("cathode", "")
        if rating is None or node is None or {node, cathode} - set(network.nodes) or same_circuit(states, section):
            continue
        volts = [abs(first(found.dc(cathode, node))) for found in (here, states.high, states.cold)]
        known = [each for each in volts[1:] if isfinite(each)]
        if isfinite(volts[0]) and known:
            yield _margin(
                section.id, "heater to cathode", "V", volts[0], max(known), rating.value, rating.source, rating.ceiling
            )


def _supply(states: StageStates, here: Operating) -> Iterator[Margin]:
    """Windings, rectifiers and fuses."""
    for each in supply(states, here, states.high):
        yield _held(each, each.quantity)
    for name, anode, cathode, ratings in rectifiers(states):
        rating = ratings.get("inverse_v")
        if rating is not None and isfinite(now := peak_inverse(here, anode, cathode)):
            worst = max(peak_inverse(found, anode, cathode) for found in (states.high, states.cold))
            yield _margin(name, "inverse volts", "V", now, worst, rating.value, rating.source, rating.ceiling)
    here_a, high_a = mean_currents(states, here), mean_currents(states, states.high)
    for name, (amps, rating) in here_a.items():
        yield _margin(name, "mean current", "A", amps, high_a[name][0], rating.value, rating.source, rating.ceiling)


def _held(of: Borne, quantity: str) -> Margin:
    return _margin(of.part, quantity, of.unit, of.here, of.high, of.limit, of.source, of.ceiling)


def _at_full_power(build: Build, mains_v: float) -> Iterator[Margin]:
    """What a sine just before clipping takes, where there is a channel to play it."""
    if not any(info.id == SIGNAL and info.kind == "power" for info in stages(build)):
        return
    states = stage_states(build, SIGNAL)
    for each in borne(states, mains_v) if states is not None else ():
        yield _held(each, f"{each.quantity}, full power")


def _heaters(states: StageStates, here: Operating) -> Iterator[Margin]:
    """Volts beside rated ones; the deviation that is allowed counts at measured mains, up and down."""
    allowed = spread("heater.limit")[1]
    for heater in heaters(states.build):
        if heater.id in here.system.network.linear_names:
            volts = [first(found.ac_rms(heater.a, heater.b)) for found in (here, states.high)]
            if all(each > 1e-6 for each in volts):
                off = abs(volts[0] / heater.rated_v - 1.0)
                source, rated = guide("heater.limit").source, heater.rated_v
                yield Margin(
                    heater.valve, "heater volts", "V", *volts, rated, 1.0 - off / allowed, source, rated, allowed
                )
