"""What is computed for the finished amplifier: ratings, charges, load lines; and what it is made of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import count, product
from string import ascii_lowercase

from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build
from benchtui.buildfile.panels import Panel
from benchtui.forecast.loadline import stage_of
from benchtui.forecast.margins import margins
from benchtui.forecast.results import GateForecast
from benchtui.papers import said
from benchtui.papers.blocks import Block, Heading, Paragraph, Picture, Table
from benchtui.papers.source import Source
from benchtui.procedure import events as e
from benchtui.session import ratings
from benchtui.session.pictures import emptying_plot, load_plot, node_volts
from benchtui.session.wirelist import wire_list


def margin_table(source: Source) -> Iterator[Block]:
    """Every rating with its margin at the mains read last and at the highest."""
    build, read = source.build, source.history.of(e.MainsRead)
    mains_v = read[-1].event.value_v if read else build.mains.volts
    found = margins(build, mains_v)
    yield Heading("Ratings and margins, computed")
    for sentence in ratings.sentences(build, found, mains_v, measured=bool(read)):
        yield Paragraph(sentence)
    if found:
        rows = ratings.rows(found)
        letters = dict(zip(dict.fromkeys(row.source for row in rows), _letters(), strict=False))
        shown = ((r.part, r.what, r.here, r.high, r.limit, r.margin, r.standing, letters[r.source]) for r in rows)
        here, high = (f"At {each}" for each in ratings.heads(build, mains_v))
        head = ("Part", "What", here, high, "Rating", "Margin", "It is", "From")
        yield Table(head, tuple(shown), frozenset({2, 3, 4, 5}))
        for note in ratings.notes(found):
            yield Paragraph(note, "small")
        yield Paragraph(
            f"Where the ratings are from: {'; '.join(f'({k}) {said}' for said, k in letters.items())}.", "small"
        )


def _letters() -> Iterator[str]:
    """a, b, ... z, aa, ab, ..."""
    for length in count(1):
        yield from map("".join, product(ascii_lowercase, repeat=length))


def pictures(source: Source, gate: GateForecast | None) -> Iterator[Block]:
    """Load lines of every amplifying section with what was measured, and how the reservoirs empty."""
    build = source.build
    yield Heading("Load lines and operating points")
    count = 0
    for section in sections(build):
        at = stage_of(build, section.id) if section.kind in ("triode", "pentode") else None
        if at is not None:
            count += 1
            yield Picture(load_plot(build, at, section.id, volts_in(source, at)))
    if not count:
        yield Paragraph("No stage of this build has an amplifying valve that the engine can solve.")
    if gate is not None and (fall := emptying_plot(build, gate)) is not None:
        yield Heading("How the reservoirs empty")
        yield Picture(fall)


def volts_in(source: Source, stage: str) -> dict[str, float]:
    """Node = direct volts to chassis, as read last in `stage`."""
    return node_volts(source.build, ((r.point, r.value) for r in source.history.counting(stage)))


def made_of(source: Source) -> Iterator[Block]:
    """Wires, panels, and parts that were used before."""
    build = source.build
    wires = wire_list(build)
    yield Heading("Wires")
    yield Paragraph("From the build file, by stage. 'benchtui wires' has their sizes.")
    rows = tuple((wire.stage, wire.use.name, wire.start, wire.finish, wire.colour) for wire in wires)
    yield Table(("Stage", "Use", "From", "To", "Colour"), rows)
    yield Heading("Panels")
    yield from _panels(build)
    yield from salvaged(build)


def _panels(build: Build) -> Iterator[Block]:
    rows = tuple((id, panel.name, _size(panel), panel.material, _openings(panel)) for id, panel in build.panel.items())
    if rows:
        yield Paragraph("From the build file. 'benchtui drill' has the holes and templates.")
        yield Table(("Panel", "Name", "Size", "Material", "What goes through it"), rows)
    else:
        yield Paragraph("The build file names no panel.")


def _size(panel: Panel) -> str:
    return " x ".join(f"{1e3 * length:g}" for length in (*panel.size, panel.thickness)) + " mm"


def _openings(panel: Panel) -> str:
    counts = Counter(hole.kind for hole in panel.holes.values())
    counts += Counter({row.kind: row.count for row in panel.rows.values()})
    return ", ".join(f"{count} x {kind}" if count > 1 else kind for kind, count in counts.items()) or said.NONE


def salvaged(build: Build) -> Iterator[Block]:
    """Where parts that were used before came from, what their labels said, and what was measured on them."""
    if not build.salvaged:
        return
    yield Heading("Parts that were used before")
    rows = tuple(
        (id, part.found or said.NONE, part.label or said.NONE, "; ".join(part.measured) or said.NONE,
         "; ".join(part.estimated) or said.NONE, ", ".join(filter(None, (part.when, part.meter))) or said.NONE)
        for id, part in build.salvaged.items()
    )  # fmt: skip
    yield Table(("Part", "From", "Label", "Measured", "Estimated", "When, with"), rows)
