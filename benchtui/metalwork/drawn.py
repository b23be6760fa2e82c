"""A panel drawn to scale in characters, as it is seen from outside, with the present opening marked by its sign."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Literal, NamedTuple

from benchtui.buildfile.panels import Edge, edges
from benchtui.metalwork.drawing import Box, around
from benchtui.metalwork.layout import MM, Cut, Plate
from benchtui.metalwork.template import outline

CellRole = Literal["blank", "edge", "bend", "behind", "keep-out", "hole", "screw", "label", "present", "legend"]
"""What a cell shows. All of them differ by their sign too; colours only help."""

Span = tuple[str, CellRole]


@dataclass(frozen=True)
class Signs:
    """The characters of a drawing. Of a frame: the upper corners, the lower ones, level, upright."""

    edge: str
    bend: str
    behind: str
    round: str
    square: str
    present: str
    keep_out: str
    hole: str
    screw: str
    here: str
    before: str
    after: str
    datum: str = "0"


UNICODE = Signs("┌┐└┘─│", "═║", "┄┊", "╭╮╰╯─│", "┌┐└┘─│", "┏┓┗┛━┃", "░", "○", "∘", "◉", "▸", "◂")
ASCII = Signs("++++-|", "=H", "~:", "..''-|", "++++-|", "######", "%", "o", ".", "@", ">", "<")


class _Frame(NamedTuple):
    """Columns and rows of a rectangle of cells, both ends included; rows count downwards."""

    left: int
    top: int
    right: int
    bottom: int


def drawn(
    plate: Plate, present: str, columns: int, rows: int, *, plain: bool = False, tall: float = 2.0
) -> list[list[Span]]:
    """At most `rows` lines of at most `columns` cells, each as (text, role) spans; the last line explains the signs.

    `present` is the name of the opening that is worked on, or ""; `plain` keeps to ASCII; a cell is `tall` times as
    high as it is wide.
    """
    signs = ASCII if plain else UNICODE
    canvas = _Canvas(plate, columns, rows - 1, tall)
    for area in plate.panel.keep_out.values():
        x, y, width, height = (each * MM for each in (*area.at, *area.size))
        canvas.fill(canvas.frame(Box(x, y, x + width, y + height)), signs.keep_out, "keep-out")
    _edges(canvas, plate, signs)
    cuts = [(cut, mounted.is_fixing(cut)) for mounted in plate.mounted for cut in mounted.cuts]
    cuts.sort(key=lambda each: -_span(each[0]))
    cuts.sort(key=lambda each: each[0].name == present and not _framed(canvas, each[0]))  # a sign may hide no frame
    for cut, fixing in cuts:
        _opening(canvas, cut, signs, fixing=fixing, here=cut.name == present)
    for cut, fixing in reversed(cuts):
        if not fixing or cut.name == present:
            _name(canvas, cut, signs, here=cut.name == present)
    return [*canvas.lines(), _legend(plate, signs, columns, here=any(cut.name == present for cut, _ in cuts))]


class _Canvas:
    """Cells over the panel, its edges on the outermost ones."""

    def __init__(self, plate: Plate, columns: int, rows: int, tall: float) -> None:
        mm_a_column = max(plate.width_mm / max(columns - 1, 1), plate.height_mm / max(rows - 1, 1) / tall)
        self._size = plate.width_mm, plate.height_mm
        self.last_column = max(2, min(columns - 1, round(plate.width_mm / mm_a_column)))
        self.last_row = max(2, min(rows - 1, round(plate.height_mm / (mm_a_column * tall))))
        self._cells: dict[tuple[int, int], tuple[str, CellRole]] = {}

    def column(self, x_mm: float) -> int:
        return min(max(round(x_mm / self._size[0] * self.last_column), 0), self.last_column)

    def row(self, y_mm: float) -> int:
        return min(max(self.last_row - round(y_mm / self._size[1] * self.last_row), 0), self.last_row)

    def frame(self, box: Box) -> _Frame:
        return _Frame(self.column(box.left), self.row(box.top), self.column(box.right), self.row(box.bottom))

    def put(self, column: int, row: int, sign: str, role: CellRole) -> None:
        if 0 <= column <= self.last_column and 0 <= row <= self.last_row:
            self._cells[column, row] = sign, role

    def write(self, column: int, row: int, text: str, role: CellRole) -> None:
        for number, letter in enumerate(text):
            self.put(column + number, row, letter, role)

    def fill(self, frame: _Frame, sign: str, role: CellRole) -> None:
        for row in range(frame.top, frame.bottom + 1):
            self.write(frame.left, row, sign * (frame.right - frame.left + 1), role)

    def outline(self, frame: _Frame, signs: str, role: CellRole) -> None:
        """The rectangle's four sides, in the six signs of a frame; within it is blank."""
        left, top, right, bottom = frame
        self.fill(frame, " ", "blank")
        for row in (top, bottom):
            self.write(left, row, signs[4] * (right - left + 1), role)
        for row in range(top + 1, bottom):
            self.put(left, row, signs[5], role)
            self.put(right, row, signs[5], role)
        corners = ((left, top), (right, top), (left, bottom), (right, bottom))
        for place, sign in zip(corners, signs, strict=False):
            self.put(*place, sign, role)

    def free(self, column: int, row: int, length: int) -> bool:
        """Whether text of this length finds nothing there, within the edges, and no other name touches it."""
        if not (0 < column and column + length <= self.last_column and 0 < row < self.last_row):
            return False
        beside = (self._role(column + n, row) for n in (-1, length))
        return all(self._role(column + n, row) == "blank" for n in range(length)) and "label" not in beside

    def _role(self, column: int, row: int) -> CellRole:
        return self._cells.get((column, row), (" ", "blank"))[1]

    def lines(self) -> Iterator[list[Span]]:
        for row in range(self.last_row + 1):
            cells = [self._cells.get((column, row), (" ", "blank")) for column in range(self.last_column + 1)]
            yield [
                ("".join(sign for sign, _ in group), role) for role, group in groupby(cells, key=lambda cell: cell[1])
            ]


