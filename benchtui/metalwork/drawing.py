"""A drawing as a list of marks in millimetres, from which paper and files for machines are written.

Places are from the drawing's own corner: x to the right, y up.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

MARK = "benchtui template"
"""What every file that is written says of itself, so that it may be written anew, and no other file is."""


class Role(StrEnum):
    """What a mark stands for; in DXF, its layer."""

    OUTLINE = "outline"
    FOLD = "fold"
    HOLE = "hole"
    SCREW = "screw"
    CUT_OUT = "cut-out"
    GUIDE = "guide"
    """An opening whose size or place is no more than a guide: nothing to be cut from."""

    CENTRE = "centre"
    KEEP_OUT = "keep-out"
    BEHIND = "behind"
    TEXT = "text"
    SCALE = "scale"
    REGISTER = "register"


#: What a machine may cut.
CUT = (Role.OUTLINE, Role.HOLE, Role.SCREW, Role.CUT_OUT)


class Style(NamedTuple):
    """How a mark is drawn on paper: width in millimetres, lengths of dash and gap, and how dark from 0 to 1."""

    width_mm: float
    dashes_mm: tuple[float, ...] = ()
    dark: float = 1.0


STYLES = {
    Role.OUTLINE: Style(0.25),
    Role.FOLD: Style(0.25, (6, 1.5, 1, 1.5)),
    Role.HOLE: Style(0.2),
    Role.SCREW: Style(0.2),
    Role.CUT_OUT: Style(0.2),
    Role.GUIDE: Style(0.2, (1.2, 0.8)),
    Role.CENTRE: Style(0.13),
    Role.KEEP_OUT: Style(0.2, (2, 2), 0.6),
    Role.BEHIND: Style(0.13, (3, 2), 0.6),
    Role.TEXT: Style(0.1),
    Role.SCALE: Style(0.2),
    Role.REGISTER: Style(0.2),
}


@dataclass(frozen=True)
class Line:
    """From one place to another."""

    role: Role
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Circle:
    """A circle by its centre and diameter."""

    role: Role
    x: float
    y: float
    diameter: float


@dataclass(frozen=True)
class Polygon:
    """A closed line through `points`."""

    role: Role
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Words:
    """Words on a line that begins at a place, or has its middle there; turned by `turn_deg` against the clock."""

    x: float
    y: float
    text: str
    height: float = 2.5
    turn_deg: float = 0.0
    middle: bool = False
    role: Role = Role.TEXT

    @property
    def length(self) -> float:
        """Length that the words take at most in a plain typeface: no metrics are the same everywhere."""
        return 0.6 * self.height * len(self.text)


Mark = Line | Circle | Polygon | Words


class Box(NamedTuple):
    """An upright rectangle."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Its corners against the clock, the lower left one first."""
        return (self.left, self.bottom), (self.right, self.bottom), (self.right, self.top), (self.left, self.top)

    def grown(self, by: float) -> Box:
        """The rectangle with `by` more on each side."""
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def meets(self, other: Box) -> bool:
        """Whether both have an area in common."""
        return (
            self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top
        )

    def holds(self, other: Box) -> bool:
        """Whether `other` lies wholly within."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.bottom <= other.bottom
            and other.top <= self.top
        )


@dataclass(frozen=True)
class Drawing:
    """Marks within `box`, and the words that say what is drawn and what is to be minded."""

    name: str
    title: str
    origin: str
    minded: tuple[str, ...]
    box: Box
    marks: tuple[Mark, ...]


def around(mark: Mark) -> Box:
    """The upright rectangle that a mark takes, the width of its line left out."""
    match mark:
        case Line(_, x1, y1, x2, y2):
            return Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))
        case Circle(_, x, y, diameter):
            return Box(x, y, x, y).grown(diameter / 2)
        case Polygon(_, points):
            across, up = zip(*points, strict=True)
            return Box(min(across), min(up), max(across), max(up))
        case Words():
            begins = -mark.length / 2 if mark.middle else 0.0
            below, above = -0.25 * mark.height, mark.height
            if mark.turn_deg == 90:
                return Box(mark.x - above, mark.y + begins, mark.x - below, mark.y + begins + mark.length)
            return Box(mark.x + begins, mark.y + below, mark.x + begins + mark.length, mark.y + above)
