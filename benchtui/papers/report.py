"""The report: all of a record, and what is computed for the amplifier that it tells of."""

from __future__ import annotations

from benchtui.forecast.settled import whole_stage
from benchtui.papers.blocks import Block, Code, Document, Heading, Paragraph
from benchtui.papers.compared import compared_parts
from benchtui.papers.computed import gate_of, made_of, margin_table, pictures, reservoir_table
from benchtui.papers.opening import marks, opening
from benchtui.papers.source import Source
from benchtui.papers.stages import stage_parts
from benchtui.papers.troubles import rest, troubles


def report(source: Source, program: str) -> Document:
    """The whole report. The same record and program give the same document; computing takes seconds."""
    stage = whole_stage(source.build)
    gate = gate_of(source.build, stage)
    last = source.history.entries[-1]
    blocks: list[Block] = [
        *opening(source, program),
        *compared_parts(source),
        *stage_parts(source),
        *troubles(source),
        *margin_table(source),
        Heading("What stays charged, computed"),
        *reservoir_table(gate),
        *pictures(source, gate),
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
