"""What an amplifier that came back to the bench reads beside its last sign-off: a section of the report."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.papers import said
from benchtui.papers.blocks import Block, Heading, Paragraph, Table
from benchtui.papers.source import Source
from benchtui.session import figures
from benchtui.session.compared import Row, move, rows, summary
from benchtui.session.planning import plan
from benchtui.session.signed import Read, Signed

HEAD = ("What", "Last sign-off", "Now", "Mains then, now", "Moved")
FIRST = "First sign-off"


def compared_parts(source: Source) -> Iterator[Block]:
    """The readings since it came back last, beside those of the sign-off before that; nothing where it never did."""
    by = plan(source.build, {})
    signed = _signed(source)
    found = rows(source.build, by, signed)
    if signed.against is None or not found:
        return
    yield Heading("Since the last sign-off")
    came = f"Check-up {signed.checkups}" if signed.checked else "A repair"
    yield Paragraph(
        f"{came} against sign-off {signed.against.number} of {figures.date(signed.against.wall)}. All were typed. "
        "Moved is computed: what is left of the difference once the mains of both days is reckoned out by the build "
        "file. As before is what two readings by that meter, and of the mains, allow."
    )
    yield Paragraph(summary(found))
    yield _table(found)
    for row in found:
        if row.hint:
            yield Paragraph(f"{row.name}, {move(row)}: {row.hint}", "small")


def _signed(source: Source) -> Signed:
    """The sign-offs of the record."""
    signed = Signed()
    for entry in source.history.entries:
        if entry.event is not None:
            signed.take(entry.event, entry.stage, entry.wall, entry.where)
    return signed


def _table(found: tuple[Row, ...]) -> Table:
    """A row each, with what it read at the first sign-off where that is another for any of them."""
    if any(row.first is not None for row in found):
        rows_ = ((*_row(row), _value(row.first, row)) for row in found)
        return Table((*HEAD, FIRST), tuple(rows_), frozenset({1, 2, 3, 5}))
    return Table(HEAD, tuple(_row(row) for row in found), frozenset({1, 2, 3}))


def _row(row: Row) -> tuple[str, ...]:
    mains = said.NONE if row.now.mains_v is None else f"{_mains(row.then)}, {_mains(row.now)}"
    return (row.name, _value(row.then, row), _value(row.now, row), mains, move(row))


def _value(read: Read | None, row: Row) -> str:
    return said.value(read.value, row.unit, 4) if read is not None else said.NONE


def _mains(read: Read | None) -> str:
    return said.value(read.mains_v, "V") if read is not None else said.NONE
