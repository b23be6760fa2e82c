"""From samples to figures: the one function that the commands and the app call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypedDict

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.errors import SoundError
from benchtui.sound.figures import Analysis, Crosstalk, Level, Line, Tone
from benchtui.sound.fit import SineFit, fit_sine
from benchtui.sound.floor import NEAR, Floor
from benchtui.sound.levels import Scale, dbfs
from benchtui.sound.mains import MULTIPLES, signs_of_mains
from benchtui.sound.shares import Share, Shares, joined
from benchtui.sound.spectrum import Spectrum, spectrum
from benchtui.sound.steadiness import warnings_of
from benchtui.sound.tones import find_tone
from benchtui.sound.usable import refuse_unusable

#: Harmonics that are told.
HARMONICS = range(2, 11)

#: Where noise, THD and THD+N are counted unless something else is asked for.
HEARING_HZ = (20.0, 20_000.0)

#: How many lines are named that are neither tone, harmonic nor mains, how far above the noise they stand, and the
#: least power of one (-167 dBFS: below the steps of 24 bits, what is left of counting itself).
_OTHERS, _CLEAR, _LEAST = 5, 100.0, 1e-17

#: The power of hum, in parts of the tone's, from which hum under the tone is worth a word: 1 % of its volts.
_MATTERS = 1e-4


def analyse(
    samples: NDArray[np.float64],
    rate: float,
    *,
    channel: int | None = None,
    mains: float = 50.0,
    band: tuple[float, float] = HEARING_HZ,
    tone: float | None = None,
    fed: bool | None = None,
    volts_full_scale: float | None = None,
    floor: Floor | None = None,
) -> Analysis:
    """The figures of a capture of one steady tone, or of none.

    Args:
        samples: (frames,) or (frames, channels), full scale from -1 to 1.
        rate: samples a second.
        channel: the channel that is told, from 1; by default the loudest. In the others the tone is crosstalk.
        mains: nominal mains frequency, 50 or 60 Hz; the true one is looked for within 1 % of it.
        band: hertz from and to which noise, THD and THD+N are counted; the upper is at most half the rate.
        tone: hertz near which the tone is looked for (5 %), by default it is the largest line.
        fed: whether a tone is fed: True, False, or None to find out (a largest line at 1 to 4 times the mains is hum).
        volts_full_scale: rms volts of a sine that fills the range, from a calibration; without it no level has volts.
        floor: what is known of the converter's floor.

    Raises SoundError for samples that no figure can be taken from: too short, silent, clipped, not finite, no tone.
    """
    table = np.asarray(samples, float)
    table = table[:, None] if table.ndim == 1 else table
    every_floor = floor or Floor()
    at = refuse_unusable(table, rate, channel, mains, every_floor.bits)
    floor = every_floor.of_channel(at)
    seen = spectrum(table[:, at], rate)
    low, high = band[0], min(band[1], rate / 2)
    if low >= high:
        raise SoundError(f"nothing of the band from {low:g} Hz is below half the rate, {rate / 2:g} Hz")
    found, remark = find_tone(seen, mains, (low, high), tone, fed)
    fit = fit_sine(table[:, at], rate, found) if found else None
    hertz = None if fit is None else fit.hertz if fit.settled else found
    parts = _dealt(seen, floor, hertz, (low, high), mains)
    scale = Scale(volts_full_scale, parts.tone.power if parts.tone else None)
    told_tone = _tone(fit, hertz, scale, parts)
    return Analysis(
        rate_hz=float(rate),
        seconds=len(table) / rate,
        channel=at + 1,
        peak_dbfs=dbfs(float(np.abs(table[:, at]).max()) ** 2 / 2) or 0.0,
        total=scale.level(float(seen.power[seen.lobe(0.0).stop :].sum())),
        tone=told_tone,
        harmonics=_lines(parts.harmonics, hertz or 0.0, scale),
        thd=scale.level(*joined(list(parts.harmonics.values()))) if parts.harmonics else None,
        mains_hz=parts.mains_hz,
        mains_found=parts.mains_found,
        hum=_lines(parts.hum, parts.mains_hz, scale),
        hum_sum=scale.level(*joined(list(parts.hum.values()))),
        others=_others(parts.shares, scale, (low, high)),
        crosstalk=_crosstalk(table, rate, at, hertz, scale, every_floor) if hertz else (),
        warnings=(*remark, *_other_mains(parts), *warnings_of(table[:, at], told_tone, fit)),
        **_in_band(parts, scale, floor, low, high, rate),
    )


@dataclass(frozen=True)
class _Parts:
    """A spectrum dealt out: the tone, harmonics and hum by their order."""

    shares: Shares
    tone: Share | None
    harmonics: dict[int, Share]
    mains_hz: float
    mains_found: bool
    other_hz: float | None
    """The mains frequency that more lines speak for than for the one that was named."""

    hum: dict[int, Share]
    noise: float
    """Rms squared of the rest of the band."""


def _dealt(seen: Spectrum, floor: Floor, hertz: float | None, band: tuple[float, float], mains: float) -> _Parts:
    """Tone and harmonics first, since the mains is looked for beside them."""
    shares = Shares(seen, floor)
    tone = shares.claim(hertz) if hertz else None
    harmonics = {n: shares.claim(n * hertz) for n in HARMONICS if hertz and n * hertz <= band[1]}
    signs = signs_of_mains(shares, mains)
    mains_hz, found = (signs.mains_hz, True) if signs else (mains, False)
    # a grid has 50 or 60 Hz: where more lines speak for the other one, the wrong one was named
    other = signs_of_mains(shares, 110.0 - mains)
    other_hz = other.mains_hz if other and other.agree > max(signs.agree if signs else 0, 1) else None
    most = (seen.count - 1) * seen.bin_hz
    hum = {m: shares.claim(m * mains_hz) for m in range(1, MULTIPLES + 1) if m * mains_hz < most}
    return _Parts(shares, tone, harmonics, mains_hz, found, other_hz, hum, shares.rest(*band))


class _InBand(TypedDict):
    """The fields of an analysis that hold for its band."""

    low_hz: float
    high_hz: float
    noise: Level
    hum_and_noise: Level
    thd_n: Level | None
    sinad_db: float | None
    floor_dbfs: float | None
    floor_from: Literal["", "bits", "capture"]


def _in_band(parts: _Parts, scale: Scale, floor: Floor, low: float, high: float, rate: float) -> _InBand:
    least = floor.power(low, high, rate)

    def level(power: float) -> Level:
        return scale.level(max(power, least), "floor") if power < NEAR * least else scale.level(power)

    with_hum = parts.noise + sum(share.power for share in parts.hum.values() if share.within(low, high))
    thd_n = level(with_hum + sum(share.power for share in parts.harmonics.values())) if parts.tone else None
    return _InBand(
        low_hz=low,
        high_hz=high,
        noise=level(parts.noise),
        hum_and_noise=level(with_hum),
        thd_n=thd_n,
        sinad_db=None if thd_n is None or thd_n.dbc is None else -thd_n.dbc,
        floor_dbfs=dbfs(least),
        floor_from=floor.told_by(low, high, rate),
    )


def _tone(fit: SineFit | None, hertz: float | None, scale: Scale, parts: _Parts) -> Tone | None:
    if fit is None or hertz is None or parts.tone is None:
        return None
    power = parts.tone.power
    # under the tone itself no hum can be told, so it is taken to be as large as the largest elsewhere
    hum = max((each.power for each in parts.hum.values()), default=0.0)
    matters = parts.tone.shared and parts.mains_found and hum > _MATTERS * power
    level = scale.level(power, "hum" if matters else "")
    return Tone(hertz, level, fit.phase_deg, fit.offset, dbfs(fit.residual_rms**2), fit.settled)


def _other_mains(parts: _Parts) -> tuple[str, ...]:
    if parts.other_hz is None:
        return ()
    return (
        f"the lines of hum speak for mains of {parts.other_hz:.2f} Hz, so they are told wrong: "
        f"give --mains {parts.other_hz:.0f}",
    )


def _lines(shares: Mapping[int, Share], each_hz: float, scale: Scale) -> tuple[Line, ...]:
    return tuple(Line(order, order * each_hz, scale.level(*share.judged())) for order, share in shares.items())


def _others(shares: Shares, scale: Scale, band: tuple[float, float]) -> tuple[Line, ...]:
    """The largest lines that nobody has claimed, largest first."""
    found: list[Line] = []
    bins = shares.spectrum.between(*band)
    while len(found) < _OTHERS:
        hertz = shares.spectrum.peak(bins, shares.taken)
        if hertz is None:
            break
        share = shares.claim(hertz)
        if share.hidden or share.power < max(_CLEAR * share.noise, _LEAST) or share.judged()[1]:
            break
        found.append(Line(0, hertz, scale.level(share.power)))
    return tuple(found)


def _crosstalk(
    table: NDArray[np.float64], rate: float, driven: int, hertz: float, scale: Scale, floor: Floor
) -> tuple[Crosstalk, ...]:
    found = []
    for number in range(table.shape[1]):
        if number != driven:
            share = Shares(spectrum(table[:, number], rate), floor.of_channel(number)).claim(hertz)
            found.append(Crosstalk(number + 1, scale.level(*share.judged())))
    return tuple(found)
