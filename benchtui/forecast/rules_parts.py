"""Rules of the review for capacitors, resistors and chokes."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import numpy as np

from benchtui.buildfile.models import Capacitor
from benchtui.forecast.reservoirs import capacitor_peaks
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, first, of_limit
from benchtui.forecast.switched_on import switched_on
from benchtui.parts.guide import guide
from benchtui.parts.guide import value as guide_value
from benchtui.quantities.show import show

RATING = "the part's own rating in the build file"


def capacitor_volts(states: StageStates) -> Iterator[Finding]:
    margin = guide("capacitor.margin_share")
    for when, found in states.at_high_mains:
        for name, volts in capacitor_peaks(states.build, states.state, found).items():
            part = states.build.capacitor[name]
            text = f"{name}, {when} at the highest mains: {of_limit(volts, part.volts, 'V')}"
            if volts > max(part.volts, part.surge or 0.0):
                yield states.find("stop", name, "capacitor-volts", text, volts, part.volts, RATING)
            elif volts > part.volts:
                yield states.find("warn", name, "capacitor-volts", text, volts, part.volts, RATING)
            elif margin.value * part.volts < volts < part.volts:
                yield states.find("note", name, "capacitor-volts", text, volts, part.volts, margin.source)


def switch_on_volts(states: StageStates) -> Iterator[Finding]:
    """A filter swings above its steady volts before anything draws current; the surge rating is for that."""
    found = switched_on(states.build, states.stage)
    for name, volts in found.peak_v.items():
        part = states.build.capacitor[name]
        surge_v, source = _surge_rating(part)
        if volts <= part.volts:
            continue
        if not isfinite(volts):
            text = f"{name}, just switched on: its volts could not be computed"
            yield states.find("warn", name, "switch-on-volts", text, None, part.volts, "the circuit engine")
            continue
        most = "" if found.within_choke else ", less where a choke beyond its rated current saturates"
        text = f"{name}, just switched on with cold cathodes at the highest mains: {of_limit(volts, part.volts, 'V')}"
        severity = "note" if volts <= surge_v else "stop" if found.within_choke else "warn"
        text += f" for a moment{most}; {show(surge_v, 'V', 3)} is its surge rating"
        yield states.find(severity, name, "switch-on-volts", text, volts, surge_v, source)


def _surge_rating(part: Capacitor) -> tuple[float, str]:
    """Volts that a capacitor stands for seconds, and who says so."""
    if part.surge is not None or part.make != "electrolytic":
        return max(part.volts, part.surge or 0.0), RATING
    share = guide("capacitor.surge_low" if part.volts <= guide_value("capacitor.surge_border") else "capacitor.surge")
    return share.value * part.volts, share.source


def reversed_electrolytics(states: StageStates) -> Iterator[Finding]:
    reverse = guide("capacitor.reverse")
    for when, found in (("hot at rated mains", states.rated), *states.at_high_mains):
        for name, part in states.build.capacitor.items():
            if name in states.state.fitted and part.make == "electrolytic":
                volts = first(found.dc(*part.nodes))
                if volts < -reverse.value:
                    text = f"{name}, {when}: {volts:.1f} V the wrong way round"
                    yield states.find(
                        "stop", name, "electrolytic-reversed", text, volts, -reverse.value, reverse.source
                    )


def watts_judged(states: StageStates, name: str, rated_w: float | None, rule: str) -> Iterator[Finding]:
    """The heat of a part at the highest mains against its rating: beyond it, near it, or without one."""
    if rated_w is None:
        yield states.find("note", name, "rating-missing", f"{name} has no power rating", None, None, RATING)
        return
    cool = guide("resistor.cool_share")
    watts = max(abs(first(found.power(name))) for _, found in states.at_high_mains)
    text = f"{name} at the highest mains: {of_limit(watts, rated_w, 'W')}"
    if watts > rated_w:
        yield states.find("stop", name, rule, text, watts, rated_w, RATING)
    elif watts > cool.value * rated_w:
        yield states.find("note", name, rule, text, watts, rated_w, cool.source)


def resistor_watts(states: StageStates) -> Iterator[Finding]:
    network = states.high.system.network
    for table in ("resistor", "pot"):
        for name, part in getattr(states.build, table).items():
            if name in network.linear_names or name in network.tracks:
                yield from watts_judged(states, name, part.watts, "resistor-watts")


def resistor_volts(states: StageStates) -> Iterator[Finding]:
    for name, part in states.build.resistor.items():
        if part.volts is None or name not in states.high.system.network.linear_names:
            continue
        for when, found in states.at_high_mains:
            volts = abs(first(np.nan_to_num(found.dc(*part.nodes)))) + 0.5 * first(
                np.nan_to_num(found.ac_pp(*part.nodes))
            )
            if volts > part.volts:
                text = f"{name}, {when} at the highest mains: {of_limit(volts, part.volts, 'V')}"
                yield states.find("stop", name, "resistor-volts", text, volts, part.volts, RATING)


def choke_amps(states: StageStates) -> Iterator[Finding]:
    for name, part in states.build.choke.items():
        if part.amps is None or name not in states.high.system.network.linear_names:
            continue
        amps = abs(first(states.high.current(name)))
        if amps > part.amps:
            text = f"{name} at the highest mains: {of_limit(amps, part.amps, 'A')}"
            severity = "stop" if amps > guide_value("winding.stop_share") * part.amps else "warn"
            yield states.find(severity, name, "choke-current", text, amps, part.amps, RATING)
