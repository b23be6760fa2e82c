"""The figures of captures in words, for 80 columns."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from textwrap import wrap

from benchtui.cli.caution import SOUND_CAUTION
from benchtui.quantities.show import fine_percent, show
from benchtui.quantities.units import Unit
from benchtui.sound.calibration import Calibration
from benchtui.sound.figures import Analysis, Level, Line, Tone
from benchtui.sound.hum import pointer
from benchtui.sound.response import Response
from benchtui.sound.square import Square

_WIDTH = 80

UNCALIBRATED = (
    "Not calibrated: levels are dBFS, decibels below the largest sine that the converter takes, and per cent. Volts "
    "need a meter: capture a sine, read its volts at the load, and give them: --volts 2.83."
)


def caution_lines() -> list[str]:
    """The caution under every text."""
    return wrap(SOUND_CAUTION, _WIDTH)


def paragraph(text: str, indent: str = "") -> list[str]:
    """`text` over as many lines as it needs."""
    return wrap(text, _WIDTH, initial_indent=indent, subsequent_indent=indent)


def analysis_lines(told: Analysis) -> list[str]:
    """The figures of one capture: what it is, figure, what it means."""
    return [*_tone_lines(told), *_noise_lines(told), *_hum_lines(told), *_other_lines(told), *_floor_lines(told)]


def scale_lines(scale: Calibration | None) -> list[str]:
    """What the levels count from."""
    if scale is None:
        return paragraph(UNCALIBRATED)
    full = show(scale.volts_full_scale, Unit.VOLT, 4)
    return paragraph(f"A sine that fills the range is {full} rms, by a meter at {scale.tone_hz:.0f} Hz.")


def square_lines(square: Square) -> list[str]:
    """The figures of a square wave."""
    rise = f"{'at most ' if square.rise_limited else ''}{show(square.rise_s, Unit.SECOND, 3)}"
    low = "tops do not sag" if square.low_hz is None else f"as one corner at {show(square.low_hz, Unit.HERTZ, 3)} does"
    return [
        _row("square wave", show(square.hertz, Unit.HERTZ, 5), f"{square.overshoot_percent:.1f} % overshoot"),
        *paragraph("Overshoot is of the whole step. Beyond 20 % the feedback is near to oscillating.", "    "),
        _row("droop", f"{square.droop_percent:.1f} %", low),
        _row("rise time", rise, f"10-90 %, as one corner at {show(square.high_hz, Unit.HERTZ, 3)}"),
        *paragraph(
            "The converter's own filter rings by up to 9 % and rises in two samples; its input sags as well. Capture "
            "the generator alone once: what it shows there is not the amplifier's.", "    ",
        ),
    ]  # fmt: skip


def response_lines(told: Response) -> list[str]:
    """Level against frequency, and the corners."""
    rows = [f"    {point.hertz:>10.1f} Hz  {point.db:>+7.2f} dB  {point.dbfs:>8.2f} dBFS" for point in told.points]
    return [
        f"response, against {told.middle_hz:.1f} Hz", *rows,
        _row("-3 dB, low", _corner(told.low_hz), "where half the power is left"),
        _row("-3 dB, high", _corner(told.high_hz), "by straight lines between captures"),
        *paragraph("It holds if the input had the same level at each frequency.", "    "),
    ]  # fmt: skip


def _corner(hertz: float | None) -> str:
    return "not among these" if hertz is None else show(hertz, Unit.HERTZ, 3)


def _tone_lines(told: Analysis) -> Iterator[str]:
    if told.tone is None:
        yield _row("level", _plain(told.total), "all that moves; no tone")
        return
    yield _row("tone", f"{told.tone.hertz:.3f} Hz", _plain(told.tone.level))
    yield from _offset(told.tone)
    if told.thd is None:
        yield _row("distortion", "not told", f"no harmonic lies below {_hertz(told.high_hz)}")
    else:
        yield _row("distortion", _ratio(told.thd), f"THD, harmonics below {_hertz(told.high_hz)}")
    yield from _line_rows(told.harmonics, lambda order: f"{order}{_ending(order)} harmonic")
    band = f"{_hertz(told.low_hz)} to {_hertz(told.high_hz)}"
    if told.thd_n is not None:
        yield _row("THD+N", _ratio(told.thd_n), f"all but the tone, {band}")
        yield _row("SINAD", f"{told.sinad_db:.2f} dB", "the tone over all else in the band")
    for other in told.crosstalk:
        yield _row("crosstalk", _crosstalk(other.level), f"the tone in channel {other.channel}")


def _offset(tone: Tone) -> Iterator[str]:
    yield f"    phase {tone.phase_deg:.2f} deg, offset {100 * tone.offset:.3f} % of full scale"
    if tone.residual_dbfs is not None:
        yield f"    all but this sine, up to half the rate: {tone.residual_dbfs:.2f} dBFS"


def _noise_lines(told: Analysis) -> Iterator[str]:
    band = f"{_hertz(told.low_hz)} to {_hertz(told.high_hz)}"
    yield _row("noise", _plain(told.noise), f"without hum, {band}")
    yield _row("hum and noise", _plain(told.hum_and_noise), "both together")


def _hum_lines(told: Analysis) -> Iterator[str]:
    found = "mains found at" if told.mains_found else "no mains line found, taken as"
    yield _row("hum", _plain(told.hum_sum), f"{found} {told.mains_hz:.3f} Hz")
    yield from _line_rows(told.hum, lambda order: f"{order} times mains")
    yield from _pointers([line for line in told.hum if line.level.bound in ("", "hum")])


def _pointers(clear: list[Line]) -> Iterator[str]:
    """What the clear lines of hum point to, the strongest kind first."""
    strongest = sorted(clear, key=lambda line: -(line.level.dbfs or -999.0))
    said = set()
    for line in strongest:
        words = pointer(line.order)
        if words not in said and (line.level.dbfs or 0) > (strongest[0].level.dbfs or 0) - 20:
            yield from paragraph(f"{line.order} times mains points to {words.points_to}. Next: {words.next}.", "    ")
        said.add(words)
    if said:
        yield from paragraph("Whatever is moved or changed for it, the plug is out first, and the gate comes.", "    ")


def _other_lines(told: Analysis) -> Iterator[str]:
    if told.others:
        yield "other lines, counted as noise"
        for line in told.others:
            yield _line_row(line, "")


def _floor_lines(told: Analysis) -> Iterator[str]:
    if told.floor_dbfs is None:
        yield from paragraph("The converter's floor is not known: capture it with the input shorted, --floor FILE.")
        return
    by = "input shorted" if told.floor_from == "capture" else "by its bits alone"
    yield _row("floor", f"{told.floor_dbfs:.2f} dBFS", f"the converter's, {by}")
    if told.floor_from == "bits":
        yield from paragraph(
            "No converter is as good as its bits: capture it with the input shorted, --floor FILE.", "    "
        )


def _row(name: str, figure: str, words: str) -> str:
    row = f"{name:<14}{figure:<28}  {words}".rstrip()
    return row if len(row) <= _WIDTH else f"{name:<14}{figure}\n{'':14}{words}"


def _line_rows(lines: Sequence[Line], name: Callable[[int], str]) -> Iterator[str]:
    """A row a line that stands out, and one for all that don't."""
    for line in lines:
        if line.level.bound not in ("noise", "floor"):
            yield _line_row(line, name(line.order))
    for bound, words in (("noise", "in the noise"), ("floor", "at the floor")):
        faint = [line for line in lines if line.level.bound == bound]
        if faint:
            largest = max(faint, key=lambda line: line.level.dbfs or -999.0).level
            orders = _orders([line.order for line in faint])
            yield f"    {orders}: {words}, each at most {_figures(largest)}"


