"""The bench itself: the one thing to do now, with all that is needed to do it."""

from __future__ import annotations

from collections.abc import Callable

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.geometry import Size

from benchtui.session.view import Scale, View
from benchtui.tui.drawing.block import rows
from benchtui.tui.drawing.course import course
from benchtui.tui.drawing.items import items
from benchtui.tui.drawing.panel import panel
from benchtui.tui.drawing.probes import probes
from benchtui.tui.drawing.scale import scale
from benchtui.tui.drawing.socket import socket
from benchtui.tui.drawing.task import forecast, task, wait
from benchtui.tui.look import Look
from benchtui.tui.widgets.picture import Picture

#: Rows of a course with its caption and axis: where all is large, and elsewhere at most.
_PLOT, _SMALL_PLOT = 11, 6

#: Rows under which a panel can't be read.
_LEAST_PANEL = 8


class Desk(VerticalScroll):
    """Draws the prompt of a view; what does not fit is reached by scrolling, the title stays first."""

    can_focus = False

    def __init__(self, *, id: str, look: Look) -> None:
        super().__init__(id=id)
        self._look = look
        self._scale: Scale | None = None

    def compose(self) -> ComposeResult:
        yield Picture(id="task")
        yield Picture(id="forecast")
        with Horizontal(id="pair"):
            with Vertical(id="left"):
                yield Picture(id="probes")
                yield Picture(id="wait")
                yield Picture(id="scale")
                yield Picture(id="course")
                yield Picture(id="panel")
            yield Picture(id="socket")
            yield Picture(id="items")
        yield Picture(id="wide-scale")
        yield Picture(id="wide-course")

    def show(self, view: View, typed: float | None, window: Size, big: bool, height: int) -> None:
        """Draw `view`, with the `typed` value in SI on the scale, for a window of this size and `height` rows here."""
        look, prompt = self._look, view.prompt
        crowded = window.height < 34 and (prompt.socket is not None or prompt.panel is not None)
        listed = () if crowded else prompt.items
        bare = prompt.scale is None and prompt.socket is None and prompt.course is None and prompt.panel is None
        large = big or (bare and window.height >= 24)
        self.set_class(bare and prompt.probes is None and prompt.wait_s is None, "-bare-list")
        self._show("forecast", view.forecast != "ready", forecast, view.forecast, view.forecast_text, look)
        if large and not big:  # a list is worth more than a title that is read from afar
            title = rows(task(prompt, look, large, window.width)) + 1
            large = len(listed) <= height - title - self._above(window.width, "#forecast")
        self._show("task", True, task, prompt, look, large)
        above = self._above(window.width, "#task", "#forecast")
        self._show("probes", prompt.probes is not None, probes, prompt.probes, look)
        self._show("wait", prompt.wait_s is not None, wait, prompt.wait_s, look, large)
        plot = _PLOT if big else min(_SMALL_PLOT, height - above - self._above(window.width, "#probes", "#wait"))
        self._scale = prompt.scale
        for name, here in (("", not big), ("wide-", big)):
            self._show(f"{name}scale", here and prompt.scale is not None, scale, prompt.scale, typed, look)
            self._show(f"{name}course", here and prompt.course is not None, course, prompt.course, look, plot)
        room = max(height - above, _LEAST_PANEL)
        self._show("panel", prompt.panel is not None, panel, prompt.panel, look, room)
        self._show("socket", prompt.socket is not None, socket, prompt.socket, look, 4 if window.height >= 44 else 3)
        self._show("items", bool(listed), items, listed, look, max(height - above, 5))
        left = [self.query_one(f"#{name}") for name in ("probes", "wait", "scale", "course", "panel")]
        self.query_one("#left").display = any(part.display for part in left)

    def mark(self, typed: float | None) -> None:
        """Show the `typed` value in SI, or none, on the scale that is in sight."""
        for name in ("#scale", "#wide-scale"):
            self.query_one(name, Picture).show(scale, self._scale, typed, self._look)

    def _above(self, width: int, *names: str) -> int:
        """Rows taken by these pictures, each with the blank row under it."""
        pictures = [self.query_one(name, Picture) for name in names]
        return sum(picture.rows_in(width) + 1 for picture in pictures if picture.display)

    def _show(self, name: str, wanted: bool, draw: Callable[..., Text], *parts: object) -> None:
        picture = self.query_one(f"#{name}", Picture)
        picture.display = wanted
        picture.show(draw, *parts)
