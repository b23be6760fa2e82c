"""What makes the figures of a capture doubtful."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.figures import Tone
from benchtui.sound.fit import SineFit
from benchtui.sound.levels import dbfs

#: Levels that are too high and too low to be told well, dBFS: converters distort near full scale, and near the floor
#: hum and noise of the card weigh. Common practice, no source.
_HIGH, _LOW = -1.0, -40.0

#: How far the quarters of a capture may differ, and the fitted sine from the power of its lobe.
_STEADY = 1.06


def warnings_of(samples: NDArray[np.float64], tone: Tone | None, fit: SineFit | None) -> tuple[str, ...]:
    """Sentences on the capture `samples` (frames,) and its tone."""
    return tuple(_warnings(samples, tone, fit))


def _warnings(samples: NDArray[np.float64], tone: Tone | None, fit: SineFit | None) -> list[str]:
    told = []
    peak = dbfs(float(np.abs(samples).max()) ** 2 / 2) or 0.0
    if peak > _HIGH:
        told.append(f"the peak is {peak:.1f} dBFS: so near full scale the converter distorts by itself; aim at -6 dBFS")
    if tone is None or fit is None or tone.level.dbfs is None:
        return told
    if tone.level.dbfs < _LOW:
        told.append(
            f"the tone is {tone.level.dbfs:.1f} dBFS: so low the converter's own hum and noise weigh; aim at -6 dBFS"
        )
    rms = [float(np.std(quarter)) for quarter in np.array_split(samples, 4)]
    fitted = (dbfs(fit.amplitude**2 / 2) or 0.0) - tone.level.dbfs
    if max(rms) > _STEADY * min(rms):
        told.append("the level changes during the capture: start it once the tone is steady")
    elif not fit.settled or abs(fitted) > 0.1:
        told.append("the tone's frequency wanders during the capture, or something is mixed into it")
    if tone.level.bound == "hum":
        told.append("a mains line or harmonic falls onto the tone and is counted with it: choose another frequency")
    return told
