"""What each signal test makes of its capture: its one figure, and the levels that are kept beside it.

All raise SoundError with one sentence where the capture tells nothing for the test.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import log10, nan
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchtui.quantities.clean import clean
from benchtui.session import captured as names
from benchtui.session import figures
from benchtui.session.captured import Levels, levels
from benchtui.session.hearing import Asked, Quiet, Scale
from benchtui.session.tables import table
from benchtui.sound.analysis import HEARING_HZ, analyse
from benchtui.sound.calibration import calibrate, doubts
from benchtui.sound.capture import read_wav
from benchtui.sound.channels import meant_channel
from benchtui.sound.errors import SoundError
from benchtui.sound.floor import Floor, quiet_floor
from benchtui.sound.levels import dbfs
from benchtui.sound.response import response
from benchtui.sound.square import square_wave
from benchtui.sound.tones import NEAR

if TYPE_CHECKING:
    from benchtui.sound.capture import Capture
    from benchtui.sound.figures import Analysis, Level
    from benchtui.sound.square import Square

#: How far the level may be from the one that is asked for, where a calibration tells it. Common practice, no source.
_LEVEL = 0.2

#: The lowest frequency at which a corner is looked for.
_DEEPEST_HZ = 2.0

_SAME_LEVEL = (
    "it holds if the input had the same level at each frequency, and if the card has no corner near: capture the "
    "generator alone once and compare"
)

#: How far apart the two captures around a corner may be: with one pole the straight line between is then 2 % off.
_APART = 1.5


@dataclass(frozen=True)
class File:
    """A capture, where it lies, and its hash."""

    path: Path
    sha256: str
    capture: Capture


@dataclass(frozen=True)
class Told:
    """What a test makes of its captures; `values` are fields of the event."""

    figure: float
    channel: int
    levels: Levels
    notes: tuple[str, ...]
    values: dict[str, Any]


def _volts(asked: Asked, files: list[File]) -> Told:
    """All that moves, as a meter shows it. With the meter's own volts the capture calibrates."""
    capture = files[0].capture
    channel = meant_channel(capture.samples, asked.channel)
    scale, doubtful = _calibrated(asked, files[0], channel)
    told = _analysed(asked, capture, channel, scale)
    volts = told.total.volts or 0.0 if asked.meter_v is None else asked.meter_v
    return _of_analysis(told, volts, scale, asked.meter_v is not None, doubtful)


def _hum(asked: Asked, files: list[File]) -> Told:
    """All that moves while no tone is fed; where the meter's volts are given, they are the reading."""
    capture = files[0].capture
    channel = meant_channel(capture.samples, asked.channel)
    if asked.meter_v is not None:
        scale = _known(asked, capture, channel)
        return _of_analysis(_analysed(asked, capture, channel, scale, fed=False), asked.meter_v, scale, False)
    scale = _scale(asked, capture, channel, files[0].path)
    told = _analysed(asked, capture, channel, scale, fed=False)
    return _of_analysis(told, told.total.volts or 0.0, scale, False)


def _distortion(asked: Asked, files: list[File]) -> Told:
    """The share of harmonics at the level asked for: a generator by itself has less of them, and would pass."""
    capture = files[0].capture
    channel = meant_channel(capture.samples, asked.channel)
    scale, doubtful = _calibrated(asked, files[0], channel)
    told = _analysed(asked, capture, channel, scale)
    if told.thd is None or told.thd.percent is None:
        raise SoundError("no harmonic of its tone lies in the band, so it tells no distortion")
    volts = told.total.volts
    if volts is not None and asked.level_v and abs(volts / asked.level_v - 1.0) > _LEVEL:
        has, due = figures.volts(volts), figures.volts(asked.level_v)
        raise SoundError(f"the load has {has} in it by the calibration, {due} is asked for here")
    return _of_analysis(told, told.thd.percent / 100.0, scale, asked.meter_v is not None, doubtful)


