"""Where the names of holes find room on a drawing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from benchtui.metalwork.drawing import Box, Mark, Words, around

_HEIGHT_MM = 2.0
_SMALL_MM = 1.5
_GAP_MM = 0.8


def labelled(names: Iterable[tuple[Box, tuple[str, ...]]], taken: Sequence[Mark], within: Box) -> Iterator[Words]:
    """Words beside each place, in the first spot that is free of `taken` and of other words; else smaller, else there.

    `names` are what each opening takes and the lines of its label.
    """
    full = [around(mark) for mark in taken]
    for place, lines in names:
        chosen = _chosen(place, lines, full, within)
        full += [around(words) for words in chosen]
        yield from chosen


def _chosen(place: Box, lines: tuple[str, ...], full: list[Box], within: Box) -> list[Words]:
    for height in (_HEIGHT_MM, _SMALL_MM):
        for spot in _spots(place, lines, height):
            boxes = [around(words) for words in spot]
            if all(within.holds(box) and not any(box.meets(other) for other in full) for box in boxes):
                return spot
    return next(_spots(place, lines, _SMALL_MM))


def _spots(place: Box, lines: tuple[str, ...], height: float) -> Iterator[list[Words]]:
    """Right, left, above and below of a place, then further off."""
    middle_y = (place.bottom + place.top) / 2
    long = max(Words(0, 0, line, height).length for line in lines)
    tall = 1.4 * height * len(lines)
    lowest = middle_y + tall / 2 - 1.2 * height
    left_of_middle = (place.left + place.right - long) / 2
    for further in (0.0, 3.0, 7.0):
        gap = _GAP_MM + further
        for x, top in (
            (place.right + gap, lowest),
            (place.left - gap - long, lowest),
            (left_of_middle, place.top + gap + tall - height),
            (left_of_middle, place.bottom - gap - height),
            (place.right + gap, lowest + tall),
            (place.right + gap, lowest - tall),
        ):
            yield [Words(x, top - 1.4 * height * number, line, height) for number, line in enumerate(lines)]