def _edges(canvas: _Canvas, plate: Plate, signs: Signs) -> None:
    """The panel's four edges: ending, bent, or with a plate that stands behind them."""
    right, bottom = canvas.last_column, canvas.last_row
    told = dict(edges(plate.panel.edges))
    for name in ("top", "bottom", "left", "right"):
        level = name in ("top", "bottom")
        pair, role = _edge_look(told.get(name), signs)
        if level:
            canvas.write(0, 0 if name == "top" else bottom, pair[0] * (right + 1), role)
        else:
            for row in range(1, bottom):
                canvas.put(0 if name == "left" else right, row, pair[1], role)
    for place, sign in zip(((0, 0), (right, 0), (0, bottom), (right, bottom)), signs.edge, strict=False):
        canvas.put(*place, sign, "edge")
    canvas.put(0, bottom, signs.datum, "edge")


def _edge_look(edge: Edge | None, signs: Signs) -> tuple[str, CellRole]:
    if edge is not None and edge.meets is not None:
        return signs.behind, "behind"
    return (signs.bend, "bend") if edge is not None and edge.bent else (signs.edge[4:], "edge")


def _opening(canvas: _Canvas, cut: Cut, signs: Signs, *, fixing: bool, here: bool) -> None:
    """An outline where it has room for one, else a single sign; the present one in signs of its own."""
    role: CellRole = "present" if here else "screw" if fixing else "hole"
    if _framed(canvas, cut):
        frame = canvas.frame(around(outline(cut)))
        look = signs.present if here else signs.round if cut.size_mm is None else signs.square
        canvas.outline(frame, look, role)
        if here:
            canvas.put(canvas.column(cut.x_mm), canvas.row(cut.y_mm), signs.here, role)
        return
    column, row = canvas.column(cut.x_mm), canvas.row(cut.y_mm)
    canvas.put(column, row, signs.here if here else signs.screw if fixing else signs.hole, role)
    if here:
        canvas.put(column - 1, row, signs.before, role)
        canvas.put(column + 1, row, signs.after, role)


def _framed(canvas: _Canvas, cut: Cut) -> bool:
    """Whether an outline finds room for itself."""
    left, top, right, bottom = canvas.frame(around(outline(cut)))
    return right - left >= 2 and bottom - top >= 1


def _name(canvas: _Canvas, cut: Cut, signs: Signs, *, here: bool) -> None:
    """Its name, in the first place that is free; the present one's in any case."""
    spots = list(_spots(canvas, cut, len(cut.name)))
    spot = next((each for each in spots if canvas.free(*each, len(cut.name))), None)
    if spot is None and here:
        row = canvas.row(cut.y_mm)
        left = canvas.column(cut.x_mm) - (len(cut.name) - 1) // 2
        spot = max(1, min(left, canvas.last_column - len(cut.name))), row - 1 if row > 1 else row + 1
    if spot is not None:
        canvas.write(*spot, cut.name, "present" if here else "label")


def _spots(canvas: _Canvas, cut: Cut, length: int) -> Iterator[tuple[int, int]]:
    """Where a name may stand: above the middle of an outline, then within, right, left, above, below."""
    frame = canvas.frame(around(outline(cut)))
    column, row = canvas.column(cut.x_mm), canvas.row(cut.y_mm)
    centred = column - (length - 1) // 2
    if frame.right - frame.left > length and frame.bottom - frame.top >= 2:
        yield from ((centred, each) for each in (row, row - 1, row + 1) if frame.top < each < frame.bottom)
    yield from ((frame.right + 2, row), (frame.left - 1 - length, row), (frame.right + 1, row))
    yield from ((centred, frame.top - 1), (centred, frame.bottom + 1))


def _legend(plate: Plate, signs: Signs, columns: int, *, here: bool) -> list[Span]:
    told = [edge for _, edge in edges(plate.panel.edges)]
    said = [f"{signs.datum} datum"]
    if here:
        said.append(f"{signs.here} here")
    if any(edge.bent for edge in told):
        said.append(f"{signs.bend} bend")
    if any(edge.meets is not None for edge in told):
        said.append(f"{signs.behind} plate behind")
    if plate.panel.keep_out:
        said.append(f"{signs.keep_out} keep free")
    return [("  ".join(_fitting(said, columns)), "legend")]


def _fitting(words: Iterable[str], columns: int) -> Iterator[str]:
    """As many of the words as fit on a line, two blanks between them."""
    taken = 0
    for each in words:
        taken += len(each) + 2
        if taken - 2 <= columns:
            yield each


def _span(cut: Cut) -> float:
    return cut.diameter_mm if cut.diameter_mm is not None else max(cut.size_mm or (0.0,))
