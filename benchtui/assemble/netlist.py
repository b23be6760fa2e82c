"""From build and state to circuit: which elements stand between which nodes, with which values."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.mains_lead import lead_parts
from benchtui.assemble.state import State
from benchtui.assemble.valves import Section, doubled_pins, heaters, law_of, sections
from benchtui.buildfile import models
from benchtui.circuit.elements import (
    Capacitor,
    Choke,
    Circuit,
    Diode,
    Element,
    Law,
    MainsTransformer,
    OutputTransformer,
    Pot,
    Regulator,
    Resistor,
    Transistor,
    Value,
    Valve,
    Winding,
)
from benchtui.parts import guide
from benchtui.parts.guide import spread

CLIP = "bleed clip"
"""The element and the drawn part that stand for the clip's resistor; no part of a build can be called so."""

JOINT_OHM = 0.01
"""Of two pins that are joined inside a valve."""


@dataclass(frozen=True)
class Ground:
    """What every element is made from: the build, its state, and the draw of values."""

    build: models.Build
    state: State
    draw: Draw

    def value(self, part: str, marked: float, measured: float | None, tolerance: tuple[float, float]) -> Value:
        """The part's value: marked and spread over its tolerance, or as measured with the meter's own error."""
        if measured is not None:
            return measured * self.draw.factor(part, "value", spread("spread.measured_value"))
        return marked * self.draw.factor(part, "value", tolerance)


def generator(source: str) -> str:
    """The element that stands for the signal generator at an input; no part of a build can be called so."""
    return f"generator at {source}"


def assemble(build: models.Build, state: State, draw: Draw | None = None) -> Circuit:
    """The circuit of `build` in `state`; values are floats, or arrays of shape (samples,) with a `draw` of samples."""
    ground = Ground(build, state, draw or Draw())
    elements = [element for make in _MAKERS for element in make(ground)]
    return Circuit(tuple(elements), build.mains.frequency)


def resistances(build: models.Build, state: State, draw: Draw | None = None) -> Circuit:
    """The same circuit as an ohmmeter meets it: thermistors cold, and with the mains primary.

    No powered reading goes through the primary.
    """
    ground = Ground(build, replace(state, thermistors_warm=0.0), draw or Draw())
    powered = assemble(build, ground.state, ground.draw)
    return Circuit((*powered.elements, *_primaries(ground)), powered.mains_hz)


def _resistors(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "resistor"):
        yield Resistor(name, *part.nodes, ground.value(name, part.value, part.measured, part.tolerance))
    for name, part in _fitted(ground, "thermistor"):
        yield Resistor(name, *part.nodes, _thermistor_ohm(ground, name, part))
    for name, part in _fitted(ground, "load"):
        yield Resistor(name, *part.nodes, ground.value(name, part.value, None, part.tolerance))
    for name, part in _fitted(ground, "fuse"):
        if name not in ground.state.fuses_out:
            yield Resistor(name, *part.nodes, ground.value(name, part.value, None, part.tolerance))
    for name, part in ground.build.link.items():
        if name in ground.state.leads or name in ground.state.fitted:
            yield Resistor(name, *part.nodes, ground.state.leads.get(name, part.value))
    for name, part in _fitted(ground, "switch"):
        if name not in ground.state.switches_open:
            yield Resistor(name, *part.nodes, part.value)
    for name, ohm in ground.state.driven.items():
        yield Resistor(generator(name), *ground.build.input[name].nodes, ohm)


def _thermistor_ohm(ground: Ground, name: str, part: models.Thermistor) -> Value:
    """Between cold and hot its resistance goes evenly in ratio, off by as much (common practice, no source)."""
    warm = ground.state.thermistors_warm
    return ground.value(name, part.cold ** (1.0 - warm) * part.value**warm, None, part.tolerance)


def _clip(ground: Ground) -> Iterator[Element]:
    for number, ends in enumerate(ground.state.clips):
        name = f"{CLIP} {number + 1}" if number else CLIP
        ohm = ground.value(name, ground.build.gate.clip, None, spread("spread.resistor"))
        yield Resistor(name, *ends, ohm)


