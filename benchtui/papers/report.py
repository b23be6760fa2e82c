"""The report: all of a record, and what is computed for the amplifier that it tells of."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.forecast.settled import supply_stage, whole_stage
from benchtui.papers import amplifier
from benchtui.papers.blocks import Block, Bullets, Code, Document, Heading, Paragraph
from benchtui.papers.compared import compared_parts
from benchtui.papers.computed import made_of, margin_table, pictures
from benchtui.papers.opening import marks, opening, result
from benchtui.papers.signalled import signal_pictures, signal_table
from benchtui.papers.signing import sign_off
from benchtui.papers.source import Source
from benchtui.papers.stages import stage_parts
from benchtui.papers.troubles import rest, troubles


def report(source: Source, program: str) -> Document:
    """The whole report. The same record and program give the same document; computing takes seconds."""
    stage = whole_stage(source.build)
    gate = amplifier.gate_of(source.build, stage)
    last = source.history.entries[-1]
    blocks: list[Block] = [
        *opening(source, program),
        Heading("Before hands go in"),
        *amplifier.opened(source.build, gate),
        *compared_parts(source),
        *sign_off(source, result(source)),
        *_amplifier(source, stage),
        *margin_table(source),
        *pictures(source, gate),
        *signal_pictures(source),
        *stage_parts(source),
        *troubles(source),
        *made_of(source),
        *rest(source),
        Heading("The build file"),
        Paragraph(f"As the record has it, SHA-256 {source.sha256}.", "small"),
        Code(source.text),
    ]
    return Document(
        f"{source.build.name}: report of the bring-up",
        f"{source.build.name} ({source.build.id}), record up to #{last.n}",
        tuple(blocks),
        marks(source),
    )


def _amplifier(source: Source, whole: str | None) -> Iterator[Block]:
    """What it is, and what it should read and did read."""
    yield Heading("The amplifier")
    yield Bullets(tuple(amplifier.feed(source)))
    yield Heading("Valves", 2)
    yield amplifier.valves(source.build)
    yield from amplifier.bias(source)
    yield Heading("Test points", 2)
    yield from amplifier.points(source, whole, supply_stage(source.build))
    yield from signal_table(source)
    yield from amplifier.transformers(source.build)
