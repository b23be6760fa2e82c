"""The field in which a line is typed; it takes keys from hands only."""

from __future__ import annotations

from textual import events
from textual.binding import Binding
from textual.geometry import Size
from textual.message import Message
from textual.reactive import reactive
from textual.widgets import Input

from benchtui.quantities.clean import clean
from benchtui.tui.hands import Line

#: No answer or note is longer.
LONGEST = 200

EARLY = "typed before the question was there: nothing taken, type it again"
POURED = "pasted with its line end: nothing taken, type it"
TOO_LONG = "a paste that does not fit: nothing taken"
SEVERAL_LINES = "several lines were pasted: only the first is here"


class Entry(Input, inherit_bindings=False):
    """A one-line field. Keys count only after `arm`; a finished line says whether hands typed it."""

    #: What is typed scrolls inside: nothing is laid out anew for a key.
    value = reactive("", init=False)
    virtual_size = reactive(Size(0, 0))

    BINDINGS = [
        Binding("left", "cursor_left", show=False),
        Binding("right", "cursor_right", show=False),
        Binding("home,ctrl+a", "home", show=False),
        Binding("end,ctrl+e", "end", show=False),
        Binding("backspace", "delete_left", show=False),
        Binding("delete", "delete_right", show=False),
        Binding("ctrl+u", "delete_left_all", show=False),
    ]

    class Typed(Message):
        """A line was finished with Enter; `by_machine` if it was pasted, held down or poured in."""

        def __init__(self, entry: Entry, text: str, by_machine: bool) -> None:
            super().__init__()
            self.entry = entry
            self.text = text
            self.by_machine = by_machine

        @property
        def control(self) -> Entry:
            return self.entry

    class Tabbed(Message):
        """Tab: what is typed so far may be completed."""

        def __init__(self, entry: Entry, text: str) -> None:
            super().__init__()
            self.entry = entry
            self.text = text

        @property
        def control(self) -> Entry:
            return self.entry

    class Said(Message):
        """Something about the keys that the builder should know."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id, compact=True, select_on_focus=False, max_length=LONGEST)
        self.cursor_blink = False
        self._keys = Line()

    def disarm(self) -> None:
        """Empty the field for a new prompt, which is drawn next; no key counts until `arm`."""
        self._keys.disarm()
        with self.prevent(Input.Changed):
            self.value = ""

    def arm(self, now: float) -> None:
        """The prompt has been on the screen since `now`; keys struck a moment later count."""
        self._keys.arm(now)

    def watch_value(self, value: str) -> None:
        if not value:
            self._keys.emptied()

    def insert_text_at_cursor(self, text: str) -> None:
        """Typed and pasted text alike, with what does not show by name: some of it counts as printable."""
        super().insert_text_at_cursor(clean(text))

    def complete(self, before: str, after: str) -> None:
        """Put `after` in the place of what was typed, if that still is `before`."""
        if self._keys.armed and self.value == before and len(after) <= LONGEST:
            self.value, self.cursor_position = after, len(after)

    def on_key(self, event: events.Key) -> None:
        if event.key == "tab":
            event.prevent_default()
            event.stop()
            if self._keys.armed and self.cursor_position == len(self.value):
                self.post_message(self.Tabbed(self, self.value))
            return
        if not (event.is_printable or event.key in ("enter", "backspace", "delete")):
            return
        verdict = self._keys.judge(event.key, event.time)
        if verdict == "taken" and event.key != "enter":
            return
        event.prevent_default()
        event.stop()
        if verdict == "taken":
            self.post_message(self.Typed(self, self.value, self._keys.by_machine))
        elif verdict != "repeated":
            self.value = ""
            self.post_message(self.Said(EARLY if verdict == "early" else POURED))

    def on_paste(self, event: events.Paste) -> None:
        event.prevent_default()
        event.stop()
        if not self._keys.armed:
            self.post_message(self.Said(EARLY))
            return
        first, *rest = event.text[: 4 * LONGEST].strip("\r\n").splitlines() or [""]
        before = self.value
        self.insert_text_at_cursor(first)
        if self.value == before:  # nothing of it is in the line, so the line is still one by hand
            if first:
                self.post_message(self.Said(TOO_LONG))
            return
        self._keys.poured()
        if rest:
            self.post_message(self.Said(SEVERAL_LINES))