def _capacitors(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "capacitor"):
        tolerance = part.tolerance or spread(f"spread.{part.make}")
        yield Capacitor(name, *part.nodes, ground.value(name, part.value, part.measured, tolerance))


def _chokes(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "choke"):
        yield Choke(
            name,
            *part.nodes,
            henry=ground.value(name, part.value, None, part.tolerance or spread("spread.choke_inductance")),
            ohm=part.resistance * ground.draw.factor(name, "resistance", spread("spread.winding_resistance")),
        )


def _pots(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "pot"):
        ohm = ground.value(name, part.value, None, part.tolerance)
        if name in ground.state.wipers_open:
            yield Resistor(name, part.nodes[0], part.nodes[2], ohm)
        else:
            yield Pot(name, *part.nodes, ohm, ground.state.pots.get(name, part.position))


def _transformers(ground: Ground) -> Iterator[Element]:
    for name, transformer in ground.build.transformer.items():
        windings = tuple(
            Winding(
                winding_name,
                *winding.nodes,
                ratio=winding_ratio(transformer, winding)
                * ground.draw.factor(winding_name, "emf", winding.tolerance or spread("spread.winding_emf")),
                ohm=winding.resistance
                * ground.draw.factor(winding_name, "resistance", spread("spread.winding_resistance")),
            )
            for winding_name, winding in transformer.windings.items()
            if winding_name in ground.state.fitted
        )
        if windings:
            primary_ohm = (transformer.primary.resistance or 0.0) * ground.draw.factor(
                name, "primary", spread("spread.winding_resistance")
            )
            lead_ohm = ground.state.series_ohm + _lead_ohm(ground, name)
            yield MainsTransformer(name, ground.state.mains_v, primary_ohm + lead_ohm, windings)


def _lead_ohm(ground: Ground, transformer: str) -> Value:
    """Thermistors and resistors before a primary; two transformers behind the same ones have them each for itself."""
    whole: Value = 0.0
    for table, name in lead_parts(ground.build, transformer):
        part = getattr(ground.build, table)[name]
        if table == "thermistor":
            whole = whole + _thermistor_ohm(ground, name, part)
        else:
            whole = whole + ground.value(name, part.value, part.measured, part.tolerance)
    return whole


def winding_ratio(transformer: models.MainsTransformer, winding: models.Winding) -> float:
    """Off-load volts of a winding for one volt at the primary."""
    rated_v = transformer.primary.volts
    if winding.emf is not None:
        return winding.emf / (winding.at or rated_v)
    return winding.volts * (1.0 + winding.regulation) / rated_v


def _primaries(ground: Ground) -> Iterator[Element]:
    for name, transformer in ground.build.transformer.items():
        primary = transformer.primary
        if primary.nodes is not None and primary.resistance is not None:
            factor = ground.draw.factor(name, "primary", spread("spread.winding_resistance"))
            yield Resistor(f"{name}.primary", *primary.nodes, primary.resistance * factor)


def _output_transformers(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "output_transformer"):
        taps = part.screen_taps
        yield OutputTransformer(
            name,
            anode_a=part.anodes[0],
            ht=part.ht,
            anode_b=part.anodes[1] if len(part.anodes) == 2 else None,
            hot=part.secondary[0],
            cold=part.secondary[1],
            ratio=(part.impedance / part.load) ** 0.5,
            half_ohm=tuple(
                ohm * ground.draw.factor(name, f"resistance {half}", part.tolerance)
                for half, ohm in enumerate(part.resistance, 1)
            ),
            secondary_ohm=part.secondary_resistance * ground.draw.factor(name, "secondary", part.tolerance),
            primary_henry=part.inductance,
            leakage_henry=part.leakage,
            winding_farad=part.capacitance,
            core_loss_ohm=np.inf if part.core_loss is None else part.core_loss,
            screen_taps=(taps.nodes[0], taps.nodes[1] if len(taps.nodes) == 2 else None, taps.share) if taps else None,
        )


