"""A page of paper measured in its pixels, with nothing known of how it was drawn but what a builder sees.

A centre cross is where a level and an upright stroke of the same length halve each other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pypdfium2

DPI = 300
_CROSS_MM = 10.0
_SLACK_MM = 0.4


@dataclass(frozen=True)
class Page:
    """Which pixels are dark, rows from below, and how many millimetres of the page one is wide and high."""

    dark: np.ndarray
    pixel_mm: tuple[float, float]

    @cached_property
    def level(self) -> Strokes:
        return _strokes(self, upright=False)

    @cached_property
    def upright(self) -> Strokes:
        return _strokes(self, upright=True)


def pages(data: bytes) -> list[Page]:
    """Every page of a PDF in pixels."""
    document = pypdfium2.PdfDocument(data)
    found = []
    for number in range(len(document)):
        page = document[number]
        bitmap = page.render(scale=DPI / 72, grayscale=True)
        dark = bitmap.to_numpy().reshape(bitmap.height, bitmap.width)[::-1] < 200
        size = [side / 72 * 25.4 / count for side, count in zip(page.get_size(), dark.shape[::-1], strict=True)]
        found.append(Page(np.ascontiguousarray(dark), (size[0], size[1])))
        bitmap.close()
        page.close()
    document.close()
    return found


@dataclass(frozen=True)
class Strokes:
    """Runs of dark along one direction, in millimetres: middle and length along it, and how far off they lie."""

    middle: np.ndarray
    length: np.ndarray
    off: np.ndarray

    def near(self, length: float, slack: float) -> Strokes:
        fit = np.abs(self.length - length) < slack
        return Strokes(self.middle[fit], self.length[fit], self.off[fit])


def strokes(page: Page, *, upright: bool) -> Strokes:
    """Every run of dark pixels, level or upright."""
    return page.upright if upright else page.level


def _strokes(page: Page, *, upright: bool) -> Strokes:
    dark, (along, across) = page.dark, page.pixel_mm
    if upright:
        dark, along, across = page.dark.T, across, along
    padded = np.zeros((dark.shape[0], dark.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = dark
    steps = np.diff(padded, axis=1)
    rows, begins = np.nonzero(steps == 1)
    ends = np.nonzero(steps == -1)[1]
    return Strokes((begins + ends) / 2 * along, (ends - begins) * along, (rows + 0.5) * across)


def _meeting(page: Page, size: float, slack: float) -> Iterator[tuple[float, float]]:
    """Where a level and an upright stroke of a size halve each other; each pixel of their widths by itself."""
    level, upright = (strokes(page, upright=each).near(size, slack) for each in (False, True))
    for x, y in zip(level.middle, level.off, strict=True):
        halved = (np.abs(upright.off - x) < 0.3) & (np.abs(upright.middle - y) < 0.3)
        yield from ((float(x), float(each)) for each in upright.middle[halved])


def crosses(page: Page) -> list[tuple[float, float]]:
    """The middle of every centre cross that stands whole on the page, in millimetres from its lower left corner."""
    return _grouped(_meeting(page, _CROSS_MM, _SLACK_MM))


def _grouped(places: Iterator[tuple[float, float]]) -> list[tuple[float, float]]:
    """The mean of places that lie within a millimetre of each other."""
    groups: list[list[tuple[float, float]]] = []
    for place in places:
        near = (group for group in groups if all(abs(a - b) < 1 for a, b in zip(group[0], place, strict=True)))
        group = next(near, None)
        if group is None:
            groups.append(group := [])
        group.append(place)
    return sorted((float(np.mean(xs)), float(np.mean(ys))) for xs, ys in (zip(*each, strict=True) for each in groups))


def diameter_mm(page: Page, at: tuple[float, float]) -> float:
    """Diameter of the circle around a cross: twice the median way to the first dark line beyond the cross's strokes."""
    ways = [radius for angle in np.radians(np.arange(22.5, 360, 15)) for radius in _to_dark(page, at, angle)]
    return 2 * float(np.median(ways)) if len(ways) >= 8 else float("nan")


def _to_dark(page: Page, at: tuple[float, float], angle: float) -> Iterator[float]:
    way = np.arange(0.9, 25.0, page.pixel_mm[0] / 4)
    columns = ((at[0] + way * np.cos(angle)) / page.pixel_mm[0]).astype(int)
    rows = ((at[1] + way * np.sin(angle)) / page.pixel_mm[1]).astype(int)
    inside = (columns >= 0) & (columns < page.dark.shape[1]) & (rows >= 0) & (rows < page.dark.shape[0])
    dark = page.dark[rows[inside], columns[inside]]
    if dark.any():
        first = int(np.argmax(dark))
        last = first + int(np.argmin(np.append(dark[first:], False)))
        yield float(way[first] + way[last - 1]) / 2


def bars(page: Page) -> tuple[float, float]:
    """Lengths of the level and the upright bar, between the middles of the strokes across their ends."""
    return _bar(page, upright=False), _bar(page, upright=True)


def _bar(page: Page, *, upright: bool) -> float:
    long = strokes(page, upright=upright).near(100.0, 3.0)
    across = strokes(page, upright=not upright).near(4.0, 0.5)
    found = []
    for middle, length, off in zip(long.middle, long.length, long.off, strict=True):
        ends = [
            across.off[(np.abs(across.middle - off) < 0.3) & (np.abs(across.off - end) < 0.3)]
            for end in (middle - length / 2, middle + length / 2)
        ]
        if all(len(each) for each in ends):
            found.append(float(ends[1].mean() - ends[0].mean()))
    return float(np.median(found)) if found else float("nan")


def squares(page: Page) -> list[tuple[float, float]]:
    """The middle of every crossed square, by its sides: two level and two upright strokes of 5 mm, 5 mm apart."""
    level, upright = (strokes(page, upright=each).near(5.2, 0.3) for each in (False, True))
    found = []
    for x, y in zip(level.middle, level.off, strict=True):
        opposite = (np.abs(level.middle - x) < 0.2) & (np.abs(level.off - y - 5.0) < 0.3)
        sides = [
            (np.abs(upright.middle - y - 2.5) < 0.4) & (np.abs(upright.off - x - far) < 0.3) for far in (-2.5, 2.5)
        ]
        if opposite.any() and all(side.any() for side in sides):
            middle_x = float(np.mean([upright.off[side].mean() for side in sides]))
            found.append((middle_x, float((y + level.off[opposite].mean()) / 2)))
    return _grouped(iter(found))


def datum(page: Page, *, mirrored: bool) -> tuple[float, float] | None:
    """The corner that places count from: two strokes of 5 mm outside of it, 1 mm off; None where it is not here."""
    level, upright = (strokes(page, upright=each).near(5.0, 0.3) for each in (False, True))
    out = 3.5 if mirrored else -3.5
    found = []
    for x, middle in zip(upright.off, upright.middle, strict=True):
        beside = (np.abs(level.middle - out - x) < 0.3) & (np.abs(level.off - middle - 3.5) < 0.3)
        xs, ys = (level.middle[beside] - out + x) / 2, (level.off[beside] + middle + 3.5) / 2
        found += [(float(each_x), float(each_y)) for each_x, each_y in zip(xs, ys, strict=True)]
    return None if not found else _grouped(iter(found))[0]
