"""What went wrong and what became of it, what was changed, and what was noted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from benchtui.papers.blocks import Block, Code, Heading, Paragraph, Table
from benchtui.papers.history import Entry
from benchtui.papers.source import Source
from benchtui.papers.stages import TOLD
from benchtui.procedure import events as e
from benchtui.session import figures

HEAD = ("#", "When", "Entry")

_TROUBLE = (
    e.PointStopped, e.LimiterBad, e.LimiterDark, e.MeterBad, e.NotFallen, e.MainsLive, e.ReservoirHigh, e.RailHigh,
    e.CapacitorHigh, e.OhmsBad, e.ClipFound, e.ClipShunted, e.LookFailed, e.CauseFound, e.CauseOpen, e.Slipped,
    e.Retest, e.BrokeDown, e.Told, e.Exchanged, e.PutBack, e.PointExchanged, e.FurtherRead, e.Undone,
)  # fmt: skip


def troubles(source: Source) -> Iterator[Block]:
    """Alarms and what was found, changes of the file, notes."""
    history = source.history
    yield Heading("What went wrong, what was found and mended")
    yield from _listed(history.of(*_TROUBLE), "Nothing: no alarm, no reading that stopped the work, no repair.")
    yield Heading("Changes of the build file")
    yield from _changes(history.of(e.BuildChanged))
    yield Heading("Notes")
    notes = history.of(e.Noted, e.Left)
    yield from _listed(notes, "No note was typed.")


def rest(source: Source) -> Iterator[Block]:
    """Every entry that no table of the stages holds, in order: the gate, the closing, power, and whatever is new."""
    others = [entry for entry in source.history.entries if not isinstance(entry.event, TOLD)]
    yield Heading("All other entries of the record")
    yield Paragraph("Gate, closing, power and decisions, in order; volts and ohms in them were typed, so measured.")
    yield from _listed(others, "None.")


def _listed(entries: Iterable[Entry], none: str) -> Iterator[Block]:
    rows = tuple((str(entry.n), figures.day(entry.wall), entry.says) for entry in entries)
    yield Table(HEAD, rows, frozenset({0})) if rows else Paragraph(none)


def _changes(entries: Iterable[Entry]) -> Iterator[Block]:
    found = list(entries)
    if not found:
        yield Paragraph("The file was never changed since the record began.")
    for entry in found:
        change = entry.event
        kept = "what had passed was kept" if change.keep else f"checked again: {', '.join(change.touched) or 'all'}"
        yield Paragraph(f"#{entry.n}, {figures.day(entry.wall)}: {kept}. SHA-256 since then {change.sha256}.")
        yield Code("\n".join(change.changes))