def _diodes(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "diode"):
        yield Diode(name, *part.nodes, law_of(ground.build, part.type, part.model, series=part.series))


def _zeners(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "zener"):
        volts = ground.value(name, part.value, part.measured, part.tolerance or spread("spread.zener"))
        yield Regulator(name, *part.nodes, zener_law(volts, part.at, part.resistance))


def zener_law(volts: Value, at_a: float, slope_ohm: float) -> Law:
    """The law of a zener diode from what its data sheet prints; the knee takes half of the slope at most."""
    knee_v = min(guide.value("zener.knee"), 0.5 * slope_ohm * at_a)
    forward = {"is_a": guide.value("zener.saturation"), "n": guide.value("zener.ideality")}
    return Law("zener", {"breakdown_v": volts, "at_a": at_a, "slope_ohm": slope_ohm, "knee_v": knee_v, **forward})


def _transistors(ground: Ground) -> Iterator[Element]:
    for name, part in _fitted(ground, "transistor"):
        constants = {
            "saturation_a": guide.value("transistor.saturation"),
            "gain": ground.value(name, part.gain, None, part.tolerance or spread("spread.transistor_gain")),
            "early_v": part.early or guide.value("transistor.early"),
            "polarity": 1.0 if part.polarity == "npn" else -1.0,
        }
        yield Transistor(name, *part.nodes, Law("bipolar", constants))
    for name, part in _fitted(ground, "fet"):
        tolerance = part.tolerance or spread("spread.fet")
        constants = {
            "idss_a": ground.value(name, part.idss, None, tolerance),
            "pinch_off_v": part.pinch_off * ground.draw.factor(name, "pinch_off", tolerance),
            "modulation_v": part.modulation or guide.value("fet.modulation"),
            "polarity": 1.0 if part.channel == "n" else -1.0,
        }
        yield Transistor(name, *part.nodes, Law("depletion_fet", constants))


def _valves(ground: Ground) -> Iterator[Element]:
    for section in sections(ground.build):
        if section.valve in ground.state.valves_out or section.valve not in ground.state.fitted:
            continue
        yield _section(ground, section)
    for valve, name, first, other in doubled_pins(ground.build):
        if valve in ground.state.fitted and valve not in ground.state.valves_out:
            yield Resistor(name, first, other, JOINT_OHM)


def _section(ground: Ground, section: Section) -> Element:
    state, nodes = ground.state, section.nodes
    law = section.drawn_law(ground.draw)
    further = state.extra_emission.get(section.id, 1.0)
    if section.kind == "diode":
        emission = state.rectifier_emission * further
        return Diode(section.id, nodes["anode"], nodes["cathode"], law, emission)
    if section.kind == "regulator":
        return Regulator(section.id, nodes["anode"], nodes["cathode"], law)
    emission = state.emission * further * section.drawn_emission(ground.draw)
    ends = nodes["anode"], nodes["grid"], nodes["cathode"]
    return Valve(section.id, *ends, law, nodes.get("screen"), emission, **section.drawn_farads(ground.draw))


def _heaters(ground: Ground) -> Iterator[Element]:
    for heater in heaters(ground.build):
        if heater.valve in ground.state.valves_out or (heater.part and heater.part not in ground.state.fitted):
            continue
        factor = ground.draw.factor(heater.valve, "heater", spread("spread.heater_current"))
        yield Resistor(heater.id, heater.a, heater.b, heater.ohm / factor)


def _fitted(ground: Ground, table: str) -> Iterator[tuple[str, object]]:
    return ((name, part) for name, part in getattr(ground.build, table).items() if name in ground.state.fitted)


_MAKERS: tuple[Callable[[Ground], Iterator[Element]], ...] = (
    _resistors,
    _clip,
    _capacitors,
    _chokes,
    _pots,
    _transformers,
    _output_transformers,
    _diodes,
    _zeners,
    _transistors,
    _heaters,
    _valves,
)
