"""Volts of a sound card's input, found by a meter that showed the same sine; kept in a small text file."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.analysis import analyse
from benchtui.sound.errors import SoundError

FORMAT = 1

#: Where a hand meter's AC volts can be believed (handbooks of hand meters: 40 Hz to 1 kHz; common practice, no source).
METER_HZ = (40.0, 1000.0)

#: A generator that is set to one end of that may be so far beyond it.
_ABOUT = 0.02

_WRITTEN = """\
# Volts of a sound card's input, found by a meter on the same sine. It holds for the same card, the same input, its
# gain where it stood, and the same divider before it: after any change capture and calibrate again.
format = {format}
volts_full_scale = {volts:.9g}  # rms of a sine that just fills the range
meter_volts = {meter:.9g}  # rms, what the meter showed
level_dbfs = {level:.3f}  # what the capture held meanwhile
tone_hz = {tone:.3f}
made = "{made}"
capture = {capture}
"""


@dataclass(frozen=True)
class Calibration:
    """`volts_full_scale`: rms volts of a sine that fills the range; and how that was found."""

    volts_full_scale: float
    meter_volts: float
    level_dbfs: float
    tone_hz: float
    made: str = ""
    capture: str = ""


def calibrate(
    samples: NDArray[np.float64], rate: float, meter_volts: float, *, channel: int | None = None, mains: float = 50.0,
    made: str = "", capture: str = "",
) -> Calibration:  # fmt: skip
    """The calibration by a capture of a sine while a meter at the load showed `meter_volts` rms.

    A true-rms meter shows all that moves, so it is held against all that moves in the capture, hum and distortion too.
    Raises SoundError for no volts, and for a capture without a tone.
    """
    if not (isfinite(meter_volts) and 1e-6 < meter_volts < 1e4):
        raise SoundError(f"{meter_volts:g} V are no reading to calibrate by, rms volts such as 2.83 are wanted")
    found = analyse(samples, rate, channel=channel, mains=mains, fed=True)
    level, tone = found.total.dbfs, found.tone
    if level is None or tone is None:
        raise SoundError("there is no tone in the capture to calibrate by")
    return Calibration(meter_volts / 10 ** (level / 20), meter_volts, level, tone.hertz, made, capture)


def doubts(calibration: Calibration) -> tuple[str, ...]:
    """What makes a calibration doubtful, in sentences."""
    told = []
    low, high = METER_HZ
    if not low * (1 - _ABOUT) <= calibration.tone_hz <= high * (1 + _ABOUT):
        told.append(
            f"it was calibrated at {calibration.tone_hz:.0f} Hz: most hand meters are right on AC "
            f"from {low:.0f} Hz to {high:.0f} Hz only"
        )
    if calibration.level_dbfs < -30:
        told.append(f"it was calibrated at {calibration.level_dbfs:.0f} dBFS: nearer to -6 dBFS tells it better")
    return tuple(told)


def written(calibration: Calibration) -> str:
    """The text file of a calibration."""
    return _WRITTEN.format(
        format=FORMAT, volts=calibration.volts_full_scale, meter=calibration.meter_volts,
        level=calibration.level_dbfs, tone=calibration.tone_hz, made=calibration.made,
        capture=json.dumps(calibration.capture),
    )  # fmt: skip


def read(text: str) -> Calibration:
    """The calibration in the text of such a file. Raises SoundError with what is wrong in it."""
    try:
        told = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SoundError(f"it is no calibration, {error}") from error
    if told.get("format") != FORMAT:
        raise SoundError(f"it is no calibration of format {FORMAT}, such as --write-calibration writes")
    numbers = {key: _number(told, key) for key in ("volts_full_scale", "meter_volts", "level_dbfs", "tone_hz")}
    if not 0 < numbers["volts_full_scale"] < 1e5:
        raise SoundError(f"volts_full_scale is {numbers['volts_full_scale']:g}, volts above 0 are wanted")
    return Calibration(**numbers, made=str(told.get("made", "")), capture=str(told.get("capture", "")))


def _number(told: dict[str, object], key: str) -> float:
    value = told.get(key)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
        raise SoundError(f"{key} is missing or no number in it")
    return float(value)
