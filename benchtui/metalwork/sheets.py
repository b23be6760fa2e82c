"""Sheets of paper for a drawing at full size: windows onto it that overlap, marks to join them by, and scale bars.

A place on a sheet is in millimetres from its lower left corner.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count
from math import ceil
from typing import Literal

from benchtui.metalwork.drawing import Box, Drawing, Line, Mark, Polygon, Role, Words, around

#: Width and height in millimetres. ISO 216; letter is 8.5 by 11 in (ANSI/ASME Y14.1).
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}

OVERLAP_MM = 16.0
"""What two sheets share: wide enough that each centre cross stands whole on one of them."""

MOST_SHEETS = 60
"""A panel that takes more has a slip in its size: a square metre and a half are 40. Own decision."""

BAR_MM = 100.0

#: Room that is left free of the drawing: at the left for the upright bar, below for the other one and the words.
_LEFT_MM, _BELOW_MM, _EDGE_MM = 20.0, 52.0, 8.0

_SCALE = (
    "Print at 100 %, without fitting to the page. Then measure both bars with a steel rule: 100 mm each, to 0.2 mm. "
    "If both read 98.5, print again at 101.5 % (100 divided by 98.5). If they differ, the printer stretches one way "
    "and no single percentage mends both: use another printer, or mark out by the places in the hole schedule."
)
_CARE = (
    "A wrong hole stays: offer up the part itself before you drill. Goggles on, sheet clamped, no gloves and no loose "
    "sleeves at the drill. Mains and HT come into this chassis: local codes and licensed practice come first."
)
_JOIN = (
    "To join: cut one sheet through the middles of its crossed squares, lay it on the next so that the squares of the "
    "same letter are whole again, then measure the whole outline."
)


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper: what of `drawn` lies in `window`, its corner at `at`; and `marks` in places of the sheet."""

    width_mm: float
    height_mm: float
    window: Box
    at: tuple[float, float]
    drawn: tuple[Mark, ...]
    marks: tuple[Mark, ...]


def sheets(drawing: Drawing, paper: Literal["a4", "letter"]) -> tuple[Sheet, ...]:
    """The drawing on as few sheets as it takes, upright or lying."""
    upright = PAPERS[paper]
    width, height = min(upright, upright[::-1], key=lambda size: _how_many(drawing.box, *size)[2])
    across, up, total = _how_many(drawing.box, width, height)
    windows = list(_windows(drawing.box, across, up))
    drawn = (*drawing.marks, *_registers(drawing, across, up))
    return tuple(
        Sheet(
            width, height, window, (_LEFT_MM, height - _EDGE_MM - window.height), drawn,
            tuple(_around(drawing, width, f"Sheet {number} of {total}", total > 1)),
        )
        for number, window in enumerate(windows, 1)
    )  # fmt: skip


def how_many(drawing: Drawing, paper: Literal["a4", "letter"]) -> int:
    """How many sheets it takes."""
    upright = PAPERS[paper]
    return min(_how_many(drawing.box, *size)[2] for size in (upright, upright[::-1]))


def one_sheet(drawing: Drawing) -> Sheet:
    """The drawing on a sheet that is as large as it needs."""
    width = max(drawing.box.width, 1.6 * BAR_MM) + _LEFT_MM + _EDGE_MM
    height = max(drawing.box.height, BAR_MM) + _BELOW_MM + _EDGE_MM
    at = (_LEFT_MM, height - _EDGE_MM - drawing.box.height)
    return Sheet(width, height, drawing.box, at, drawing.marks, tuple(_around(drawing, width, "", False)))


def _how_many(box: Box, width: float, height: float) -> tuple[int, int, int]:
    """How many sheets across and up, and together."""
    across = _sheets_along(box.width, width - _LEFT_MM - _EDGE_MM)
    up = _sheets_along(box.height, height - _BELOW_MM - _EDGE_MM)
    return across, up, across * up


def _sheets_along(length: float, room: float) -> int:
    return 1 if length <= room else ceil((length - OVERLAP_MM) / (room - OVERLAP_MM))


def _spans(begin: float, length: float, number: int) -> list[tuple[float, float]]:
    """`number` pieces of equal length over the whole, each sharing the overlap with the next."""
    piece = (length + (number - 1) * OVERLAP_MM) / number
    begins = [begin + each * (piece - OVERLAP_MM) for each in range(number)]
    return [(each, each + piece) for each in begins]


