"""The one screen: head, then the bench or a page, the field, the last answer, the foot.

There is no second screen and no dialog, so that the state of danger is on top of everything and STOP never has to
get past a stack.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.geometry import Size
from textual.screen import Screen
from textual.widgets import Input

from benchtui.session.view import Banner, ChartPage, LogLine, PlotPage, View
from benchtui.tui.drawing import chart, page, plots, suspects
from benchtui.tui.drawing.banner import banner
from benchtui.tui.drawing.foot import foot
from benchtui.tui.drawing.head import head
from benchtui.tui.drawing.probes import meter
from benchtui.tui.echo import echo, typed_value
from benchtui.tui.look import Look
from benchtui.tui.widgets.desk import Desk
from benchtui.tui.widgets.entry import Entry
from benchtui.tui.widgets.field import Field
from benchtui.tui.widgets.picture import Picture

#: Rows of an answer with its word in large letters, and the most for which it is drawn small.
_LARGE_ROWS, _SMALL_ROWS = 4, 7

Pane = Literal["opening", "bench", "help", "why", "note", "stages", "record", "chart", "suspects", "plots", "leave"]


@dataclass(frozen=True)
class Shown:
    """All that is on the screen: the session's view, and which part of it the builder looks at."""

    view: View | None = None
    pane: Pane = "opening"
    notice: str = ""
    chosen_stage: int = 0
    told: tuple[str, ...] = ()
    log_lines: tuple[LogLine, ...] = ()
    charted: ChartPage | None = None
    chosen_plot: int = 0
    plotted: PlotPage | None = None
    stop_wanted: bool = False
    mark: str = ""


