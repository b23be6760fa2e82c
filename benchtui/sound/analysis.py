"""From samples to figures: the one function that the commands and the app call."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchtui.sound.errors import SoundError
from benchtui.sound.figures import Analysis, Crosstalk, Level, Line, Tone
from benchtui.sound.fit import SineFit, fit_sine
from benchtui.sound.floor import NEAR, Floor
from benchtui.sound.levels import Scale, dbfs
from benchtui.sound.mains import MULTIPLES, find_mains
from benchtui.sound.shares import Share, Shares, joined
from benchtui.sound.spectrum import spectrum
from benchtui.sound.steadiness import warnings_of
from benchtui.sound.tones import find_tone
from benchtui.sound.usable import refuse_unusable

#: Harmonics that are told.
HARMONICS = range(2, 11)

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
    band: tuple[float, float] = (20.0, 20_000.0),
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
        mains: nominal mains frequency, hertz; the true one is looked for within 1 % of it.
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
    hertz = None if fit is None else (fit.hertz if fit.settled else found)
    shares = Shares(seen, floor)
    own = shares.claim(hertz) if hertz else None
    orders = [n for n in HARMONICS if hertz and n * hertz <= high]
    harmonics = [shares.claim(n * hertz) for n in orders if hertz]
    mains_hz, mains_found = find_mains(seen, shares.taken, mains)
    multiples = [m for m in range(1, MULTIPLES + 1) if m * mains_hz < rate / 2]
    hum = [shares.claim(m * mains_hz) for m in multiples]
    scale = Scale(volts_full_scale, own.power if own else None)
    noise = shares.rest(low, high)
    least = floor.power(low, high, rate)
    with_hum = noise + sum(share.power for share in hum if share.within(low, high))
    all_else = with_hum + sum(share.power for share in harmonics)

    def near(power: float) -> Level:
        return scale.level(power, "floor" if power < NEAR * least else "")

    thd_n = near(all_else) if own else None
    thd = scale.level(*joined(harmonics)) if harmonics else None
    told_tone = None if fit is None or hertz is None or own is None else _tone(fit, hertz, scale.level(own.power))
    return Analysis(
        rate_hz=float(rate),
        seconds=len(table) / rate,
        channel=at + 1,
        peak_dbfs=dbfs(float(np.abs(table[:, at]).max()) ** 2 / 2) or 0.0,
        low_hz=low,
        high_hz=high,
        total=scale.level(float(seen.power[seen.lobe(0.0).stop :].sum())),
        tone=told_tone,
        harmonics=_lines(orders, hertz or 0.0, harmonics, scale),
        thd=thd,
        thd_n=thd_n,
        sinad_db=None if thd_n is None or thd_n.dbc is None else -thd_n.dbc,
        noise=near(noise),
        mains_hz=mains_hz,
        mains_found=mains_found,
        hum=_lines(multiples, mains_hz, hum, scale),
        hum_sum=scale.level(*joined(hum)),
        hum_and_noise=near(with_hum),
        others=_others(shares, scale, (low, high)),
        floor_dbfs=dbfs(least),
        floor_from=floor.told_by(low, high, rate),
        crosstalk=_crosstalk(table, rate, at, hertz, scale, every_floor) if hertz else (),
        warnings=(*remark, *warnings_of(table[:, at], told_tone, fit, _hum_in_tone(own, hum, mains_found))),
    )


def _tone(fit: SineFit, hertz: float, level: Level) -> Tone:
    return Tone(hertz, level, fit.phase_deg, fit.offset, dbfs(fit.residual_rms**2), fit.settled)


def _hum_in_tone(own: Share | None, hum: list[Share], mains_found: bool) -> bool:
    """Whether a mains line stands under the tone that may be large enough to matter, by the largest of the others."""
    return own is not None and own.shared and mains_found and max(each.power for each in hum) > _MATTERS * own.power


def _lines(orders: list[int], each_hz: float, shares: list[Share], scale: Scale) -> tuple[Line, ...]:
    return tuple(
        Line(order, order * each_hz, scale.level(*share.judged())) for order, share in zip(orders, shares, strict=True)
    )


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
