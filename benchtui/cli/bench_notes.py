"""Bench notes as the readings that `identify` works on: the meter's error is put on every one of them."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from benchtui.buildfile.notes import (
    Fed,
    FourWires,
    NotedAtMains,
    NotedCapacitor,
    NotedMainsTransformer,
    NotedOutputTransformer,
    NotedResistor,
    NotedThrough,
    NotedTransformer,
    NotedTurn,
    Notes,
)
from benchtui.buildfile.surroundings import Meter as NotedMeter
from benchtui.identify.forming import Plan, of
from benchtui.identify.leads import Ohms, Pair, pair, sorted_out
from benchtui.identify.meter import Meter
from benchtui.identify.noted import AtMains, Transformer, Warm
from benchtui.identify.output import Output, Through
from benchtui.identify.rating import Core
from benchtui.identify.ratios import Feed
from benchtui.identify.resistors import Measured
from benchtui.identify.roles import Primary
from benchtui.identify.spans import Span
from benchtui.identify.turning import Turned
from benchtui.identify.windings import Bench
from benchtui.quantities.tolerance import Accuracy


def meter(noted: NotedMeter) -> Meter:
    """The meter with the accuracy of each kind of range."""
    ohms, ac, dc = (Accuracy(share, int(digits)) for share, digits in (noted.ohms, noted.ac, noted.dc))
    return Meter(noted.counts, ohms, ac, dc, noted.lead_ohm)


def meter_words(noted: NotedMeter) -> str:
    """The meter and its accuracy, as it stands beside what was measured with it."""
    accuracy = ", ".join(
        f"{kind} {share * 100:g} % + {digits:g}"
        for kind, (share, digits) in (("ohms", noted.ohms), ("AC", noted.ac), ("DC", noted.dc))
    )
    return f"{noted.name or 'meter'} ({noted.counts} counts, {accuracy})"


def leads(text: str) -> Pair:
    """Two leads as they were written."""
    first, _, second = text.partition("-")
    return first, second


def transformer(id: str, notes: Notes) -> Transformer:
    """All notes of one mains transformer."""
    noted = notes.transformer[id]
    primary = noted.primary
    return Transformer(
        id,
        _bench(noted, notes),
        mains_v=notes.mains.volts,
        hertz=notes.mains.frequency,
        primary=primary and Primary(leads(primary.ends), primary.volts, tuple(leads(each) for each in primary.joined)),
        insulation=noted.insulation.reads if noted.insulation else {},
        test_v=noted.insulation.test if noted.insulation else 0.0,
        mains=_at_mains(noted.mains, meter(notes.meter)) if noted.mains else AtMains(),
        warm=_warm(noted, meter(notes.meter)),
        core=noted.core and Core(noted.core.tongue, noted.core.stack),
        screens=noted.screens,
        names={pair(*leads(key)): name for key, name in noted.names.items()},
        nodes=noted.nodes,
        stage=noted.stage,
        label=noted.label,
        found=noted.found,
        when=noted.when,
        meter=meter_words(notes.meter),
    )


def output(id: str, notes: Notes) -> Output:
    """All notes of one output transformer."""
    noted: NotedOutputTransformer = notes.output_transformer[id]
    own = meter(notes.meter)
    return Output(
        id,
        _bench(noted, notes),
        notes.mains.frequency,
        noted.loads,
        secondary=leads(noted.secondary) if noted.secondary else None,
        sheets=noted.sheets or "",
        without_dc=_through(noted.inductance, own),
        with_dc=_through(noted.inductance_dc, own),
        dc_a=(noted.inductance_dc and noted.inductance_dc.dc) or 0.0,
        nodes=noted.nodes,
        stage=noted.stage,
        label=noted.label,
        found=noted.found,
        when=noted.when,
        meter=meter_words(notes.meter),
    )


def turned(noted: tuple[NotedTurn, ...], own: Meter) -> tuple[Turned, ...]:
    """Readings while the output transformer is turned."""
    return tuple(Turned(each.place, each.angle, own.ac_volts(each.reads)) for each in noted)


def resistors(noted: Mapping[str, NotedResistor], own: Meter) -> dict[str, Measured]:
    """Measured resistors by their references."""
    return {key: Measured(each.value, each.tolerance, own.resistance(each.measured)) for key, each in noted.items()}


def forming_plan(noted: NotedCapacitor, notes: Notes) -> Plan:
    """How one capacitor is formed."""
    return of(
        farads=noted.value, rated_v=noted.volts, volts=noted.to or noted.volts, months=noted.months,
        resistor=(noted.resistor, noted.resistor_watts), bleed=(noted.bleed, noted.bleed_watts),
        meter=meter(notes.meter), meter_ohm=notes.meter.input,
    )  # fmt: skip


def _bench(noted: NotedTransformer, notes: Notes) -> Bench:
    own = meter(notes.meter)
    fine = {pair(*leads(key)): _four_wires(each, own) for key, each in noted.fine.items()}
    feeds = tuple(_feed(number, each, own) for number, each in enumerate(noted.volts))
    return Bench(noted.leads, _ohms(noted.ohms, own), feeds, fine)


def _ohms(noted: Mapping[str, float], own: Meter) -> Ohms:
    readings = {leads(key): value for key, value in noted.items()}
    spans = {each: own.resistance(value) for each, value in readings.items() if value != inf}
    return sorted_out(readings, spans, {leads(key): key for key in noted})


def _four_wires(noted: FourWires, own: Meter) -> Span:
    """Ohms by volts and current; the current's own error is taken to be like that of the volts."""
    volts, amps = own.dc_volts(noted.volts), Span(noted.amps, noted.amps, noted.amps).wider(own.dc.share)
    return volts.over(amps)


def _feed(number: int, noted: Fed, own: Meter) -> Feed:
    keys = {pair(*leads(key)): key for key in noted.reads}
    return Feed(
        number,
        pair(*leads(noted.into)),
        own.ac_volts(noted.applied),
        {pair(*leads(key)): own.ac_volts(value) for key, value in noted.reads.items()},
        tuple(leads(each) for each in noted.joined),
        None if noted.supply is None else own.ac_volts(noted.supply),
        keys,
    )


def _at_mains(noted: NotedAtMains, own: Meter) -> AtMains:
    amps = Span(noted.amps, noted.amps, noted.amps).wider(_POWER_METER) if noted.amps else None
    if noted.drop is not None and noted.resistor is not None:
        amps = own.ac_volts(noted.drop).times(1 / noted.resistor)
    keys = {pair(*leads(key)): key for key in noted.reads}
    reads = {pair(*leads(key)): own.ac_volts(value) for key, value in noted.reads.items()}
    applied = None if noted.applied is None else own.ac_volts(noted.applied)
    return AtMains(noted.lamp or "", applied, reads, keys, amps)


_POWER_METER = 0.1
"""Share that the current of a plug-in power meter may be off at so small a load (decision)."""


def _warm(noted: NotedMainsTransformer, own: Meter) -> Warm | None:
    warm = noted.warm
    return warm and Warm(own.beside(warm.cold), own.beside(warm.hot), warm.cold_c, warm.ambient)


def _through(noted: NotedThrough | None, own: Meter) -> Through | None:
    return noted and Through(noted.resistor, own.ac_volts(noted.across_resistor), own.ac_volts(noted.across_winding))