def _windows(box: Box, across: int, up: int) -> Iterator[Box]:
    """Windows row by row, the upper row first."""
    for bottom, top in reversed(_spans(box.bottom, box.height, up)):
        for left, right in _spans(box.left, box.width, across):
            yield Box(left, bottom, right, top)


def _registers(drawing: Drawing, across: int, up: int) -> Iterator[Mark]:
    """Two crossed squares on each joint of two sheets, lettered, off the openings where there is room."""
    box = drawing.box
    columns, rows = _spans(box.left, box.width, across), _spans(box.bottom, box.height, up)
    openings = [around(mark) for mark in drawing.marks if mark.role in _KEPT_FREE]
    numbers = count()
    for x in _joints(columns):
        for low, high in rows:
            for y in _two_places(low, high, lambda y, x=x: _free(x, y, openings)):
                yield from _crossed_square(x, y, _letters(next(numbers)))
    for y in _joints(rows):
        for low, high in columns:
            for x in _two_places(low, high, lambda x, y=y: _free(x, y, openings)):
                yield from _crossed_square(x, y, _letters(next(numbers)))


_KEPT_FREE = (Role.HOLE, Role.SCREW, Role.CUT_OUT, Role.GUIDE, Role.CENTRE)


def _joints(spans: list[tuple[float, float]]) -> list[float]:
    """The middle of each overlap."""
    return [end - OVERLAP_MM / 2 for _, end in spans[:-1]]


def _two_places(low: float, high: float, free: Callable[[float], bool]) -> tuple[float, float]:
    """A place near each end of a joint, the first free one inwards, off the corners where four sheets meet."""
    first = min(OVERLAP_MM + 5.0, (high - low) / 4)
    steps = range(0, max(1, int((high - low) / 2 - first)), 4)
    begin = next((low + first + step for step in steps if free(low + first + step)), low + first)
    end = next((high - first - step for step in steps if free(high - first - step)), high - first)
    return begin, end


def _free(x: float, y: float, openings: list[Box]) -> bool:
    here = Box(x, y, x, y).grown(5.0)
    return not any(here.meets(each) for each in openings)


def _letters(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    return (_letters(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def _crossed_square(x: float, y: float, name: str) -> Iterator[Mark]:
    half = 2.5
    yield Polygon(Role.REGISTER, Box(x, y, x, y).grown(half).corners)
    yield Line(Role.REGISTER, x - half, y - half, x + half, y + half)
    yield Line(Role.REGISTER, x - half, y + half, x + half, y - half)
    yield Words(x + half + 0.7, y - 1.0, name, 2.5, role=Role.REGISTER)


def _around(drawing: Drawing, width: float, number: str, joined: bool) -> Iterator[Mark]:
    """Bars and words of a sheet."""
    yield from _bar_across(_LEFT_MM, _BELOW_MM - 6.0)
    yield from _bar_up(12.0, _BELOW_MM)
    y = _BELOW_MM - 11.0
    head = " ".join((drawing.title, number)).strip()
    for words, height in ((head, 2.8), (drawing.origin, 2.0), *((text, 2.0) for text in _told(drawing, joined))):
        for line in textwrap.wrap(words, int((width - _LEFT_MM - _EDGE_MM) / (0.52 * height))):
            yield Words(_LEFT_MM, y, line, height)
            y -= 1.35 * height


def _told(drawing: Drawing, joined: bool) -> Iterator[str]:
    yield from drawing.minded
    yield _SCALE
    if joined:
        yield _JOIN
    yield _CARE


def _bar_across(x: float, y: float) -> Iterator[Mark]:
    yield Line(Role.SCALE, x, y, x + BAR_MM, y)
    for ten in range(11):
        tall = 2.0 if ten % 10 == 0 else 1.0
        yield Line(Role.SCALE, x + 10 * ten, y - tall, x + 10 * ten, y + tall)
    yield Words(x + BAR_MM + 2.0, y - 0.8, "100 mm across: measure", 2.2)


def _bar_up(x: float, y: float) -> Iterator[Mark]:
    yield Line(Role.SCALE, x, y, x, y + BAR_MM)
    for ten in range(11):
        long = 2.0 if ten % 10 == 0 else 1.0
        yield Line(Role.SCALE, x - long, y + 10 * ten, x + long, y + 10 * ten)
    yield Words(x - 3.2, y + BAR_MM / 2, "100 mm up: measure", 2.2, 90.0, True)