class BenchScreen(Screen[None]):
    """Draws one `Shown`; knows nothing of the session."""

    def __init__(self, look: Look, mark: str = "") -> None:
        """`mark` stands on the first page already, before there is a session."""
        super().__init__()
        self._look = look
        self._shown = Shown(mark=mark)
        self._hidden = ""
        self.furnished = False
        """Whether all is there that a session is shown with."""

    def compose(self) -> ComposeResult:
        """The opening page alone: the first paint waits for what is composed here."""
        with VerticalScroll(id="page", can_focus=False):
            yield Picture(id="page-text")

    async def furnish(self) -> None:
        """Put in the rest, which a session is shown with."""
        opening = self.query_one("#page")
        await self.mount(Picture(id="head"), Desk(id="desk", look=self._look), before=opening)
        await self.mount(Picture(id="seen"), after=opening)
        fields = [Field(id=name, look=self._look) for name in ("answer", "note", "loose")]
        await self.mount(*fields, Picture(id="banner"), Picture(id="foot"), after=self.query_one("#seen"))
        self.furnished = True
        self._redraw(self.app.size)

    def on_mount(self) -> None:
        self._redraw(self.app.size)

    def on_resize(self) -> None:
        self._redraw(self.app.size)

    @on(Input.Changed)
    def _redraw_echo(self) -> None:
        """All that a typed character changes: what is understood, and where it lies on the scale."""
        view = self._shown.view
        if view is not None:
            self._draw_fields(self._shown, view)
            self.query_one(Desk).mark(typed_value(self.answer.entry.value, view))

    @property
    def tiny(self) -> bool:
        """Whether the window is too small for work."""
        return self.app.size.width < 40 or self.app.size.height < 12

    @property
    def asking(self) -> bool:
        """Whether the present prompt and its field are in sight."""
        shown = self._shown
        in_sight = shown.pane == "bench" or (shown.view is not None and bool(shown.view.power_off))
        return shown.view is not None and in_sight and not self.tiny

    @property
    def answer(self) -> Field:
        """The field for answers to prompts."""
        return self.query_one("#answer", Field)

    @property
    def note(self) -> Field:
        """The field for notes."""
        return self.query_one("#note", Field)

    @property
    def loose(self) -> Field:
        """The field for what is loose as the builder leaves."""
        return self.query_one("#loose", Field)

    def show(self, shown: Shown) -> None:
        """Draw `shown`, beginning at its top if it is something else than before."""
        before, self._shown = self._shown, shown
        self._redraw(self.app.size)
        if not self.furnished:
            return
        turned = before.chosen_plot != shown.chosen_plot
        if before.pane != shown.pane or _number(before) != _number(shown) or turned:
            self.query_one(Desk).scroll_home(animate=False)
            self.query_one("#page").scroll_home(animate=False)
        if shown.pane == "record" and before.pane != "record":
            self.query_one("#page").scroll_end(animate=False)

    def tell(self, answer: Banner) -> None:
        """Paint an answer where the last one stands, or else the hint, before anything else is drawn or laid out.

        The verdict is then on the screen some ten milliseconds after Enter. Textual has no public way to paint one
        widget now: it paints what has changed at its own next beat.
        """
        places = [self.query_one(name, Picture) for name in ("#banner", "#answer-hint")] if self.furnished else []
        place = next((each for each in places if each in self._compositor.visible_widgets), None)
        if place is not None:
            large = place.size.height >= _LARGE_ROWS
            most = _banner_rows(self.app.size.height) if large else min(_banner_rows(self.app.size.height), _SMALL_ROWS)
            place.show_in_place(banner, answer, self._look, most)
            self._compositor.update_widgets({place})
            self._compositor_refresh()

    def move(self, rows: int) -> None:
        """Scroll what is in sight by `rows`."""
        for scrolled in self.query("#desk, #page"):
            if scrolled.display:
                scrolled.scroll_relative(y=rows, animate=False)
        self.call_after_refresh(self._tell_hidden)

    def _redraw(self, window: Size) -> None:
        shown, look = self._shown, self._look
        big = window.height >= 34 and window.width >= 100
        self.set_class(big, "-big")
        self.set_class(window.height >= 28, "-roomy")
        self.set_class(self._rows(window) < 24, "-short")
        self.set_class(window.width < 76, "-narrow")
        self.set_class(look.inks.strong == "bold", "-mono")
        if self.furnished:
            self._arrange(shown)
        view = shown.view
        if view is None:
            self._text().show(page.opening, shown.stop_wanted, shown.mark, look)
            return
        if self.query_one("#page").display:
            self._text().show(*self._page(shown, view))
        self.query_one("#head", Picture).show(head, view, look, big)
        self._draw_foot(view)
        self.query_one("#banner", Picture).show(banner, view.banner, look, _banner_rows(window.height))
        self.query_one("#seen", Picture).show(meter, view.seen, look)
        self._draw_fields(shown, view)
        typed = typed_value(self.answer.entry.value, view)
        self.query_one(Desk).show(view, typed, window, big, self._desk_rows(window, big))
        self.call_after_refresh(self._tell_hidden)

    def _draw_foot(self, view: View) -> None:
        self.query_one("#foot", Picture).show(foot, view.stages, self._shown.pane != "bench", self._hidden, self._look)

    def _tell_hidden(self) -> None:
        """Say by its keys what lies above or below of that which is in sight."""
        view = self._shown.view
        if view is None or not self.furnished:
            return
        desk, page = self.query_one(Desk), self.query_one("#page", VerticalScroll)
        scrolled = desk if desk.display else page
        last = scrolled.max_scroll_y - (scrolled.id == "desk")  # where a blank row ends what is asked
        ways = [("PgUp", scrolled.scroll_offset.y > 0), ("PgDn", scrolled.scroll_offset.y < last)]
        self._hidden = " ".join(key for key, there in ways if there)
        self._draw_foot(view)

    def _rows(self, window: Size) -> int:
        """Rows of the window for what a screen at a real amplifier has: a rehearsal's mark and meter take two."""
        marked = self._shown.view is not None and bool(self._shown.view.rehearsal)
        return window.height - 2 * marked

    def _desk_rows(self, window: Size, big: bool) -> int:
        """Rows left for the desk between head and field, by the margins of the style sheet."""
        taken = sum(
            self.query_one(name, Picture).rows_in(window.width) for name in ("#head", "#seen", "#banner", "#foot")
        )
        field, margins = (4, 4) if big else (2, 1 if self._rows(window) < 24 else 2 if window.height < 28 else 3)
        return window.height - taken - field - margins

    def _page_rows(self, window: Size) -> int:
        """Rows of a page between head and foot."""
        return window.height - sum(self.query_one(name, Picture).rows_in(window.width) for name in ("#head", "#foot"))

    def _arrange(self, shown: Shown) -> None:
        """Put in sight what belongs there, and the keys where they are typed."""
        view, tiny = shown.view, self.tiny
        power_off = view is not None and bool(view.power_off)
        bench = shown.pane == "bench" and not power_off and not tiny
        answering = self.asking and view is not None and view.prompt.entry != "nothing"
        self.query_one(Desk).display = bench
        self.query_one("#page").display = not bench
        self.query_one("#head").display = view is not None and not tiny
        self.query_one("#foot").display = view is not None and not tiny
        self.query_one("#banner").display = bench and view is not None and view.banner is not None
        self.query_one("#seen").display = bench and view is not None and bool(view.seen)
        self.answer.display = self.asking
        self.answer.entry.display = answering
        self.note.display = shown.pane == "note" and not tiny and not power_off
        parting = shown.pane == "leave" and view is not None and bool(view.tag)
        self.loose.display = parting and not tiny and not power_off
        written = next((field.entry for field in (self.note, self.loose) if field.display), None)
        typing = self.answer.entry if answering else written
        if self.focused is not typing:
            self.set_focus(typing)

    def _page(self, shown: Shown, view: View) -> tuple:
        look = self._look
        if self.tiny:
            return page.small, view, shown.pane == "leave", look
        if view.power_off:
            banner = view.banner
            refused = (banner.text,) if banner is not None and banner.kind in ("refused", "question") else ()
            return page.power_off, view.alarm, (*view.power_off, *refused), view.saved, look
        match shown.pane:
            case "why":
                return page.reasons, view, look
            case "note":
                return page.notes, shown.log_lines, look
            case "stages":
                return page.stages, view, shown.chosen_stage, shown.told, look
            case "record":
                return page.record, shown.log_lines, look
            case "chart" if shown.charted is not None:
                return chart.chart, shown.charted, look
            case "suspects":
                return suspects.suspects, view, look
            case "plots" if shown.plotted is not None:
                return plots.plots, shown.plotted, look, self._page_rows(self.app.size)
            case "leave":
                return page.leaving, view, look
            case _:
                return page.help_page, view, look

    def _draw_fields(self, shown: Shown, view: View) -> None:
        prompt, text = view.prompt, self.answer.entry.value
        understood, clear = echo(text, view, ascii_only=not self._look.utf8)
        names = {"number": "reading", "words": "answer", "text": "in words", "nothing": "waiting"}
        self.answer.label(names[prompt.entry], long=prompt.entry == "text")
        self.answer.echo(prompt.unit, understood, clear=clear)
        words = prompt.words if prompt.entry == "words" and not shown.notice else ()
        self.answer.hint(shown.notice or prompt.hint, words=words, loud=bool(shown.notice))
        self.note.label("note", long=True)
        self.note.hint(shown.notice or "Enter saves it, Esc goes back", loud=bool(shown.notice))
        self.loose.label("loose", long=True)
        self.loose.hint(shown.notice or "Enter saves it and leaves; or 'nothing'", loud=bool(shown.notice))

    def _text(self) -> Picture:
        return self.query_one("#page-text", Picture)

    def entry(self) -> Entry | None:
        """The field that takes the keys now."""
        return self.focused if isinstance(self.focused, Entry) else None


def _number(shown: Shown) -> int | None:
    return shown.view.prompt.number if shown.view is not None else None


def _banner_rows(height: int) -> int:
    """Rows that the answer may take in a window of this height."""
    return next(rows for least, rows in ((40, 9), (34, 8), (30, 6), (24, 4), (16, 2), (0, 1)) if height >= least)
