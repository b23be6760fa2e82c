"""Panels laid out: every opening in millimetres on its panel, and the room that is taken around it.

Places are seen from outside, from the panel's lower left corner: x to the right, y up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import cos, radians, sin

from benchtui.buildfile.models import Build
from benchtui.buildfile.panels import Edge, Hole, Opening, Panel, Row
from benchtui.parts.mountings import Mounting, mounting, mountings
from benchtui.parts.screws import clearance_mm

MM = 1e3
"""Millimetres in a metre: build files are in SI once loaded."""


@dataclass(frozen=True)
class Cut:
    """One opening in a panel: round where it has a diameter, else a cut-out of `size_mm`, turned by `turn_deg`.

    `guide` is true where its size or place is only the library's guide.
    """

    name: str
    x_mm: float
    y_mm: float
    diameter_mm: float | None
    size_mm: tuple[float, float] | None
    turn_deg: float
    guide: bool


@dataclass(frozen=True)
class Room:
    """A box that stands on the panel around a place: width and height along the panel, depth away from it."""

    width_mm: float
    height_mm: float
    depth_mm: float


@dataclass(frozen=True)
class Mounted:
    """What is mounted at one place of a panel; `cuts` has its main opening first, then its fixing holes."""

    name: str
    path: tuple[str, ...]
    part: str | None
    mounting: Mounting
    written: Opening
    x_mm: float
    y_mm: float
    cuts: tuple[Cut, ...]
    behind: Room | None
    front: Room | None

    @property
    def fixings(self) -> tuple[Cut, ...]:
        """Its fixing holes."""
        return tuple(cut for cut in self.cuts if self.is_fixing(cut))

    def is_fixing(self, cut: Cut) -> bool:
        """Whether `cut` is one of its fixing holes, and no opening for itself."""
        return cut.name.startswith(f"{self.name} screw ")


@dataclass(frozen=True)
class Plate:
    """A panel with its openings; sizes in millimetres."""

    name: str
    panel: Panel
    width_mm: float
    height_mm: float
    thickness_mm: float
    mounted: tuple[Mounted, ...]

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """Every opening of the panel."""
        return tuple(cut for each in self.mounted for cut in each.cuts)

    def radius_mm(self, edge: Edge) -> float:
        """Inside radius of a bend at one of its edges, by default the sheet's thickness."""
        return self.thickness_mm if edge.radius is None else edge.radius * MM


def plates(build: Build) -> tuple[Plate, ...]:
    """Every panel of the build. Openings of a kind that the library does not know are left out; a check tells them."""
    return tuple(
        Plate(
            key, panel, panel.size[0] * MM, panel.size[1] * MM, panel.thickness * MM,
            tuple(_mounted(each, panel) for each in _written(key, panel) if each.opening.kind in mountings()),
        )
        for key, panel in build.panel.items()
    )  # fmt: skip


@dataclass(frozen=True)
class _Written:
    """An opening of the file, with rows written out."""

    name: str
    path: tuple[str, ...]
    part: str | None
    opening: Opening
    at_mm: tuple[float, float]


def _written(key: str, panel: Panel) -> Iterator[_Written]:
    holes: Mapping[str, Hole] = panel.holes
    for name, hole in holes.items():
        yield _Written(name, ("panel", key, "holes", name), hole.part, hole, _mm(hole.at))
    for name, row in panel.rows.items():
        yield from _in_row(name, ("panel", key, "rows", name), row)


def _in_row(name: str, path: tuple[str, ...], row: Row) -> Iterator[_Written]:
    x, y = _mm(row.first)
    step = row.spacing * MM
    for number in range(row.count):
        at = (x + step * number, y) if row.along == "right" else (x, y + step * number)
        part = row.parts[number] if number < len(row.parts) else None
        yield _Written(f"{name} {number + 1}", path, part, row, at)


def _mounted(written: _Written, panel: Panel) -> Mounted:
    opening, kind = written.opening, mounting(written.opening.kind)
    return Mounted(
        written.name, written.path, written.part, kind, opening, *written.at_mm,
        tuple(_cuts(written, kind, 0.0 if panel.paint is None else panel.paint * MM)),
        _room(opening.behind, kind.behind_mm), _room(opening.front, kind.front_mm),
    )  # fmt: skip


def _cuts(written: _Written, kind: Mounting, paint_mm: float) -> Iterator[Cut]:
    """The main opening, if there is one, and the fixing holes. Paint comes on both sides of a hole."""
    more = 2 * paint_mm
    opening, thread = written.opening, written.opening.thread or kind.thread
    for number, offset in enumerate(kind.at_mm or ((0.0, 0.0),), 1):
        dx, dy = _turned(offset, opening.turn)
        name = f"{written.name} hole {number}" if kind.at_mm else written.name
        yield from _main(replace(written, name=name, at_mm=(written.at_mm[0] + dx, written.at_mm[1] + dy)), kind, more)
    guessed = opening.screws is None
    screws = kind.screws_mm if opening.screws is None else tuple(_mm(each) for each in opening.screws)
    for number, offset in enumerate(screws if thread is not None else (), 1):
        dx, dy = _turned(offset, opening.turn)
        name, (x, y) = f"{written.name} screw {number}", written.at_mm
        yield Cut(name, x + dx, y + dy, clearance_mm(thread) + more, None, 0.0, guessed)


def _main(written: _Written, kind: Mounting, more: float) -> Iterator[Cut]:
    """The main opening, `more` millimetres larger than what goes through; none where neither file nor guide has one."""
    opening, (x, y) = written.opening, written.at_mm
    thread = opening.thread or kind.thread
    if opening.size is not None:
        width, height = _mm(opening.size)
        yield Cut(written.name, x, y, None, (width + more, height + more), opening.turn, False)
    elif opening.diameter is not None:
        yield Cut(written.name, x, y, opening.diameter * MM + more, None, 0.0, False)
    elif kind.cut_out_mm is not None:
        width, height = kind.cut_out_mm
        yield Cut(written.name, x, y, None, (width + more, height + more), opening.turn, True)
    elif kind.hole_mm is not None:
        yield Cut(written.name, x, y, kind.hole_mm + more, None, 0.0, True)
    elif kind.group in ("earth", "bond", "fixing") and thread is not None:
        # its thread is the builder's own choice, here or by default, and no guess
        yield Cut(written.name, x, y, clearance_mm(thread) + more, None, 0.0, False)


def _room(measured: tuple[float, float, float] | None, guide_mm: tuple[float, float, float] | None) -> Room | None:
    if measured is not None:
        return Room(*(each * MM for each in measured))
    return None if guide_mm is None else Room(*guide_mm)


def _turned(offset: tuple[float, float], turn_deg: float) -> tuple[float, float]:
    """`offset` turned against the clock."""
    angle = radians(turn_deg)
    x, y = offset
    return x * cos(angle) - y * sin(angle), x * sin(angle) + y * cos(angle)


def _mm(place: tuple[float, float]) -> tuple[float, float]:
    return place[0] * MM, place[1] * MM
