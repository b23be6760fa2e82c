"""What an analysis gives back: plain numbers, each with its unit in its name.

dBFS counts from a sine that just fills the converter's range: its rms is 0 dBFS. Volts are rms, None where the capture
was not calibrated against a meter. dBc counts from the tone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: What a figure is beside itself: "" as it stands; "noise": not above the noise around it, so at most this; "floor":
#: within 6 dB of the converter's floor, so the amplifier is at most this; "hum": a mains line lies in it as well;
#: "hidden": another line covers it, so there is no figure.
Bound = Literal["", "noise", "floor", "hum", "hidden"]


@dataclass(frozen=True)
class Level:
    """A level: None is too small for a number (or there is none), `dbc` and `percent` are None without a tone."""

    dbfs: float | None
    volts: float | None = None
    dbc: float | None = None
    percent: float | None = None
    bound: Bound = ""


@dataclass(frozen=True)
class Line:
    """One line: `order` 2 is the second harmonic, or twice the mains; 0 a line that is neither."""

    order: int
    hertz: float
    level: Level


@dataclass(frozen=True)
class Tone:
    """The tone that was fed, by its lobe in the spectrum; frequency, phase, offset, residual by the sine fit."""

    hertz: float
    level: Level
    phase_deg: float
    """Of a cosine at the first sample."""

    offset: float
    """What stands still under it, in parts of full scale."""

    residual_dbfs: float | None
    """All but the fitted sine, over the whole range of the capture."""

    settled: bool


@dataclass(frozen=True)
class Crosstalk:
    """What channel `channel` has of the tone: `level.dbc` against the driven one."""

    channel: int
    level: Level


@dataclass(frozen=True)
class Analysis:
    """The figures of one capture. `low_hz` to `high_hz` is the band that noise, THD and THD+N are counted in."""

    rate_hz: float
    seconds: float
    channel: int
    peak_dbfs: float
    low_hz: float
    high_hz: float
    total: Level
    """All but what stands still, over the whole range."""

    tone: Tone | None
    harmonics: tuple[Line, ...]
    """2nd to 10th, those within the band."""

    thd: Level | None
    """Harmonics together, against the tone. None without tone, or where no harmonic lies in the band."""

    thd_n: Level | None
    """Everything in the band but the tone (hum too), against the tone."""

    sinad_db: float | None
    """The tone against everything else in the band: THD+N with its sign turned."""

    noise: Level
    """Everything in the band but tone, harmonics and mains lines."""

    mains_hz: float
    mains_found: bool
    """False: no mains line stood out, the nominal frequency is taken."""

    hum: tuple[Line, ...]
    """1 to 10 times the mains."""

    hum_sum: Level
    hum_and_noise: Level
    """Everything in the band but tone and harmonics."""

    others: tuple[Line, ...]
    """The largest lines that are none of these, counted as noise."""

    floor_dbfs: float | None
    """The converter's floor in the band, as far as it is known."""

    floor_from: Literal["", "bits", "capture"]
    crosstalk: tuple[Crosstalk, ...]
    warnings: tuple[str, ...]
