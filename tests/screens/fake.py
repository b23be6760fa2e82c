"""A session that gives scripted views and writes down what it was told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from benchtui.session.view import Banner, ChartPage, ChartRow, Figure, LogLine, PlotPage, RatingRow, View
from tests.screens.scenes import POWER_OFF, READ, WORDS

HEADS = ("228 V", "253 V")
RATINGS = (
    RatingRow("past", "R20", "dissipation", "2.10 W", "2.60 W", "2.00 W", "-30 %", "the part's own rating"),
    RatingRow("close", "C1", "volts", "389 V", "442 V", "450 V", "1 %", "printed on its can"),
    RatingRow("within", "V3", "anode dissipation", "16.2 W", "20.2 W", "25.0 W *", "26 %", "data sheet"),
)


class Lines:
    """A picture that tells the size it was asked for."""

    def lines(self, columns: int, rows: int, *, plain: bool) -> list[list[tuple[str, str]]]:
        return [[("M", "measured"), (f" field of {columns} by {rows}", "axis")], [("M  point, measured", "measured")]]


class FakeSession:
    """Every answer moves on to the next view of the script, the last one staying."""

    def __init__(self, *script: View) -> None:
        self.script = list(script) or [READ]
        self.now = self.script[0]
        self.answers: list[tuple[int, str, bool]] = []
        self.notes: list[str] = []
        self.loose: list[str] = []
        self.stops = 0
        self.touches = 0
        self.left = 0
        self.changed = False
        self.job: Callable[[], object] | None = None
        self.forecasts: list[object] = []
        self.failures: list[str] = []

    def view(self) -> View:
        return self.now

    def answer(self, number: int, text: str, *, pasted: bool = False) -> View:
        self.answers.append((number, text, pasted))
        if pasted:
            self.now = replace(self.now, banner=Banner("refused", "Pasted text is not taken here: type it."))
        else:
            self.script = self.script[1:] or self.script
            self.now = self.script[0]
        return self.now

    def stop(self) -> View:
        self.stops += 1
        self.now = replace(POWER_OFF, prompt=replace(POWER_OFF.prompt, number=1000 + self.stops))
        return self.now

    def note(self, text: str) -> View:
        self.notes.append(text)
        return self.now

    def tick(self) -> bool:
        changed, self.changed = self.changed, False
        return changed

    def log(self, most: int | None = None) -> tuple[LogLine, ...]:
        return tuple(LogLine(n, f"14:{n:02d}", f"event number {n}") for n in range(1, 30))

    def explain(self, stage: str) -> tuple[str, ...]:
        return (f"points of {stage}: HT at C4 299 V, pass",)

    def chart(self) -> ChartPage:
        row = ChartRow("8 cathode", "470 Ω", "441 Ω to 499 Ω", "climbs: C4")
        return ChartPage(("Power off, hands in.",), (("V2 6V6GT", (row,)),), ("C4 is reversed: look at its plus",))

    def plots(self, chosen: int) -> PlotPage:
        """Ratings, and a picture in which a number says how wide it may be."""
        if chosen % 2:
            return PlotPage("Load line of V2 (6V6GT)", 2, 2, Figure(drawing=Lines()))
        return PlotPage("Ratings with their margins", 1, 2, Figure(("Computed, not measured.",), HEADS, RATINGS))

    def pending_forecast(self) -> Callable[[], object] | None:
        job, self.job = self.job, None
        return job

    def take_forecast(self, result: object) -> None:
        self.forecasts.append(result)

    def forecast_failed(self, text: str) -> None:
        self.failures.append(text)

    def pending_diagnosis(self) -> None:
        return None

    def take_diagnosis(self, found: object) -> None:
        raise AssertionError("nothing was given out")

    def touched(self) -> View:
        self.touches += 1
        self.now = WORDS
        return self.now

    def leaving(self, loose: str) -> View:
        self.loose.append(loose)
        return self.now

    def leave(self) -> str:
        self.left += 1
        return "Power may be on: switch off and pull the plug."