def _crosstalk(asked: Asked, files: list[File]) -> Told:
    """What the other load has: by its channel's calibration, or else by the driven load's volts, read at this level."""
    words, capture = table("captures")["trouble"], files[0].capture
    if capture.samples.shape[1] != 2:
        raise SoundError(words["two channels"].format(count=capture.samples.shape[1]))
    told = _analysed(asked, capture, asked.channel, None)
    (other,) = told.crosstalk
    samples, own = capture.samples[:, other.channel - 1], _known(asked, capture, other.channel)
    if other.level.percent is None or other.level.dbfs is None or samples.min() == samples.max():
        raise SoundError(words["other silent"].format(channel=other.channel))
    if own is not None:
        note = f"volts of the other load {own.said}"
        return _of_analysis(told, own.volts * 10.0 ** (other.level.dbfs / 20.0), None, False, (note,))
    if asked.driven_v is None:
        raise SoundError(words["driven"])
    note = f"volts of the other load by {figures.volts(asked.driven_v)} at the driven one, both inputs of one gain"
    return _of_analysis(told, asked.driven_v * other.level.percent / 100.0, None, False, (note,))


def _overshoot(asked: Asked, files: list[File]) -> Told:
    capture = files[0].capture
    channel = meant_channel(capture.samples, asked.channel)
    found = square_wave(capture.samples[:, channel - 1], capture.rate, capture.bits)
    _refuse_frequency(found.hertz, asked, "the square wave has")
    told = levels([("square wave", found.hertz, 20.0 * log10(found.step / 2.0) + 10.0 * log10(2.0), "")])
    return Told(found.overshoot_percent / 100.0, channel, told, _square_notes(found), {})


def _square_notes(found: Square) -> tuple[str, ...]:
    rise = f"{'at most ' if found.rise_limited else ''}{figures.shown(found.rise_s, 's')}"
    return (
        f"{found.overshoot_percent:.1f} % overshoot of the whole step, droop {found.droop_percent:.1f} %, rise {rise}",
        "a converter's own filter rings by up to 9 %: capture the generator alone once and compare",
    )


def _corner(asked: Asked, files: list[File]) -> Told:
    """Where the level has fallen by 3 dB, between captures at several frequencies."""
    words = table("captures")["trouble"]
    if len(files) < 3:
        raise SoundError(words["captures"].format(hertz=figures.shown(asked.hz, "Hz")))
    channel, points = meant_channel(files[0].capture.samples, asked.channel), []
    for each in files:
        try:
            tone = _analysed(asked, each.capture, channel, None, band=(_DEEPEST_HZ, each.capture.rate / 2.0)).tone
        except SoundError as error:
            raise SoundError(f"capture {each.path}: {error}") from error
        if tone is not None and tone.level.dbfs is not None:
            points.append((tone.hertz, tone.level.dbfs))
    found = response(points)
    _refuse_frequency(found.middle_hz, asked, "levels count from the capture nearest to 1 kHz, which has")
    corner = found.low_hz if asked.test == "low corner" else found.high_hz
    hertz = [point.hertz for point in found.points]
    if corner is None:
        raise SoundError(words["no corner"].format(low=_hertz(hertz[0]), high=_hertz(hertz[-1])))
    below, above = max(f for f in hertz if f <= corner), min(f for f in hertz if f >= corner)
    if above > _APART * below:
        raise SoundError(words["far apart"].format(low=_hertz(below), high=_hertz(above)))
    rows = levels((f"{names.RESPONSE} {k}", point.hertz, point.dbfs, "") for k, point in enumerate(found.points, 1))
    return Told(corner, channel, rows, (_SAME_LEVEL,), {})


def quiet(file: File) -> Quiet:
    """The floor of a card, by a capture with its input shorted."""
    samples, rate = file.capture.samples, file.capture.rate
    power = max(
        channel.power(*HEARING_HZ, rate) for channel in _channels(quiet_floor(samples, rate, file.capture.bits))
    )
    return Quiet(str(file.path), file.sha256, dbfs(power) or 0.0)


def _channels(floor: Floor) -> list[Floor]:
    return [floor.of_channel(at) for at in range(len(floor.quiet))]


TESTS: dict[str, Callable[[Asked, list[File]], Told]] = {
    "volts": _volts, "hum": _hum, "distortion": _distortion, "crosstalk": _crosstalk, "overshoot": _overshoot,
    "low corner": _corner, "high corner": _corner,
}  # fmt: skip

# -- what they share


def _calibrated(asked: Asked, file: File, channel: int) -> tuple[Scale, tuple[str, ...]]:
    """The calibration of a channel, by what the meter shows of this sine if that was typed, and what is doubtful of it.

    Raises SoundError where there is none that holds.
    """
    capture = file.capture
    if asked.meter_v is None:
        return _scale(asked, capture, channel, file.path), ()
    found = calibrate(capture.samples, capture.rate, asked.meter_v, channel=channel, mains=asked.mains_hz)
    said = f"by the meter's {figures.shown(asked.meter_v, 'V', 4)} with {clean(file.path.name)}"
    return Scale(found.volts_full_scale, capture.rate, said), doubts(found)


