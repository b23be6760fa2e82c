"""Panels of the chassis as a builder writes them: plates, their edges, and what goes through them.

Places are seen from outside the amplifier, from the panel's lower left corner: first to the right, then up.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from benchtui.buildfile.entry import Entry
from benchtui.buildfile.values import Count, Flag, Id, Metres, MetresEitherWay, Number, Text

Place = tuple[MetresEitherWay, MetresEitherWay]

SIDES = ("left", "right", "top", "bottom")

#: What an earth bolt can carry, counted from the metal of the panel outwards.
Stacked = Literal["toothed washer", "washer", "spring washer", "protective earth tag", "other tag", "nut", "lock nut"]


class Edge(Entry):
    """What an edge of a panel is; exactly one of the first four. An edge that is not listed ends there.

    Every joint is told by both panels: `fold` answers `fold`, `against` answers `meets`.
    """

    fold: Id | None = Field(None, description="the panel as which the same sheet goes on behind the bend")
    meets: Id | None = Field(None, description="the panel that stands against the inside of this edge")
    against: Id | None = Field(None, description="the panel against whose inside this edge stands; that one `meets`")
    lip: Metres | None = Field(None, description="width of a lip bent inwards along this edge")
    radius: Metres | None = Field(None, description="inside radius of the bend; by default the sheet's thickness")
    begins: MetresEitherWay | None = Field(
        None,
        description="where edges differ in length: how far inside the left or lower end of this one the other starts",
    )
    bare: Flag = Field(
        False,
        description="true where both are bare metal and clamped where they meet: that earths one by the other",
    )

    @property
    def neighbour(self) -> str | None:
        """The panel behind this edge, if there is one."""
        return self.fold or self.meets or self.against

    @property
    def bent(self) -> bool:
        """Whether the sheet goes on behind the edge, as another panel or a lip."""
        return self.fold is not None or self.lip is not None


class Edges(Entry):
    """The four edges of a panel, as seen from outside."""

    left: Edge | None = Field(None, description="its left edge")
    right: Edge | None = Field(None, description="its right edge")
    top: Edge | None = Field(None, description="its upper edge")
    bottom: Edge | None = Field(None, description="its lower edge")


def edges(written: Edges) -> Iterator[tuple[str, Edge]]:
    """The side and the edge of each that is listed."""
    for side in SIDES:
        edge = getattr(written, side)
        if edge is not None:
            yield side, edge


class Opening(Entry):
    """What goes through a panel: its kind, and what a caliper or the maker's drawing says of it."""

    kind: Text = Field(description='what is mounted, a kind of the parts library, such as "noval socket", or "hole"')
    diameter: Metres | None = Field(
        None, description="round hole that it needs, by caliper or drawing; without it a guide size, which warns"
    )
    size: tuple[Metres, Metres] | None = Field(None, description="width and height of a cut-out, instead of `diameter`")
    turn: Number = Field(0.0, description="degrees by which all of it is turned, against the clock")
    screws: tuple[Place, ...] | None = Field(
        None, description="places of its fixing holes, from its own centre, by caliper or drawing"
    )
    thread: Text | None = Field(None, description='thread of its fixing screws, such as "M3" or "6-32"')
    behind: tuple[Metres, Metres, Metres] | None = Field(
        None, description="room that it takes behind the panel, nut included: width, height, depth"
    )
    front: tuple[Metres, Metres, Metres] | None = Field(
        None, description="room that it takes in front of the panel: width, height, depth"
    )
    bare: Flag = Field(False, description="true where paint or anodising is taken off around it, for an earth")
    insulated: Flag = Field(
        False, description="true where its metal body is insulated from the panel, as of an input jack: it has no bond"
    )
    stack: tuple[Stacked, ...] = Field(
        (),
        description="on an earth bolt, or where a part has its own earth lead: what it carries, from the panel out",
    )
    axis: Literal["right", "up", "out"] | None = Field(
        None,
        description="of a transformer: where the axis of its windings points, seen on this panel before `turn`",
    )
    role: Text = Field("", description="what it is for, in the builder's words")


class Hole(Opening):
    """One opening."""

    at: Place = Field(description="its centre")
    part: Id | None = Field(None, description="the part of this build that sits there")


class Row(Opening):
    """Openings of one kind, in line."""

    first: Place = Field(description="centre of the first")
    spacing: Metres = Field(description="from centre to centre")
    along: Literal["right", "up"] = Field("right", description="which way the row goes on")
    count: Count = Field(ge=2, le=60, description="how many there are")
    parts: tuple[Id, ...] = Field((), description="the parts of this build that sit there, in order; none or `count`")


class KeepOut(Entry):
    """An area that stays free of openings and of what they carry."""

    at: Place = Field(description="its lower left corner")
    size: tuple[Metres, Metres] = Field(description="its width and height")
    reason: Text = Field(description="why, such as a strut behind, or a hand's way")


class Panel(Entry):
    """A plate of the chassis."""

    name: Text = Field(description="what the screen calls it")
    size: tuple[Metres, Metres] = Field(description="width and height, outside, bends included")
    thickness: Metres = Field(description="of the sheet")
    material: Literal["aluminium", "steel", "stainless steel", "brass", "copper", "wood", "plastic"] = Field(
        description="what it is made of"
    )
    paint: Metres | None = Field(None, description="thickness of paint or powder that comes on after drilling")
    edges: Edges = Field(default_factory=Edges)
    holes: dict[Id, Hole] = Field(default_factory=dict)
    rows: dict[Id, Row] = Field(default_factory=dict)
    keep_out: dict[Id, KeepOut] = Field(default_factory=dict)
