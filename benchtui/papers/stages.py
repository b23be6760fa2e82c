"""The stages of the report: what was done in each, and every reading beside what it was judged by."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from benchtui.buildfile.stages import stages
from benchtui.papers import said
from benchtui.papers.blocks import Block, Heading, Paragraph, Picture, Table
from benchtui.papers.history import Entry, Reading
from benchtui.papers.source import Source
from benchtui.plots.model import Strip, Strips
from benchtui.procedure import events as e
from benchtui.session import figures

READ_HEAD = ("#", "At", "What", "Measured", "Nominal", "Window", "Verdict")
DONE_HEAD = ("#", "At", "Done or looked at", "Typed")
_TRIMS = (e.TrimHt, e.TrimInside, e.TrimOutside)
_DONE = (e.StepDone, e.Made, e.Undone)

#: What the tables of a stage hold; every other entry stands at the end of the report.
TOLD = (e.PointRead, e.MainsRead, e.CapacitorLow, e.CapacitorHigh, *_TRIMS, *_DONE)


def stage_parts(source: Source) -> Iterator[Block]:
    """Every stage that has entries, in the order of the build."""
    titles = {info.id: info.title for info in stages(source.build)}
    known = list(titles)
    reached = dict.fromkeys(entry.stage for entry in source.history.of(*TOLD))
    yield Heading("The stages")
    yield Paragraph(
        "# is the number of the entry in the record, At the time of day by the computer's clock. Measured is what was "
        f"read, as typed, with {source.build.meter.name or 'the meter'}; Nominal and Window are computed for the mains "
        "of that moment. Of several readings of a point the last counts, the others are marked earlier."
    )
    for stage in sorted(reached, key=lambda id: known.index(id) if id in known else len(known)):
        yield Heading(titles.get(stage, stage), 2)
        yield from _stage(source, stage)


def _stage(source: Source, stage: str) -> Iterator[Block]:
    here = [entry for entry in source.history.of(*TOLD) if entry.stage == stage]
    readings = {reading.entry.n: reading for reading in source.history.readings}
    for (_, day), run in groupby(here, key=lambda entry: (entry.stretch, figures.date(entry.wall))):
        stretch = list(run)
        done = tuple(_done(source, entry) for entry in stretch if isinstance(entry.event, _DONE))
        read = tuple(_row(source, entry, readings) for entry in stretch if not isinstance(entry.event, _DONE))
        powered = any(entry.powered for entry in stretch)
        yield Paragraph(f"{day}, {'with power' if powered else 'without power'}:")
        if done:
            yield Table(DONE_HEAD, done, frozenset({0}))
        if read:
            yield Table(READ_HEAD, read, frozenset({0, 3, 4, 5}))
        for reading in (readings[entry.n] for entry in stretch if entry.n in readings):
            yield from _remarks(reading)
    if strips := stage_strips(source, stage):
        yield Picture(strips)


def stage_strips(source: Source, stage: str, of: str = "") -> Strips | None:
    """The last readings with power of a stage in their windows; None where none was read. `of` begins the title."""
    rows = tuple(_strip(r) for r in source.history.counting(stage) if r.entry.powered and r.high > r.low)
    title = f"{of}the last readings with power, in their windows"
    return Strips(f"{title[0].upper()}{title[1:]}", rows) if rows else None


def _remarks(reading: Reading) -> Iterator[Block]:
    """Why a reading stopped or warned, and why the builder went on."""
    if reading.reasons and reading.verdict in ("warn", "stop"):
        yield Paragraph(f"#{reading.entry.n} {reading.name}: {'; '.join(reading.reasons)}.", "small")
    if reading.reason:
        yield Paragraph(f"#{reading.entry.n} {reading.name}: gone on, as typed: {reading.reason}", "small")


def _grouped(texts: Iterable[str]) -> str:
    """What was made, the work before a colon told once: "mark: v1, v2; drill 3 mm: v1"."""
    found: dict[str, list[str]] = {}
    for text in texts:
        work, colon, at = text.partition(": ")
        found.setdefault(work if colon else "", []).append(at if colon else text)
    return "; ".join(f"{work}: {', '.join(at)}" if work else "; ".join(at) for work, at in found.items())


def _done(source: Source, entry: Entry) -> tuple[str, ...]:
    head = (str(entry.n), said.clock(entry.wall))
    match entry.event:
        case e.StepDone(says=says):
            return (*head, entry.says.removesuffix(f": {says}"), says)
        case e.Made(says=says, steps=steps):
            names = source.history.names
            return (*head, f"{len(steps)}, {_grouped(names.get(step, step) for step in steps)}", says)
    return (*head, entry.says, "undone")


def _row(source: Source, entry: Entry, readings: dict[int, Reading]) -> tuple[str, ...]:
    head = (str(entry.n), said.clock(entry.wall))
    names = source.history.names
    match entry.event:
        case e.MainsRead(text=text, value_v=volts):
            return (*head, "Mains", said.typed(text, volts, "V"), said.NONE, said.NONE, "")
        case e.CapacitorLow(id=id, value_v=volts):
            name = f"{names.get(id, id)}, on the bench"
            return (*head, name, said.value(volts, "V", 4), said.NONE, said.NONE, "discharged")
        case e.CapacitorHigh(id=id, value_v=volts):
            name = f"{names.get(id, id)}, on the bench"
            return (*head, name, said.value(volts, "V", 4), said.NONE, said.NONE, "charged")
        case e.TrimHt(value_v=volts):
            return (*head, "HT for the trim", said.value(volts, "V", 4), said.NONE, said.NONE, "")
        case e.TrimInside() | e.TrimOutside() as trim:
            reached = isinstance(trim, e.TrimInside)
            window = said.window(trim.low, trim.high, "V")
            told = "on target" if reached else "turned on"
            name = f"Trim of {names.get(trim.trim, trim.trim)}"
            return (*head, name, said.typed(trim.text, trim.value_v, "V"), said.value(trim.target_v, "V"), window, told)
    return (*head, *_read(readings[entry.n]))


def _read(reading: Reading) -> tuple[str, ...]:
    unit = reading.unit
    verdict = f"{reading.verdict}, gone on" if reading.reason else reading.verdict
    return (
        reading.name,
        said.typed(reading.text, reading.value, unit),
        said.value(reading.nominal, unit),
        said.window(reading.low, reading.high, unit),
        verdict if reading.counts else f"earlier: {verdict}",
    )


def _strip(reading: Reading) -> Strip:
    unit = reading.unit
    shown = (said.value(reading.value, unit, 4), said.window(reading.low, reading.high, unit))
    verdict = "" if reading.verdict == "pass" else reading.verdict
    return Strip(reading.name, reading.value, reading.nominal, reading.low, reading.high, shown, verdict)
