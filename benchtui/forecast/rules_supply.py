"""Rules of the review for windings, rectifiers and first capacitors."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from benchtui.assemble.netlist import winding_ratio
from benchtui.assemble.valves import Rating, ratings_of, sections
from benchtui.circuit.operating import Operating, waveform
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, first, of_limit
from benchtui.forecast.rules_parts import RATING
from benchtui.forecast.switched_on import switched_on
from benchtui.parts.guide import guide

Rectifier = tuple[str, str, str, Mapping[str, Rating]]
"""(reference, anode node, cathode node, ratings)."""


def windings(states: StageStates) -> Iterator[Finding]:
    hot = guide("winding.stop_share")
    for transformer in states.build.transformer.values():
        for name, winding in transformer.windings.items():
            if winding.amps is None or name not in states.rated.system.network.linear_names:
                continue
            amps = first(states.rated.rms(name))
            if amps > winding.amps:
                guessed = ", which is only estimated" if winding.estimated else ""
                text = f"{name} at rated mains: {of_limit(amps, winding.amps, 'A')} rms{guessed}"
                severity = "stop" if amps > hot.value * winding.amps and not winding.estimated else "warn"
                yield states.find(severity, name, "winding-current", text, amps, winding.amps, RATING)


def rectifier_currents(states: StageStates) -> Iterator[Finding]:
    for name, _, _, ratings in rectifiers(states):
        peak = ratings.get("peak_a")
        if peak is not None:
            amps = first(states.high.peak(name))
            if amps > peak.value:
                text = f"{name} at the highest mains: peak {of_limit(amps, peak.value, 'A')}"
                severity = "stop" if peak.confidence == "high" and amps > peak.ceiling else "warn"
                yield states.find(severity, name, "rectifier-peak", text, amps, peak.value, peak.source)
    yield from _mean_currents(states)


def inrush(states: StageStates) -> Iterator[Finding]:
    """What a silicon rectifier carries into empty capacitors, against its surge rating for half a cycle."""
    peaks = switched_on(states.build, states.stage).peak_a
    for name, _, _, ratings in rectifiers(states):
        rating = ratings.get("surge_a")
        if rating is None or peaks[name] <= rating.value:
            continue
        if np.isfinite(peaks[name]):
            text = f"{name}, switched on at the crest of the highest mains: {of_limit(peaks[name], rating.value, 'A')}"
            severity = "warn" if rating.confidence == "low" else "stop"
            yield states.find(severity, name, "inrush", text, peaks[name], rating.value, rating.source)
        else:
            text = f"{name}, just switched on: its current could not be computed"
            yield states.find("warn", name, "inrush", text, None, rating.value, "the circuit engine")


def mean_currents(states: StageStates, found: Operating) -> dict[str, tuple[float, Rating]]:
    """Part = mean amperes in a solved state and their rating, which is for a whole valve, both anodes together."""
    total: dict[str, tuple[float, Rating]] = {}
    owner = {section.id: section.valve for section in sections(states.build)}
    for name, _, _, ratings in rectifiers(states):
        if "mean_a" in ratings:
            part = owner.get(name, name)
            before = total[part][0] if part in total else 0.0
            total[part] = before + first(found.current(name)), ratings["mean_a"]
    return total


def _mean_currents(states: StageStates) -> Iterator[Finding]:
    for part, (amps, rating) in mean_currents(states, states.high).items():
        if amps > rating.value:
            text = f"{part} at the highest mains: mean {of_limit(amps, rating.value, 'A')}"
            severity = "stop" if rating.confidence == "high" and amps > rating.ceiling else "warn"
            yield states.find(severity, part, "rectifier-mean", text, amps, rating.value, rating.source)


def inverse_volts(states: StageStates) -> Iterator[Finding]:
    for when, found in states.at_high_mains:
        for name, anode, cathode, ratings in rectifiers(states):
            rating = ratings.get("inverse_v")
            if rating is None:
                continue
            volts = peak_inverse(found, anode, cathode)
            if np.isfinite(volts) and volts > rating.value:
                text = f"{name}, {when} at the highest mains: inverse {of_limit(volts, rating.value, 'V')}"
                severity = "stop" if rating.confidence == "high" else "warn"
                yield states.find(severity, name, "inverse-volts", text, volts, rating.value, rating.source)


def peak_inverse(found: Operating, anode: str, cathode: str) -> float:
    """The most volts that a rectifier blocks."""
    wave = waveform(found.between(found.phasors, cathode, anode))
    return first(found.dc(cathode, anode)) + float(wave.max())


def first_capacitor(states: StageStates) -> Iterator[Finding]:
    build = states.build
    for name, _, cathode, ratings in rectifiers(states):
        rating = ratings.get("first_capacitor_f")
        if rating is None:
            continue
        farad = sum(
            part.value for ref, part in build.capacitor.items() if ref in states.state.fitted and cathode in part.nodes
        )
        if farad > 1.01 * rating.value:
            text = f"{name}: first capacitor {of_limit(farad, rating.value, 'F')} allowed"
            severity = "warn" if rating.confidence == "low" or farad <= 2.0 * rating.value else "stop"
            yield states.find(severity, name, "first-capacitor", text, farad, rating.value, rating.source)


def supply_resistance(states: StageStates) -> Iterator[Finding]:
    for name, anode, _, ratings in rectifiers(states):
        rating = ratings.get("supply_ohm")
        ohms = _winding_ohms(states, anode)
        if rating is not None and ohms is not None and ohms < 0.99 * rating.value:
            text = f"{name}: supply resistance {of_limit(ohms, rating.value, 'ohm')} asked for at each anode"
            yield states.find("warn", name, "supply-resistance", text, ohms, rating.value, rating.source)


def _winding_ohms(states: StageStates, anode: str) -> float | None:
    """Half winding, primary referred to it, and resistors in series that meet the anode's node."""
    for transformer in states.build.transformer.values():
        primary_ohm = transformer.primary.resistance or 0.0
        for winding in transformer.windings.values():
            series = [part for part in states.build.resistor.values() if anode in part.nodes]
            reached = {anode, *(node for part in series for node in part.nodes)}
            if reached & set(winding.nodes):
                own = winding.resistance + primary_ohm * winding_ratio(transformer, winding) ** 2
                return own + (0.0 if anode in winding.nodes else sum(part.value for part in series))
    return None


def rectifiers(states: StageStates) -> Iterator[Rectifier]:
    """Every rectifier that works in the stage."""
    names = states.high.system.network.rectifier_names
    for section in sections(states.build):
        if section.id in names:
            yield section.id, section.nodes["anode"], section.nodes["cathode"], section.ratings
    for name, diode in states.build.diode.items():
        if name in names:
            yield name, *diode.nodes, ratings_of(states.build, diode.type)
