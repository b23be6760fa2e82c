"""The app: carries keys to the session and its views to the screen."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import Callable
from contextvars import copy_context
from dataclasses import replace

from textual import events, on
from textual.app import App
from textual.binding import Binding
from textual.driver import Driver
from textual.message import Message

from benchtui.quantities.clean import clean
from benchtui.session.view import View
from benchtui.tui import theme
from benchtui.tui.aside import Done, run_aside
from benchtui.tui.hands import PAUSE_S, Flood
from benchtui.tui.look import look
from benchtui.tui.parting import code_of, code_of_error, failure, parting, standstill
from benchtui.tui.screens.bench import BenchScreen, Pane, Shown
from benchtui.tui.signals import listen
from benchtui.tui.talk import Opener, Session
from benchtui.tui.terminal import hung_up, takes_colour, takes_utf8
from benchtui.tui.tidying import Tidying
from benchtui.tui.widgets.entry import Entry

#: Leaving in these states needs no question where no tag is due: no power, or another program has the build.
_QUIET_WORDS = ("DEAD AS MEASURED", "BARE", "READ ONLY")

_TICK_S = 0.25

#: Entries of a long record that its page shows: 10,000 took seconds to draw, and STOP waits for what is being drawn.
_LOG_LINES = 200

#: How often the terminal is looked at.
_WATCH_S = 1.0

#: What is painted is written by a thread of its own, which waits for so long while this one draws on.
_SWITCH_S = 0.0005

#: What is computed beside the screen, each on a lane of its own (`pending_` and `take_` in talk.Session).
_LANES = ("forecast", "diagnosis", "amplifier", "capture")

#: What completes the name of a file.
_COMPLETION = "completion"

_FLOODED = "keys came faster than hands: all dropped"


class BenchApp(App[int], inherit_bindings=False):
    """Opens a session after the first paint; STOP goes to it before any other key."""

    CSS_PATH = "bench.tcss"
    TITLE = "benchtui"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS = [
        Binding("f1", "page('help')", show=False),
        Binding("f2", "page('why')", show=False),
        Binding("f3", "page('note')", show=False),
        Binding("f4", "page('stages')", show=False),
        Binding("f5", "page('record')", show=False),
        Binding("f6", "page('chart')", show=False),
        Binding("f7", "page('suspects')", show=False),
        Binding("f9", "page('plots')", show=False),
        Binding("escape", "page('bench')", show=False),
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("pageup", "move(-8)", show=False),
        Binding("pagedown", "move(8)", show=False),
        Binding("ctrl+q,ctrl+c", "leave", show=False, priority=True),
        Binding("ctrl+z", "suspend_process", show=False),
    ]

    def __init__(
        self, opener: Opener, of_record: Callable[[], str] = str, *, clock: Callable[[], float] = time.monotonic,
        mark: str = "",
    ) -> None:  # fmt: skip
        """`opener` gives the session, on a thread after the first paint; `clock` is the one that stamps keys.

        `of_record` tells what the record on the disk says of the power, "" for nothing. `mark` stands on the first
        page as the session's own does on all others.
        """
        colour = takes_colour(os.environ)
        super().__init__(ansi_color=None if colour else True)
        self.look = look(utf8=takes_utf8(os.environ), colour=colour)
        self.session: Session | None = None
        self.failure: Exception | None = None
        own = theme.COLOUR if colour else theme.MONO
        self.register_theme(own)
        self.theme = own.name
        self._opener = opener
        self._of_record = of_record
        self._clock = clock
        self._shown = Shown(mark=mark)
        self._armed_for: int | None = None
        self._flood = Flood()
        self._computing: set[str] = set()
        self._leave_asked = float("-inf")
        self._tidying = Tidying()
        self._struck = float("-inf")

    # -- beginning and end

    def get_driver_class(self) -> type[Driver]:
        """The driver of the terminal; where it would be the toolkit's for Unix, the one that sieves what comes in."""
        usual = super().get_driver_class()
        if sys.platform == "win32":
            return usual
        from benchtui.tui.input import BenchDriver, LinuxDriver

        return BenchDriver if usual is LinuxDriver else usual

    def get_default_screen(self) -> BenchScreen:
        return BenchScreen(self.look, self._shown.mark)

    def on_mount(self) -> None:
        self._own_context = copy_context()
        if not self.is_headless:
            listen(self._end, self.exit, lambda: self.call_later(self._touched))
            self.set_interval(_WATCH_S, self._watch_terminal)
        self.call_after_refresh(self._open)

    async def _open(self) -> None:
        """After the first paint: the rest of the screen, then the session."""
        await self._bench.furnish()
        run_aside("opening", self._opener, self.post_message)

    def _watch_terminal(self) -> None:
        """Leave as after a hang-up where the terminal has gone without one: nobody can see or answer any more."""
        if hung_up():
            self._end()

    def _end(self) -> None:
        """Leave with no question asked."""
        self.exit(code_of(self._shown.view))

    def standing_still(self) -> list[str]:
        """The lines for the terminal while the program is stopped, as by Ctrl-Z, the last of them about the power."""
        return [clean(line) for line in standstill(self._shown.view, self._of_record)]

    def _fatal_error(self) -> None:
        """An exception that nobody caught: end the app, and print nothing here; `run` says what is to be said."""
        self._close_messages_no_wait()

    def panic(self, *renderables: object) -> None:
        """The same for what the toolkit would print itself."""
        self._close_messages_no_wait()

    @on(Done)
    def _take_outcome(self, done: Done) -> None:
        if done.name in _LANES:
            self._take_computed(done)
        elif done.name == _COMPLETION:
            self._bench.answer.entry.complete(*(done.result or ("", "")))  # type: ignore[misc]
        elif done.error is not None:
            self.failure = done.error
            self.exit(code_of_error(done.error))
        else:
            self._begin(done.result)  # type: ignore[arg-type]

    def _begin(self, session: Session) -> None:
        self.session = session
        self.show(session.stop() if self._shown.stop_wanted else session.view(), "bench")
        if not self.is_headless:
            self._tidying.begin(self._clock())
        self.set_interval(_TICK_S, self._tick)

    def action_leave(self) -> None:
        """Leave; while the chassis could hurt somebody only when asked twice, and not by a held key."""
        before, self._leave_asked = self._leave_asked, self._clock()
        view = self._shown.view
        asked = self._shown.pane == "leave" and self._leave_asked - before >= PAUSE_S
        quiet = view is not None and not view.tag and view.danger.word in _QUIET_WORDS
        if view is None or quiet or asked:
            self.exit(code_of(view))
        elif self._shown.pane != "leave":
            self.action_page("leave")

    # -- keys

    def post_message(self, message: Message) -> bool:
        """Where keys come in: STOP overtakes whatever is queued, and a flood of keys never gets into the queue."""
        if isinstance(message, events.Key):
            self._struck = message.time
            if message.key == "f8":
                asyncio.get_running_loop().call_soon(self.stop_now, context=self._own_context)
                return True
            verdict = self._flood.judge(message.time)
            if verdict == "begun":
                self.call_later(self.on_flooded)
            if verdict != "taken":
                return False
        return super().post_message(message)

    def stop_now(self) -> None:
        """STOP: to the session first, then to the screen; keys struck before count no more."""
        if self.session is None:
            self.bell()
            self._draw(replace(self._shown, stop_wanted=True))
            return
        self.show(self.session.stop(), "bench", anew=True)

    def on_flooded(self) -> None:
        """Keys were dropped: what is half typed counts no more, and nothing does before it is painted anew."""
        if self._bench.entry() is not None:
            self._bench.entry().disarm()
        if self._shown.view is not None:
            self._disarm()
        self._say(_FLOODED)
        self._arm_when_painted()

    def action_page(self, pane: Pane) -> None:
        """Open a page, or close it when it is open already."""
        if self.session is None or self._shown.view is None:
            return
        pane = "bench" if pane == self._shown.pane else pane
        now = next((n for n, mark in enumerate(self._shown.view.stages) if mark.state == "now"), 0)
        self._draw(replace(self._shown, pane=pane, notice="", chosen_stage=now))
        self._arm_when_painted()
        self._start_computing()

    def action_move(self, rows: int) -> None:
        """Scroll, or choose another stage on the page of stages, another figure on that of plots."""
        view = self._shown.view
        if self._shown.pane == "stages" and view is not None and abs(rows) == 1:
            chosen = max(0, min(self._shown.chosen_stage + rows, len(view.stages) - 1))
            self._draw(replace(self._shown, chosen_stage=chosen))
        elif self._shown.pane == "plots" and abs(rows) == 1:
            self._draw(replace(self._shown, chosen_plot=self._shown.chosen_plot + rows))
            self._start_computing()
        else:
            self._bench.move(rows)

    @on(Entry.Typed, "#answer-entry")
    def _answer(self, typed: Entry.Typed) -> None:
        if self.session is None or self._armed_for is None:
            return
        if not typed.text.strip():
            self._say("nothing is typed yet")
            return
        self.show(self.session.answer(self._armed_for, typed.text, pasted=typed.by_machine), "bench", anew=True)

    @on(Entry.Tabbed, "#answer-entry")
    def _complete(self, tabbed: Entry.Tabbed) -> None:
        work = self.session.completion(tabbed.text) if self.session is not None else None
        if work is not None:
            run_aside(_COMPLETION, work, self.post_message)

    @on(Entry.Typed, "#note-entry")
    def _note(self, typed: Entry.Typed) -> None:
        if self.session is None or not typed.text.strip():
            return
        typed.entry.value = ""
        self.show(self.session.note(typed.text), "note")
        self._say("saved")

    @on(Entry.Typed, "#loose-entry")
    def _loose(self, typed: Entry.Typed) -> None:
        if self.session is None:
            return
        if not typed.text.strip():
            self._say("type what is loose, or 'nothing'")
            return
        view = self.session.leaving(typed.text)
        if view.power_off:  # it could not be saved
            self.show(view)
        else:
            self.exit(code_of(view))

    @on(Entry.Said)
    def _say_of_keys(self, said: Entry.Said) -> None:
        if self._shown.notice not in (_FLOODED, said.text):
            self._say(said.text)

    def _say(self, notice: str) -> None:
        self._draw(replace(self._shown, notice=notice))

    # -- views

    @property
    def _bench(self) -> BenchScreen:
        return self.screen  # type: ignore[return-value]

    def show(self, view: View, pane: Pane | None = None, *, anew: bool = False) -> None:
        """Draw `view`; a prompt with another number, or any asked `anew`, takes keys only once it is painted."""
        before = self._shown.view
        fresh = anew or before is None or before.prompt.number != view.prompt.number
        if view.power_off and (before is None or not before.power_off):
            self.bell()
            pane = "bench"
        notice = "" if fresh else self._shown.notice
        if view.banner is not None and (before is None or before.banner != view.banner):
            self._bench.tell(view.banner)
        if fresh:
            self._disarm()
        self._draw(replace(self._shown, view=view, pane=pane or self._shown.pane, notice=notice))
        self._arm_when_painted()
        self._start_computing()

    def _draw(self, shown: Shown) -> None:
        if self.session is not None and shown.view is not None:
            if shown.pane == "stages" and shown.view.stages:
                shown = replace(shown, told=self.session.explain(shown.view.stages[shown.chosen_stage].id))
            if shown.pane in ("record", "note"):
                shown = replace(shown, log_lines=self.session.log(_LOG_LINES))
            if shown.pane == "chart":
                shown = replace(shown, charted=self.session.chart())
            if shown.pane == "plots":
                shown = replace(shown, plotted=self.session.plots(shown.chosen_plot))
        self._shown = shown
        self._bench.show(shown)

    def _disarm(self) -> None:
        """No key counts until what is drawn next has been painted."""
        self._armed_for = None
        self._bench.answer.entry.disarm()

    def _arm_when_painted(self) -> None:
        if self._shown.view is None:
            return
        if self._shown.pane == "note":
            self._bench.note.entry.arm(self._clock())
        if self._shown.pane == "leave":
            self._bench.loose.entry.arm(self._clock())
        if self._bench.asking and self._armed_for is None:
            self.call_after_refresh(self._arm, self._shown.view.prompt.number)

    def _arm(self, number: int) -> None:
        view = self._shown.view
        if view is not None and view.prompt.number == number and self._bench.asking and self._armed_for is None:
            self._armed_for = number
            self._bench.answer.entry.arm(self._clock())

    def on_resize(self) -> None:
        if self._shown.view is not None:
            self.call_after_refresh(self._arm_when_painted)

    # -- time, and work beside

    def _tick(self) -> None:
        if self.session is not None and self.session.tick():
            self.show(self.session.view())
        elif not self._tidying.rest(self._clock(), self._struck):
            self._start_computing()

    def _touched(self) -> None:
        self.screen.refresh()  # the terminal has forgotten what was drawn
        if self.session is not None:
            self.show(self.session.touched(), anew=True)

    def _start_computing(self) -> None:
        """Give out what is to be computed, one thing of each kind at a time."""
        if self.session is None or self._shown.view is None:
            return
        for kind in _LANES:
            pending = getattr(self.session, f"pending_{kind}", None)
            if kind not in self._computing and pending is not None and (job := pending()) is not None:
                self._computing.add(kind)
                run_aside(kind, job, self.post_message)

    def _take_computed(self, done: Done) -> None:
        self._computing.discard(done.name)
        if self.session is None:
            return
        if done.name != "forecast":
            getattr(self.session, f"take_{done.name}")(done.result)  # nothing, where it failed
        elif done.error is not None:
            self.session.forecast_failed(f"{type(done.error).__name__}: {done.error}")
        else:
            self.session.take_forecast(done.result)
        self.show(self.session.view())


def run(opener: Opener, of_record: Callable[[], str] = str, mark: str = "") -> int:
    """Run the app and return its exit code; what is to be done about the power is the last line on stderr.

    `of_record` tells what the record on the disk says of that, "" for nothing, for where no session can.
    """
    app = BenchApp(opener, of_record, mark=mark)
    sys.setswitchinterval(_SWITCH_S)
    code: int | None = None
    try:
        code = app.run(mouse=False)
    finally:
        try:
            why = failure(app.failure or app._exception, code)
            for line in (*why.splitlines(), *parting(app.session, app._shown.view, of_record).splitlines()):
                print(clean(line), file=sys.stderr, flush=True)
        except OSError:
            pass  # the terminal is gone; the record already holds all
    if code is None or app.return_code not in (None, 0, code):
        return 3
    return code
