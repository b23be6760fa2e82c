"""The amplifier as whoever repairs it needs it: fuses, valves and pins, bias, test points, transformers, charges."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import ceil

from benchtui.buildfile.models import Build, Winding
from benchtui.buildfile.stages import stages
from benchtui.forecast.by_rating import threshold_v
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.gate import gate_forecast
from benchtui.forecast.results import GateForecast
from benchtui.papers import said
from benchtui.papers.blocks import Block, Bullets, Heading, Paragraph, Table
from benchtui.papers.history import Reading
from benchtui.papers.source import Source
from benchtui.procedure import events as e
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session import figures
from benchtui.session.fuse_cap import marking
from benchtui.session.places import place
from benchtui.session.sockets import socket
from benchtui.verdicts.expectation import Expectation


def feed(source: Source) -> Iterator[str]:
    """Mains and fuses, a sentence each."""
    build = source.build
    read = source.history.of(e.MainsRead)
    measured = f"{read[-1].event.value_v:g} V measured {figures.day(read[-1].wall)}" if read else "never measured"
    yield f"Mains {show(build.mains.volts, Unit.VOLT)} {show(build.mains.frequency, Unit.HERTZ)}; {measured}."
    for id, fuse in build.fuse.items():
        yield f"Fuse {id} {marking(fuse)}, {fuse.standard}: {fuse.role or 'no role named'}."


def opened(build: Build, gate: GateForecast | None) -> Iterator[Block]:
    """How hands get into it: the order of the gate, and every reservoir with where it is read."""
    clip = show(build.gate.clip, Unit.OHM)
    inlet = "the mains connector pulled at the amplifier" if build.mains.inlet == "appliance inlet" else "plug out"
    yield Bullets((
        f"{inlet[0].upper()}{inlet[1:]}, and in sight. The mains switch proves nothing.",
        "The meter proved on a known source, of direct and of alternating volts, before the readings and after them.",
        "The mains side read dead at the inlet's pins, from outside.",
        "Every reservoir of the table read on a range above its volts, probes only, one hand; after a minute once "
        f"more, since charge creeps back. What counts is under {show(threshold_v(build), Unit.VOLT)} both times, not "
        "the seconds.",
        f"What is charged is bled: black clip first, then an insulated probe through {clip}, held for the seconds of "
        "the table; then it is read again. Never a screwdriver.",
        f"A clip with {clip} stays across the first reservoir while hands are in, and a link across each other "
        "capacitor that may hold a charge.",
        "'benchtui' with the build file leads through all of it: type 'stopped' where it has failed.",
    ))  # fmt: skip
    yield from reservoir_table(build, gate)


def gate_of(build: Build, stage: str | None) -> GateForecast | None:
    """The charges after the whole amplifier had power."""
    return gate_forecast(build, stage) if stage is not None else None


def reservoir_table(build: Build, gate: GateForecast | None) -> Iterator[Block]:
    """What each reservoir may hold, how long it stays charged, and where it is read; all computed."""
    rows = tuple(
        (
            " ".join(each.parts), show(each.farad, Unit.FARAD), said.value(each.highest_v, "V"),
            figures.seconds(each.fastest_s), figures.seconds(each.slowest_s) if each.bled else "for days: no bleeder",
            figures.seconds(ceil(each.bleed.seconds)),
            f"{place(build, each.red, each.black)} to {place(build, each.black, each.red)}",
        )
        for each in (gate.reservoirs if gate is not None else ())
    )  # fmt: skip
    if not rows:
        yield Paragraph("No capacitor is computed to hold a charge that hurts. Read them all the same.")
        return
    head = ("Reservoir", "Holds", "Up to", "Hot", "Cold", "By clip", "Read at")
    yield Table(head, rows, frozenset({1, 2, 3, 4, 5}))
    yield Paragraph(
        "Up to is at the highest mains; Hot and Cold are how long after switch-off a reading first counts as "
        "discharged, with hot and with cold valves and every bleeder sound, By clip how long "
        f"{show(build.gate.clip, Unit.OHM)} takes. All of it is computed. A reading decides.",
        "small",
    )


def valves(build: Build) -> Block:
    """Types and what each pin is, counted as seen from below."""
    rows = tuple((ref, valve.type, valve.role or said.NONE, *_pins(build, ref)) for ref, valve in build.valve.items())
    return Table(("Valve", "Type", "For", "Base", "Pins from below"), rows)


def _pins(build: Build, ref: str) -> tuple[str, str]:
    found = socket(build, f"{ref}.1")
    if found is None:
        return said.NONE, said.NONE
    told = ", ".join(f"{pin} {electrode}" for pin, electrode in found.pins if electrode)
    return found.base or said.NONE, told or said.NONE


def bias(source: Source) -> Iterator[Block]:
    """Targets of the trims, and where each was left last."""
    build, rows = source.build, []
    left = {entry.event.trim: entry.event for entry in source.history.of(e.TrimInside, e.TrimOutside)}
    for id, trim in build.adjust.items():
        last = left.get(id)
        wanted = said.value(trim.target, "V") if trim.target is not None else f"{100 * (trim.dissipation or 0):.0f} %"
        if trim.target is None and trim.valve:
            wanted += f" of {trim.valve}'s rated dissipation"
        measured = said.typed(last.text, last.value_v, "V") if last else said.NONE
        computed = said.value(last.target_v, "V") if last else said.NONE
        rows.append((trim.pot, build.point[trim.point].name, wanted, computed, measured))
    if rows:
        yield Heading("Bias", 2)
        yield Table(("Pot", "Read at", "Wanted", "Computed", "Measured"), tuple(rows), frozenset({3, 4}))


_KINDS = {"dc": "DC", "ac": "AC", "ripple": "ripple"}


def points(source: Source, whole: str | None, supply: str | None) -> Iterator[Block]:
    """Every test point with what it should read and did read, also with the amplifying valves out."""
    build = source.build
    expected, quiet = (_expected(build, stage) for stage in (whole, supply))
    rows = []
    for id, point in build.point.items():
        if point.quantity == "resistance" or id not in expected and id not in quiet:
            continue
        here, alone = expected.get(id), quiet.get(id)
        at = point.red_at or f"node {point.red}"
        against = "" if point.black == "0" else f" to {point.black_at or f'node {point.black}'}"
        rows.append(
            (
                _KINDS[point.quantity], f"{point.name}: {at}{against}",
                _nominal(here), _window(here), _measured(source, id, whole),
                _nominal(alone), _measured(source, id, supply),
            )
        )  # fmt: skip
    head = ("Kind", "Where", "Expected", "Healthy", "Measured", "Valves out", "Read so")
    if rows:
        yield Table(head, tuple(rows), frozenset(range(2, 7)))
    titles = {info.id: info.title for info in stages(build)}
    yield Paragraph(
        f"Expected and Healthy are computed for {build.mains.volts:g} V mains, Healthy for "
        f"{100 * build.mains.spread:.0f} % either way, in stage '{titles.get(whole or '', whole or said.NONE)}'; "
        "Valves out is computed too: output and small valves out of their sockets, stage "
        f"'{titles.get(supply or '', supply or said.NONE)}'. Measured and Read so are the last readings in these "
        "stages. To chassis where nothing else is said.",
        "small",
    )


def _expected(build: Build, stage: str | None) -> dict[str, Expectation]:
    told = expect_powered(build, stage).expectations if stage is not None else ()
    return {each.point: each for each in told}


def _nominal(expectation: Expectation | None) -> str:
    return said.NONE if expectation is None else said.value(expectation.nominal, "V")


def _window(expectation: Expectation | None) -> str:
    return said.NONE if expectation is None else said.window(expectation.low, expectation.high, "V")


def _measured(source: Source, point: str, stage: str | None) -> str:
    found = [r for r in source.history.counting(stage) if r.point == point and stage is not None]
    return as_read(found[-1]) if found else said.NONE


def as_read(reading: Reading) -> str:
    """A reading as typed, with its verdict where that is no pass."""
    flag = "" if reading.verdict == "pass" else f" ({reading.verdict})"
    return f"{said.typed(reading.text, reading.value, reading.unit)}{flag}"


def transformers(build: Build) -> Iterator[Block]:
    """Windings and labels of the transformers and chokes, and where those came from that were used before."""
    rows = tuple(_transformers(build))
    if rows:
        yield Heading("Transformers", 2)
        yield Table(("Part", "What"), rows)


def _transformers(build: Build) -> Iterator[tuple[str, str]]:
    for id, part in build.transformer.items():
        taps = f"; other taps {', '.join(show(volts, Unit.VOLT) for volts in part.primary.taps)}" * bool(
            part.primary.taps
        )
        label = f"Label: {part.label}. " if part.label else ""
        yield id, f"{label}Primary {show(part.primary.volts, Unit.VOLT)}{taps}. {'; '.join(_windings(part.windings))}."
    for id, part in build.output_transformer.items():
        halves = " and ".join(show(ohm, Unit.OHM) for ohm in part.resistance)
        watts = f", {show(part.watts, Unit.WATT)}" if part.watts is not None else ""
        yield (
            id,
            (
                f"{show(part.impedance, Unit.OHM)} to {show(part.load, Unit.OHM)}{watts}; primary {halves}, secondary "
                f"{show(part.secondary_resistance, Unit.OHM)}. {part.role}"
            ).rstrip(),
        )
    for id, part in build.choke.items():
        amps = f", {show(part.amps, Unit.AMPERE)}" if part.amps is not None else ""
        yield id, f"{show(part.value, Unit.HENRY)}, {show(part.resistance, Unit.OHM)}{amps}. {part.role}".rstrip()


def _windings(windings: Mapping[str, Winding]) -> Iterator[str]:
    for id, winding in windings.items():
        if winding.emf is not None:
            volts = f"{show(winding.emf, Unit.VOLT)} off load"
        else:
            volts = show(winding.volts, Unit.VOLT) if winding.volts is not None else "volts not known"
        amps = (
            f", {show(winding.amps, Unit.AMPERE)}{' (estimated)' if winding.estimated else ''}" if winding.amps else ""
        )
        yield f"{id} {volts}{amps}, {show(winding.resistance, Unit.OHM)}{f' ({winding.role})' if winding.role else ''}"
