"""The sheet for the lid: what whoever opens the amplifier in ten years must know before and while measuring."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.models import Build
from benchtui.forecast.settled import supply_stage, whole_stage
from benchtui.papers import amplifier, said
from benchtui.papers.blocks import Block, Bullets, Document, Heading, Paragraph, Table
from benchtui.papers.opening import marks
from benchtui.papers.signalled import signal_table
from benchtui.papers.source import Source
from benchtui.session import figures

CAUTION = (
    "LETHAL VOLTAGES INSIDE, ALSO WITH THE PLUG OUT. Plug out, prove the meter, read every reservoir, bleed, read "
    "again, before a hand goes in. This sheet is an aid and no authority; local codes and licensed practice come first."
)


def lid(source: Source) -> Document:
    """The sheet, for one page. The same record gives the same sheet."""
    build, last = source.build, source.history.entries[-1]
    whole, supply = whole_stage(build), supply_stage(build)
    ended = source.history.ended
    when = f"Finished {figures.date(ended.wall)}" if ended is not None else "NOT FINISHED"
    blocks: list[Block] = [
        Paragraph(CAUTION, "caution"),
        Paragraph(f"{when}. Record {source.record.name} up to #{last.n}, {figures.day(last.wall)}; build {build.id}, "
                  f"SHA-256 of its file {source.sha256}."),
        Bullets(tuple(amplifier.feed(source))),
        Heading("What stays charged (computed)", 2),
        *amplifier.reservoir_table(build, amplifier.gate_of(build, whole)),
        Heading("Valves", 2),
        amplifier.valves(build),
        *amplifier.bias(source),
        Heading("Test points", 2),
        *amplifier.points(source, whole, supply),
        *signal_table(source, brief=True),
        *amplifier.transformers(build),
        *_came_from(build),
    ]  # fmt: skip
    return Document(build.name, f"{build.name} ({build.id})", tuple(blocks), marks(source), sheet=True)


def _came_from(build: Build) -> Iterator[Block]:
    """The leads and labels of parts that were used before."""
    rows = tuple((id, part.found or said.NONE, part.label or said.NONE) for id, part in build.salvaged.items())
    if rows:
        yield Heading("Used before", 2)
        yield Table(("Part", "From", "Label"), rows)
