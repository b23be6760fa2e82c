"""What the record keeps of a captured signal: its figures, read back from the event."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf, isfinite, isnan

from benchtui.procedure.events import Captured

#: Names of single lines in the event; those of a family are followed by the order, such as "harmonic 2".
TONE, HARMONIC, MAINS, OTHER, CHANNEL, RESPONSE = "tone", "harmonic", "mains", "line", "channel", "response"

#: Names of sums over several lines or a band.
TOTAL, THD, THD_N, NOISE, HUM, HUM_NOISE = (
    "total",
    "distortion",
    "distortion and noise",
    "noise",
    "hum",
    "hum and noise",
)


@dataclass(frozen=True)
class Line:
    """A line of the spectrum, or the sum of several (`hertz` is nan).

    `order` 2 is the second harmonic or twice the mains, of a crosstalk line the channel. Levels are dB of a sine that
    fills the range (-inf: nothing), `dbc` dB against the tone, `volts` rms; None without a tone or a calibration.
    `bound`: "" as it stands; "noise" or "floor" at most this; "hum" with hum in it; "hidden" covered by another line.
    """

    order: int
    hertz: float
    dbfs: float
    dbc: float | None
    volts: float | None
    bound: str

    @property
    def percent(self) -> float | None:
        """Of the tone; None without one."""
        return None if self.dbc is None else 100.0 * 10.0 ** (self.dbc / 20.0)

    @property
    def clear(self) -> bool:
        """Does it stand out by itself?"""
        return self.bound in ("", "hum")


@dataclass(frozen=True)
class Kept:
    """The figures of a capture. Lines are sorted by frequency; a sum that was not told is None.

    `response`: level against frequency, of several captures. `floor_dbfs` is the converter's in the band `low_hz` to
    `high_hz`, None where it is not known; `floor_from` says whether its "bits" tell it or a "capture".
    """

    tone: Line | None
    harmonics: tuple[Line, ...]
    hum: tuple[Line, ...]
    others: tuple[Line, ...]
    crosstalk: tuple[Line, ...]
    response: tuple[Line, ...]
    total: Line | None
    distortion: Line | None
    distortion_and_noise: Line | None
    noise: Line | None
    hum_sum: Line | None
    hum_and_noise: Line | None
    low_hz: float
    high_hz: float
    floor_dbfs: float | None
    floor_from: str


def kept(event: Captured) -> Kept:
    """The figures in `event`."""
    tone_dbfs = next((db for name, db in zip(event.names, event.dbfs, strict=True) if name == TONE), None)
    lines = [(name, _line(event, k, tone_dbfs)) for k, name in enumerate(event.names)]

    def family(of: str) -> tuple[Line, ...]:
        found = (line for name, line in lines if name.partition(" ")[0] == of and not isnan(line.hertz))
        return tuple(sorted(found, key=lambda line: line.hertz))

    def one(of: str) -> Line | None:
        return next((line for name, line in lines if name == of), None)

    return Kept(
        one(TONE), family(HARMONIC), family(MAINS), family(OTHER), family(CHANNEL), family(RESPONSE),
        one(TOTAL), one(THD), one(THD_N), one(NOISE), one(HUM), one(HUM_NOISE),
        event.low_hz, event.high_hz, event.floor_dbfs, event.floor_from,
    )  # fmt: skip


def _line(event: Captured, at: int, tone_dbfs: float | None) -> Line:
    dbfs, order = event.dbfs[at], event.names[at].rpartition(" ")[2]
    volts = None if event.full_scale_v is None else event.full_scale_v * 10.0 ** (dbfs / 20.0)
    dbc = None if tone_dbfs is None else dbfs - tone_dbfs
    return Line(int(order) if order.isdigit() else 0, event.hertz[at], dbfs, dbc, volts, event.bounds[at])


@dataclass(frozen=True)
class Levels:
    """The four tuples by which an event tells levels."""

    names: tuple[str, ...] = ()
    hertz: tuple[float, ...] = ()
    dbfs: tuple[float, ...] = ()
    bounds: tuple[str, ...] = ()


def levels(told: Iterable[tuple[str, float, float | None, str]]) -> Levels:
    """(name, hertz, dBFS or None for nothing, bound) of each line, as an event tells them."""
    rows = [(name, hertz, -inf if dbfs is None else dbfs, bound) for name, hertz, dbfs, bound in told]
    return Levels(*zip(*rows, strict=True)) if rows else Levels()


def strongest(lines: Iterable[Line]) -> list[Line]:
    """Those that stand out, the strongest first."""
    return sorted((line for line in lines if line.clear and isfinite(line.dbfs)), key=lambda line: -line.dbfs)
