"""The sheet for the lid: what whoever opens the amplifier in ten years must know before and while measuring."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.expect import expect_powered
from benchtui.forecast.results import StageForecast
from benchtui.forecast.settled import supply_stage, whole_stage
from benchtui.papers import said
from benchtui.papers.blocks import Block, Bullets, Document, Heading, Paragraph, Table
from benchtui.papers.computed import gate_of, reservoir_table
from benchtui.papers.history import Reading
from benchtui.papers.opening import marks
from benchtui.papers.source import Source
from benchtui.procedure import events as e
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session import figures
from benchtui.session.steps import fuse_marking

CAUTION = (
    "LETHAL VOLTAGES INSIDE, ALSO WITH THE PLUG OUT. Plug out, prove the meter, read every reservoir, bleed, read "
    "again, before a hand goes in. This sheet is an aid and no authority; local codes and licensed practice come first."
)


def lid(source: Source) -> Document:
    """The sheet, for one page. The same record gives the same sheet."""
    build, last = source.build, source.history.entries[-1]
    whole, supply = whole_stage(build), supply_stage(build)
    ended = source.history.ended
    when = f"finished {said.date(ended.wall)}" if ended is not None else "NOT FINISHED"
    blocks: list[Block] = [
        Paragraph(CAUTION, "caution"),
        Paragraph(f"{when}. Record {source.record.name} up to #{last.n}, {figures.day(last.wall)}; build {build.id}, "
                  f"SHA-256 of its file {source.sha256}."),
        Bullets(tuple(_feed(source))),
        Heading("Valves", 2),
        Table(("Valve", "Type", "For"), tuple((ref, v.type, v.role or said.NONE) for ref, v in build.valve.items())),
        *_bias(source),
        Heading("Test points", 2),
        *_points(source, whole, supply),
        *_signal(source),
        Heading("What stays charged (computed)", 2),
        *reservoir_table(gate_of(build, whole)),
        Heading("Transformers", 2),
        Table(("Part", "What"), tuple(_transformers(build))),
        *_came_from(build),
    ]  # fmt: skip
    return Document(build.name, f"{build.name} ({build.id})", tuple(blocks), marks(source), sheet=True)


def _feed(source: Source) -> Iterator[str]:
    build = source.build
    read = source.history.of(e.MainsRead)
    measured = f"{read[-1].event.value_v:g} V measured {figures.day(read[-1].wall)}" if read else "never measured"
    yield f"Mains {show(build.mains.volts, Unit.VOLT)} {show(build.mains.frequency, Unit.HERTZ)}; {measured}."
    for id, fuse in build.fuse.items():
        volts = f", {show(fuse.volts, Unit.VOLT)}" if fuse.volts is not None else ""
        yield f"Fuse {fuse_marking(id, fuse)}{volts}, {fuse.standard}: {fuse.role or 'no role named'}."


def _bias(source: Source) -> Iterator[Block]:
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


def _points(source: Source, whole: str | None, supply: str | None) -> Iterator[Block]:
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
                f"{point.name}: {at}{against}", _KINDS[point.quantity],
                _nominal(here), _window(here), _measured(source, id, whole),
                _nominal(alone), _measured(source, id, supply),
            )
        )  # fmt: skip
    head = ("Where", "Kind", "Expected", "Healthy", "Measured", "Valves out", "Read so")
    if rows:
        yield Table(head, tuple(rows), frozenset(range(2, 7)))
    titles = {info.id: info.title for info in stages(build)}
    yield Paragraph(
        f"Expected and Healthy are computed for {build.mains.volts:g} V mains, Healthy for "
        f"{100 * build.mains.spread:.0f} % either way, in stage '{titles.get(whole or '', whole or said.NONE)}'; "
        "Valves out: amplifying valves out of their sockets, stage "
        f"'{titles.get(supply or '', supply or said.NONE)}'. Measured is the last reading in that stage. To chassis "
        "where nothing else is said.",
        "small",
    )


_KINDS = {"dc": "DC", "ac": "AC", "ripple": "AC, ripple"}


def _expected(build: Build, stage: str | None) -> dict[str, StageForecast]:
    told = expect_powered(build, stage).expectations if stage is not None else ()
    return {each.point: each for each in told}  # type: ignore[misc]


def _nominal(expectation: object) -> str:
    return said.NONE if expectation is None else said.value(expectation.nominal, "V")  # type: ignore[attr-defined]


def _window(expectation: object) -> str:
    if expectation is None:
        return said.NONE
    return said.window(expectation.low, expectation.high, "V")  # type: ignore[attr-defined]


def _measured(source: Source, point: str, stage: str | None) -> str:
    found = [r for r in source.history.counting(stage) if r.point == point and stage is not None]
    return _as_read(found[-1]) if found else said.NONE


def _as_read(reading: Reading) -> str:
    flag = "" if reading.verdict == "pass" else f" ({reading.verdict})"
    return f"{said.typed(reading.text, reading.value, reading.unit)}{flag}"


def _signal(source: Source) -> Iterator[Block]:
    """What the signal stage read, where there is one: gain, power, hum, and whatever else it asks for."""
    own = source.build.point
    rows = tuple(
        (r.name, said.value(r.nominal, r.unit), said.window(r.low, r.high, r.unit), _as_read(r))
        for r in source.history.counting("signal")
        if r.point not in own and r.entry.powered
    )
    if rows:
        yield Heading("Signal", 2)
        yield Table(("What", "Computed", "Healthy", "Measured"), rows, frozenset({1, 2, 3}))


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


def _windings(windings: dict) -> Iterator[str]:
    for id, winding in windings.items():
        if winding.emf is not None:
            volts = f"{show(winding.emf, Unit.VOLT)} off load"
        else:
            volts = show(winding.volts, Unit.VOLT) if winding.volts is not None else "volts not known"
        amps = (
            f", {show(winding.amps, Unit.AMPERE)}{' (estimated)' if winding.estimated else ''}" if winding.amps else ""
        )
        yield f"{id} {volts}{amps}, {show(winding.resistance, Unit.OHM)}{f' ({winding.role})' if winding.role else ''}"


def _came_from(build: Build) -> Iterator[Block]:
    """The leads and labels of parts that were used before."""
    rows = tuple((id, part.found or said.NONE, part.label or said.NONE) for id, part in build.salvaged.items())
    if rows:
        yield Heading("Used before", 2)
        yield Table(("Part", "From", "Label"), rows)
