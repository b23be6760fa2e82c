"""A block drawn by a function of the width it is given."""

from __future__ import annotations

from collections.abc import Callable

from rich.text import Text
from textual.geometry import Size
from textual.widget import Widget

from benchtui.tui.drawing.block import rows


class Picture(Widget):
    """Shows what `draw(*parts, width)` returns, as high as that is; no rows when it is empty."""

    DEFAULT_CSS = "Picture { width: 1fr; height: auto; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._draw: Callable[..., Text] | None = None
        self._parts: tuple = ()
        self._drawn: tuple[int, Text] | None = None
        self._passing = False

    def show(self, draw: Callable[..., Text], *parts: object) -> None:
        """Draw these `parts` from now on; nothing is done if they are what is shown already."""
        if self._draw is draw and self._parts == parts and not self._passing:
            return
        self._draw, self._parts, self._passing = draw, parts, False
        self._drawn = None
        self.refresh(layout=self.display and not self._fits())

    def _fits(self) -> bool:
        """Does what is drawn now take the rows that are there, and the width what it takes anyway?"""
        width = self.styles.width
        in_sight = width is not None and not width.is_auto and self.content_size.width > 0
        return in_sight and rows(self._at(self.content_size.width)) == self.content_size.height

    def show_in_place(self, draw: Callable[..., Text], *parts: object) -> None:
        """Draw these `parts` for now in the rows that it has, until the next `show`."""
        width = self.content_size.width
        self._drawn, self._passing = (width, draw(*parts, width)), True
        self.refresh()

    def rows_in(self, width: int) -> int:
        """How many rows it takes when `width` cells wide; none while it is out of sight."""
        return rows(self._at(width)) if self.display else 0

    def _at(self, width: int) -> Text:
        if self._draw is None:
            return Text("")
        if self._drawn is None or self._drawn[0] != width:
            self._drawn = (width, self._draw(*self._parts, width))
        return self._drawn[1]

    def get_content_width(self, container: Size, viewport: Size) -> int:
        drawn = self._at(container.width)
        return max((len(row) for row in drawn.plain.split("\n")), default=0)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return rows(self._at(width))

    def render(self) -> Text:
        return self._at(self.content_size.width)
