"""The bench itself: the one thing to do now, with all that is needed to do it."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.geometry import Size

from benchtui.session.view import View
from benchtui.tui.drawing.course import course
from benchtui.tui.drawing.items import items
from benchtui.tui.drawing.probes import probes
from benchtui.tui.drawing.scale import scale
from benchtui.tui.drawing.socket import socket
from benchtui.tui.drawing.task import forecast, task, wait
from benchtui.tui.look import Look
from benchtui.tui.widgets.picture import Picture


class Desk(VerticalScroll):
    """Draws the prompt of a view; what does not fit is reached by scrolling, the title stays first."""

    can_focus = False

    def __init__(self, *, id: str, look: Look) -> None:
        super().__init__(id=id)
        self._look = look

    def compose(self) -> ComposeResult:
        yield Picture(id="task")
        yield Picture(id="forecast")
        with Horizontal(id="pair"):
            with Vertical(id="left"):
                yield Picture(id="probes")
                yield Picture(id="wait")
            yield Picture(id="socket")
            yield Picture(id="items")
        yield Picture(id="scale")
        yield Picture(id="course")

    def show(self, view: View, typed: float | None, window: Size, big: bool) -> None:
        """Draw `view`, with the `typed` value in SI on the scale, for a window of this size."""
        look, prompt = self._look, view.prompt
        crowded = window.height < 34 and prompt.socket is not None
        listed = () if crowded else prompt.items
        self._picture("task").show(task, prompt, look, big)
        self._picture("forecast").show(forecast, view.forecast, view.forecast_text, look)
        self._picture("probes").show(probes, prompt.probes, look)
        self._picture("wait").show(wait, prompt.wait_s, look, big)
        self._picture("socket").show(socket, prompt.socket, look, 4 if big else 3)
        self._picture("items").show(items, listed, look, max(window.height - 13, 5))
        self._picture("scale").show(scale, prompt.scale, typed, look)
        self._picture("course").show(course, prompt.course, look, 9 if big else 5)
        self._picture("socket").display = prompt.socket is not None
        self._picture("items").display = bool(listed)
        self._picture("probes").display = prompt.probes is not None
        self._picture("wait").display = prompt.wait_s is not None
        self._picture("forecast").display = view.forecast != "ready"
        self._picture("scale").display = prompt.scale is not None
        self._picture("course").display = prompt.course is not None
        beside = any((prompt.socket, listed, prompt.probes, prompt.wait_s is not None))
        self.query_one("#pair").display = beside
        self.query_one("#left").display = prompt.probes is not None or prompt.wait_s is not None or bool(prompt.socket)

    def _picture(self, name: str) -> Picture:
        return self.query_one(f"#{name}", Picture)
