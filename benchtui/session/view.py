"""What the screens show: one frozen picture of the session, plain data only. Screens compute nothing.

A screen draws a `View` and sends back typed lines with the number of the prompt they answer; everything else (what
the line means, whether it counts, what comes next) is the session's business.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol


@dataclass(frozen=True)
class Danger:
    """The state of danger, always in sight. `word` is short and large; `detail` says what was measured and when."""

    word: Literal[
        "ASSUME LIVE", "LIVE", "LIVE, LIMITED", "CLOSING", "DEAD AS MEASURED", "BARE", "NOT RECORDING", "READ ONLY"
    ]
    level: Literal["danger", "caution", "calm"]
    detail: str


@dataclass(frozen=True)
class Probes:
    """Where the probes go and what the meter is set to."""

    red: str
    black: str
    meter: str
    hand: str


@dataclass(frozen=True)
class Scale:
    """What the point should read, as numbers and picture; SI units. None where there is no limit."""

    unit: str
    quantity: str
    nominal: float
    low: float
    high: float
    stop_low: float | None
    stop_high: float | None
    spoken: str
    """One line, such as "should read 18.9 V   healthy builds: 17.4 to 20.5   stop above 24.1"."""

    proves: bool = True
    """False where a reading inside finds nothing wrong and is no pass, for want of an instrument."""


@dataclass(frozen=True)
class Socket:
    """A valve socket seen from below, with the pin asked for."""

    valve: str
    type: str
    base: str
    pins: tuple[tuple[str, str], ...]
    """(pin, electrode) in order of number."""

    pin: str


@dataclass(frozen=True)
class Course:
    """A computed run of a reading in time (settling, or the fall after switch-off), with the time now."""

    caption: str
    unit: str
    times_s: tuple[float, ...]
    values: tuple[float, ...]
    now_s: float
    switch_off: float | None


class Drawing(Protocol):
    """Something that is drawn in characters to whatever size there is."""

    def lines(self, columns: int, rows: int, *, plain: bool) -> Sequence[Sequence[tuple[str, str]]]:
        """At most `rows` lines of (text, what it shows) pieces, at most `columns` wide; in ASCII where `plain`."""


@dataclass(frozen=True)
class Prompt:
    """The one thing to do now. `number` changes with every prompt; an answer carries it and counts only then.

    `entry` says what is typed: a "number" with its unit, one of `words`, "text", or "nothing" (only waiting).
    `lines` are what to do, in order, the first one the most important.
    """

    number: int
    title: str
    place: str
    """Where in the list: "2 of 9"."""

    lines: tuple[str, ...]
    entry: Literal["number", "words", "text", "nothing"]
    unit: str = ""
    words: tuple[str, ...] = ()
    """What may be typed, such as ("out",): always a word that states what is so, never just "yes"."""

    hint: str = ""
    """A grey line at the field, such as "type what the meter shows"."""

    probes: Probes | None = None
    scale: Scale | None = None
    socket: Socket | None = None
    course: Course | None = None
    wait_s: float | None = None
    """Seconds still to wait, counted by the session's steady clock."""

    panel: Drawing | None = None
    """A panel of the chassis, with the opening that is worked on."""

    items: tuple[ItemMark, ...] = ()
    """The list this prompt belongs to (gate, closing, steps), each with its mark."""


@dataclass(frozen=True)
class ItemMark:
    text: str
    state: Literal["done", "warned", "not measured", "now", "open"]
    """`warned`: gone on from a warn, by a typed reason."""

    detail: str = ""


@dataclass(frozen=True)
class Banner:
    """The answer to what was typed last: a verdict, a refusal, a question, or a plain word."""

    kind: Literal["pass", "not measured", "warn", "stop", "question", "refused", "info"]
    text: str
    more: tuple[str, ...] = ()
    """Likely causes, next reading, what to do; shown below."""


@dataclass(frozen=True)
class StageMark:
    id: str
    title: str
    state: Literal["passed", "passed with warns", "not all measured", "now", "open", "left out"]
    done: int
    of: int


@dataclass(frozen=True)
class LogLine:
    """A line of the record in words, for the notes and the history."""

    n: int
    when: str
    text: str


