"""A captured signal as a plot: its spectrum, and what several captures tell of the response."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import floor, isfinite, log10

from benchtui.plots.model import Axis, Plot, Series
from benchtui.plots.ticks import round_up
from benchtui.procedure.events import Captured
from benchtui.session.captured import Kept, Line, kept

#: What is drawn below the deepest line, and the least and the most that a plot shows, in decibels.
_ROOM_DB, _LEAST_DB, _MOST_DB = 10.0, 60.0, 140.0

#: Of a tone that a response is held against, how far it may be from the test tone, as a ratio.
_NEAR = 1.2


def spectrum_plot(event: Captured, title: str, notes: Sequence[str] = ()) -> Plot | None:
    """The lines of a capture, each as a stick; None where it holds none, as a square wave's."""
    of = kept(event)
    families = (("tone", "T", (of.tone,) if of.tone else ()), ("harmonics", "h", of.harmonics),
                ("lines of the mains", "m", of.hum), ("other lines", "x", of.others))  # fmt: skip
    shown = [(name, sign, line) for name, sign, lines in families for line in lines if isfinite(line.dbfs)]
    if not shown or of.response:
        return None
    unit, against, shift = _level(of)
    levels = [line.dbfs + shift for _, _, line in shown]
    top = _tens(max(levels) + _ROOM_DB)
    low = max(min(_tens(min(levels)) - _ROOM_DB, top - _LEAST_DB), top - _MOST_DB)
    end = round_up(max(line.hertz for _, _, line in shown) * 1.2)
    start = 10.0 ** floor(log10(min(min(line.hertz for _, _, line in shown), 20.0)))
    return Plot(
        title,
        Axis("frequency", "Hz", start, end, log=True),
        Axis(against, unit, low, top),
        tuple(_sticks(shown, low, shift)),
        notes=tuple(notes),
    )


def _tens(level: float) -> float:
    return 10.0 * floor(level / 10.0)


def _level(of: Kept) -> tuple[str, str, float]:
    """(unit, what it is against, what is added to dBFS): the tone, else a volt, else a sine that fills the range."""
    if of.tone is not None:
        return "dB", "against the tone", -of.tone.dbfs
    line = next((each for each in (*of.hum, *of.others) if each.volts), None)
    if line is not None and line.volts is not None:
        return "dB", "against 1 V rms", 20.0 * log10(line.volts) - line.dbfs
    return "dBFS", "level", 0.0


def _sticks(shown: Iterable[tuple[str, str, Line]], low: float, shift: float) -> Iterator[Series]:
    """A stick for each line from the bottom to its level, its order at the tip; what is at most so much is dotted."""
    for name, sign, line in shown:
        clear, level = line.clear, line.dbfs + shift
        label = str(line.order) if line.order and name != "tone" else ""
        yield Series(
            name if clear else "at most so much, covered",
            "measured", ((line.hertz, low), (line.hertz, level)),
            sign if clear else "?", label, "solid" if clear else "dotted", "bold" if clear else "thin",
        )  # fmt: skip


def responses(events: Iterable[Captured], tone_hz: float) -> tuple[tuple[float, float], ...]:
    """(Hz, dB against what is nearest to the test tone) as several captures told them; none where that is far off it.

    Of several events the last that tells a response counts.
    """
    told = [found for event in events if (found := kept(event).response)]
    if not told:
        return ()
    nearest = min(told[-1], key=lambda line: abs(log10(line.hertz / tone_hz)))
    if not 1.0 / _NEAR <= nearest.hertz / tone_hz <= _NEAR:
        return ()
    return tuple((line.hertz, line.dbfs - nearest.dbfs) for line in told[-1])