def _orders(orders: list[int]) -> str:
    """Such as `4, 6 to 10`."""
    runs: list[list[int]] = []
    for order in orders:
        if runs and order == runs[-1][-1] + 1:
            runs[-1].append(order)
        else:
            runs.append([order])
    return ", ".join(
        f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(str(order) for order in run) for run in runs
    )


def _figures(level: Level) -> str:
    """A line's level against the tone and in volts, or else in dBFS."""
    volts = [] if level.volts is None else [f"{show(level.volts, Unit.VOLT, 3)}"]
    if level.dbc is not None:
        return "  ".join([f"{level.dbc:.2f} dBc  {_percent(level.percent)}", *volts])
    return "  ".join([*volts, "nothing" if level.dbfs is None else f"{level.dbfs:.2f} dBFS"])


def _line_row(line: Line, name: str) -> str:
    level = line.level
    if level.bound == "hidden":
        return f"    {name:<14}{line.hertz:>10.2f} Hz  covered by another line"
    note = "  with hum in it" if level.bound == "hum" else ""
    return f"    {name:<14}{line.hertz:>10.2f} Hz   {_figures(level)}{note}"


def _plain(level: Level) -> str:
    """A level in volts, if there are volts, and dBFS."""
    if level.dbfs is None:
        return "covered by other lines" if level.bound == "hidden" else "nothing at all"
    volts = "" if level.volts is None else f"{show(level.volts, Unit.VOLT, 4)} "
    return f"{_most(level)}{volts}{level.dbfs:.2f} dBFS"


def _ratio(level: Level) -> str:
    return "nothing at all" if level.dbc is None else f"{_most(level)}{_percent(level.percent)} {level.dbc:.2f} dB"


def _crosstalk(level: Level) -> str:
    return "nothing at all" if level.dbc is None else f"{_most(level)}{level.dbc:.2f} dB"


def _most(level: Level) -> str:
    return "at most " if level.bound in ("noise", "floor") else ""


def _percent(percent: float | None) -> str:
    return "" if percent is None else fine_percent(percent)


def bounds_told(told: Analysis) -> list[str]:
    """What the marks mean that stand in the figures."""
    levels = [line.level for line in (*told.harmonics, *told.hum)]
    levels += [told.noise, told.hum_and_noise, *(each for each in (told.thd, told.thd_n) if each)]
    levels += [each.level for each in told.crosstalk]
    bounds = {level.bound for level in levels}
    words = {
        "noise": "In the noise: not above the noise around it, so at most this. A longer capture tells more.",
        "floor": "At the converter's floor: within 6 dB of it, so the amplifier is at most this.",
        "hum": "With hum in it: a mains line falls onto it. Another frequency of the tone keeps them apart.",
    }
    return [line for bound, text in words.items() if bound in bounds for line in paragraph(text)]


def _ending(order: int) -> str:
    return {2: "nd", 3: "rd"}.get(order, "th")


def _hertz(hertz: float) -> str:
    return show(hertz, Unit.HERTZ)
