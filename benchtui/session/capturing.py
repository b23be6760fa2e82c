"""A capture typed in place of a reading: what the line asks for, whether its prompt takes one, what is under way."""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import sqrt
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.buildfile.stages import SIGNAL
from benchtui.forecast.signal_path import SignalPath
from benchtui.forecast.signal_points import across_load, point_id, signal_points
from benchtui.parts.guide import value as guide
from benchtui.procedure.events import Captured, Noted
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.units import Unit
from benchtui.session import figures
from benchtui.session.hearing import Asked, Heard, Quiet, Scale
from benchtui.session.tables import table

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.session.bench import Bench
    from benchtui.session.forecaster import Listener

#: Questions at which a line that begins with `wav` is a capture.
CAPTURED = ("point", "warned")

#: What a capture tells at each kind of signal test.
_TELLS = {
    "closed": "volts", "second load": "volts", "clip": "volts", "hum": "hum", "distortion": "distortion",
    "overshoot": "overshoot", "crosstalk": "crosstalk", "low corner": "low corner", "high corner": "high corner",
}  # fmt: skip

#: Tests at which full power is held, and seconds that a card records there and elsewhere.
_FULL_POWER, _SHORT_S, _LONG_S = ("clip", "distortion"), 4.0, 8.0

#: A name, and what may stand behind it: its shortest reading that leaves all the rest to these counts.
_CLAUSES = re.compile(
    r"(?P<name>.*?)(?:\s+channel\s+(?P<first>[^\s'\"]+))?(?:\s+meter\s+(?P<meter>[\d.,+~-][^'\"]*?))?"
    r"(?:\s+channel\s+(?P<last>[^\s'\"]+))?(?P<floor>\s+floor)?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Line:
    """A capture as it is typed; `name` is "" for the sound card, "?" for none; `floor`: it is told to be the card's."""

    name: str
    channel: str
    meter: str
    floor: bool = False


def typed(text: str) -> Line | None:
    """The capture that a line asks for; None where it asks for none: it begins with `wav` or is `card`."""
    word, _, rest = text.strip().partition(" ")
    if word.casefold() not in ("wav", "card"):
        return None
    found = _CLAUSES.fullmatch(f" {rest.strip()}")
    if found is None:  # quotes somewhere behind the name: all of it is the name
        return Line(rest.strip(), "", "") if word.casefold() == "wav" else None
    name, channel = found["name"].strip(), found["first"] or found["last"] or ""
    if word.casefold() == "card" and name:
        return None
    name = "" if word.casefold() == "card" else name or "?"
    return Line(name, channel, (found["meter"] or "").strip(), found["floor"] is not None)


def parts(name: str) -> tuple[str, ...]:
    """A typed name cut at its blanks as a shell does it: quotes keep them, and so does a backslash but on Windows."""
    lexer = shlex.shlex(name, posix=True, punctuation_chars=False)
    lexer.whitespace_split, lexer.commenters = True, ""
    if os.name == "nt":
        lexer.escape = ""
    try:
        return tuple(lexer) or (name,)
    except ValueError:  # an apostrophe in a name is no quote
        return (name,)


def taken(bench: Bench) -> str:
    """What a capture would tell at the present prompt; "" where none is taken."""
    found = _asked_of(bench)
    return found[0] if found else ""


def asked(bench: Bench, line: Line, text: str, serial: int, keep: Path, floor: Quiet | None = None) -> Asked | str:
    """The capture to be told, or why there is none, in a sentence; `floor` is what is known of the card's."""
    found, expectation = _asked_of(bench), bench.expectation()
    if found is None or expectation is None:
        return table("captures")["no"]["valve" if bench.test == "at" else "here"]
    tells, path = ("floor", found[1]) if line.floor else found
    refusal = _refusal(line, tells, path, stops=expectation.stop_high is not None)
    if refusal:
        return refusal
    try:
        meter = read(line.meter, Unit.VOLT, current="ac") if line.meter else None
    except Question as question:
        return question.ask
    if meter is not None and meter.value < 0.0:
        return table("captures")["no"]["sign"]
    setting = bench.facts.settings.get(bench.ask.subject) if bench.facts else None
    clip_v = bench.notebook.values.get(point_id("clip", path))
    return Asked(
        serial=serial, point=bench.ask.subject, text=text, unit=expectation.unit, test=tells, whole=line.name,
        parts=parts(line.name), folder=_folder(), keep=str(keep),
        seconds=_SHORT_S if bench.test in _FULL_POWER else _LONG_S,
        channel=int(line.channel) if line.channel else None, meter_v=meter.value if meter else None,
        meter_notes=meter.notes if meter else (), hz=setting.hz if setting else 0.0,
        mains_hz=bench.build.mains.frequency, scales=tuple(_scales(bench.notebook.calibrations)),
        level_v=clip_v / sqrt(2.0) if clip_v else None,
        driven_v=bench.notebook.values.get(point_id("closed", path)), floor=floor,
    )  # fmt: skip


def _refusal(line: Line, tells: str, path: SignalPath, *, stops: bool) -> str:
    """Why no such capture is taken; "" where it is. `stops`: a stop stands beside the reading."""
    no = table("captures")["no"]
    if not path.earthed:
        return no["floating"]
    if line.name == "?":
        return no["name"]
    if line.channel and not (line.channel.isascii() and line.channel.isdigit() and int(line.channel) > 0):
        return no["channel"]
    if line.meter and tells not in ("volts", "hum", "distortion"):
        return no["meter"]
    return no["stop"] if tells == "hum" and stops and not line.meter else ""


def _folder() -> str:
    """Where the program was started; "" where that folder is gone."""
    try:
        return os.getcwd()
    except OSError:
        return ""


def begun(asked: Asked) -> str:
    """What is said while a capture is read or recorded."""
    words = table("captures")
    if asked.whole:
        return words["reading"].format(file=asked.whole)
    said = words["recording"].format(seconds=figures.seconds(asked.seconds), file=Path(asked.keep).name)
    held = words["full power"].format(held=figures.seconds(guide("signal.full_power")))
    return f"{said} {held}" if asked.seconds == _SHORT_S else said


def hint(bench: Bench) -> str:
    """What the field says where a capture may be typed; "" where none is taken."""
    found = _asked_of(bench)
    if found is None or not found[1].earthed:
        return ""
    calibrated = found[0] in ("volts", "distortion") and bench.notebook.calibrations
    return table("captures")["hint"][f"{found[0]} calibrated" if calibrated else found[0]]


def helps(bench: Bench) -> tuple[str, ...]:
    """How a capture is given at the present prompt."""
    found, words = _asked_of(bench), table("captures")["help"]
    return (words[found[0]], words["all"], words["caution"]) if found and found[1].earthed else ()


def _scales(calibrations: Mapping[int, Captured]) -> Iterator[tuple[int, Scale]]:
    for channel, event in calibrations.items():
        if event.full_scale_v is not None:
            yield channel, Scale(event.full_scale_v, event.rate_hz, event.calibration)


def _asked_of(bench: Bench) -> tuple[str, SignalPath] | None:
    """What a capture tells at the present prompt and of which channel; None where none is taken."""
    here = bench.hears and bench.state.mode is Mode.POWERED and bench.phase.stage == SIGNAL
    if not here or bench.ask.kind not in CAPTURED:
        return None
    of = next((each for each in signal_points(bench.build, SIGNAL) if each.id == bench.ask.subject), None)
    if of is not None:
        return (_TELLS[of.what], of.path) if of.what in _TELLS else None
    path = across_load(bench.build, bench.ask.subject)
    return None if path is None else ("hum", path)


class Captures:
    """The one capture that is under way; a later one, or anything else that is typed, takes its place."""

    def __init__(self, build: Build, listener: Listener) -> None:
        self._build, self._listener = build, listener
        self._serial = 0
        self._now: Asked | None = None
        self._given = False
        self.floor: Quiet | None = None

    @property
    def next(self) -> int:
        """The number of the capture that would be begun now."""
        return self._serial + 1

    def begin(self, asked: Asked) -> None:
        """It is to be told."""
        self._serial, self._now, self._given = asked.serial, asked, False

    def drop(self) -> None:
        """Whatever is under way is of no use any more."""
        self._now = None

    def job(self) -> Callable[[], object] | None:
        """The work for a worker, once."""
        if self._now is None or self._given:
            return None
        self._given, now = True, self._now
        return lambda: self._listener.heard(self._build, now)

    def over(self, result: object, bench: Bench) -> tuple[str, Captured | Noted | str]:
        """What was typed, and its figures, a note of the card's floor, or why there are none.

        "" where nobody waits for it any more.

        `result` is what the job gave, anything else than a Heard where it failed.
        """
        now = self._now
        of_this = result.serial if isinstance(result, Heard) else self._serial
        if now is None or not self._given or of_this != now.serial:
            return "", ""
        self._now = None
        if not isinstance(result, Heard):
            return now.text, table("captures")["no"]["failed"]
        if result.floor is not None:
            self.floor, name = result.floor, clean(Path(result.floor.path).name)
            said = table("captures")["floor"].format(level=f"{result.floor.dbfs:.2f}", file=name)
            return now.text, Noted(f"{said} SHA-256 {result.floor.sha256}")
        if result.event is None:
            return now.text, result.trouble
        if (stale := bench.notebook.stale(result.event)) is not None:
            name, told_s = stale
            return now.text, table("captures")["no"]["stale"].format(file=name, when=figures.day(told_s))
        late = not taken(bench) or bench.ask.subject != now.point or bench.expectation() is None
        return now.text, table("captures")["no"]["late"] if late else result.event