def _known(asked: Asked, capture: Capture, channel: int) -> Scale | None:
    """The calibration of the channel, if there is one that holds."""
    known = dict(asked.scales).get(channel)
    return known if known is not None and known.rate_hz == capture.rate else None


def _scale(asked: Asked, capture: Capture, channel: int, path: Path) -> Scale:
    """The calibration of the channel. Raises SoundError where there is none that holds."""
    words, known = table("captures")["trouble"], dict(asked.scales)
    if channel not in known:
        which = "" if not known else f" channel {channel}"
        raise SoundError(words["no volts"].format(which=which, file=path.name, channel=channel))
    if known[channel].rate_hz != capture.rate:
        raise SoundError(words["other rate"].format(rate=capture.rate, known=known[channel].rate_hz))
    return known[channel]


def _analysed(
    asked: Asked, capture: Capture, channel: int | None, scale: Scale | None, *, fed: bool = True,
    band: tuple[float, float] | None = None,
) -> Analysis:  # fmt: skip
    """The figures of `channel`, None for the loudest; a tone is at the frequency asked for, or anywhere in `band`."""
    told = analyse(
        capture.samples, capture.rate, channel=channel, mains=asked.mains_hz, fed=fed, band=band or HEARING_HZ,
        volts_full_scale=scale and scale.volts, floor=_floor(asked, capture),
    )  # fmt: skip
    if told.tone is not None and band is None:
        _refuse_frequency(told.tone.hertz, asked, "its tone has")
    return told


def _floor(asked: Asked, capture: Capture) -> Floor:
    """What is known of the converter's floor: the bits, and a capture with the input shorted, if there is one."""
    if asked.floor is None:
        return Floor(capture.bits)
    try:
        known = read_wav(Path(asked.floor.path))
    except SoundError as error:
        raise SoundError(f"the floor's capture {asked.floor.path} is gone, give it again: {error}") from error
    if known.rate != capture.rate:
        raise SoundError(table("captures")["trouble"]["other floor"].format(rate=capture.rate, known=known.rate))
    return Floor(capture.bits, quiet_floor(known.samples, known.rate).quiet)


def _refuse_frequency(hertz: float, asked: Asked, what: str) -> None:
    if asked.hz > 0.0 and abs(hertz / asked.hz - 1.0) > NEAR:
        raise SoundError(f"{what} {_hertz(hertz)}, {_hertz(asked.hz)} is asked for here")


def _hertz(hertz: float) -> str:
    return figures.shown(hertz, "Hz", 4)


def _of_analysis(
    told: Analysis, figure: float, scale: Scale | None, calibrates: bool, notes: tuple[str, ...] = ()
) -> Told:
    values = {
        "low_hz": told.low_hz, "high_hz": told.high_hz, "mains_hz": told.mains_hz, "floor_dbfs": told.floor_dbfs,
        "floor_from": told.floor_from, "full_scale_v": scale and scale.volts,
        "calibration": scale.said if scale else "", "calibrates": calibrates,
    }  # fmt: skip
    return Told(figure, told.channel, levels(_rows(told)), (*told.warnings, *notes), values)


def _rows(told: Analysis) -> Iterable[tuple[str, float, float | None, str]]:
    def row(name: str, hertz: float, level: Level) -> tuple[str, float, float | None, str]:
        return name, hertz, level.dbfs, level.bound

    if told.tone is not None:
        yield row(names.TONE, told.tone.hertz, told.tone.level)
    for family, lines in ((names.HARMONIC, told.harmonics), (names.MAINS, told.hum), (names.OTHER, told.others)):
        for number, line in enumerate(lines, 1):
            yield row(f"{family} {line.order or number}", line.hertz, line.level)
    for other in told.crosstalk:
        yield row(f"{names.CHANNEL} {other.channel}", told.tone.hertz if told.tone else nan, other.level)
    sums = {
        names.TOTAL: told.total, names.THD: told.thd, names.THD_N: told.thd_n, names.NOISE: told.noise,
        names.HUM: told.hum_sum, names.HUM_NOISE: told.hum_and_noise,
    }  # fmt: skip
    for name, level in sums.items():
        if level is not None:
            yield row(name, nan, level)