@dataclass(frozen=True)
class ChartRow:
    """A reading in ohms: where, what it should read, its window, and what to mind."""

    place: str
    reads: str
    window: str
    note: str = ""


@dataclass(frozen=True)
class ChartPage:
    """The ohms of the present stage: sentences first, rows under their headings, and what no ohms show."""

    lines: tuple[str, ...]
    groups: tuple[tuple[str, tuple[ChartRow, ...]], ...] = ()
    unseen: tuple[str, ...] = ()


@dataclass(frozen=True)
class RatingRow:
    """A rating in words: how it stands, what stands against it at measured and at the highest mains, what is left."""

    standing: Literal["within", "close", "past", "unknown"]
    part: str
    what: str
    here: str
    high: str
    limit: str
    margin: str
    source: str


@dataclass(frozen=True)
class Figure:
    """Sentences, then ratings in rows or a picture, then notes on them. `heads` stand over the columns of measured and
    highest mains; `least` is the rating with the least margin, in a sentence.
    """

    lines: tuple[str, ...] = ()
    heads: tuple[str, str] = ("", "")
    rows: tuple[RatingRow, ...] = ()
    notes: tuple[str, ...] = ()
    drawing: Drawing | None = None
    least: str = ""


@dataclass(frozen=True)
class PlotPage:
    """One figure of those that there are, which is number `number` of `of`."""

    title: str
    number: int
    of: int
    figure: Figure


@dataclass(frozen=True)
class Suspect:
    """Something that may be the matter: how likely it is, in words, and what speaks for it."""

    share: float
    says: str
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True)
class Further:
    """The reading to take next, in words, and what each outcome would mean.

    `kind` is "live" or "again" at a point of the stage, "ohms" without power, or "exchange"; `state` and `point` are as
    the diagnosis names them. `red` and `black` are where the probes go.
    """

    kind: str
    state: str
    point: str
    says: str
    red: str
    black: str
    outcomes: tuple[str, ...] = ()
    nodes: tuple[str, str] = ("", "")
    """The nodes at which these places are."""


@dataclass(frozen=True)
class Suspects:
    """What may be the matter, likeliest first, and the reading to take next.

    `trouble`: why nothing is known of it (yet). All empty where every reading is as it should be.
    """

    likely: tuple[Suspect, ...] = ()
    next: Further | None = None
    trouble: str = ""


Alarm = Literal["POWER OFF", "HANDS OUT"]


@dataclass(frozen=True)
class View:
    build: str
    stage: str
    step: str
    """Where in the stage's loop: wire, inspect, close, first power, full mains, settle, read, power down, gate."""

    danger: Danger
    prompt: Prompt
    banner: Banner | None
    stages: tuple[StageMark, ...]
    why: tuple[str, ...]
    """The reasons behind the present prompt's numbers or the last verdict, for the why key."""

    help: tuple[str, ...]
    """Help for the present prompt."""

    saved: int
    """Number of the last event that is durable on disk."""

    loose: tuple[str, ...]
    unmeasured: tuple[str, ...]
    """What is open for want of an instrument, a line an instrument: "no bond tester: Earth pin to chassis"."""

    accepted: tuple[str, ...]
    """Where the builder went on from a warn, each with the reason."""

    findings: tuple[str, ...]
    """What the ratings review has found so far that warns or stops, stops first."""

    caution: str
    """One line that is always true: an aid, no authority."""

    forecast: Literal["ready", "computing", "failed"]
    forecast_text: str = ""
    tag: str = ""
    """What is written on the tag of the plug, if the builder leaves now; "" where none is due."""

    power_off: tuple[str, ...] = ()
    """Not empty: the power-off text fills the screen until it is acknowledged by the prompt's word."""

    alarm: Alarm = "POWER OFF"
    """The word above that text."""

    suspects: Suspects = Suspects()
    """What may be wrong, by all that the stage has read."""

    rehearsal: str = ""
    """Not empty: there is no amplifier, and these words stand on top of every page."""

    seen: tuple[str, ...] = ()
    """In a rehearsal: what the meter would show here, or what is to be seen, a line each."""
