"""Plots of what the forecast computes and the record holds: load lines, responses, and how reservoirs empty."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite
from typing import TYPE_CHECKING

from benchtui.buildfile.models import Build
from benchtui.plots.model import Axis, Band, Mark, Plot, Series
from benchtui.plots.ticks import round_up
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

if TYPE_CHECKING:
    from benchtui.forecast.loadline import LoadLines
    from benchtui.forecast.results import GateForecast
    from benchtui.forecast.signal_path import SignalPath

_MILLI = 1e3

#: How far down a response is drawn, in decibels.
_DEPTH_DB = 24.0


def node_volts(build: Build, read: Iterable[tuple[str, float]]) -> dict[str, float]:
    """Node = direct volts to chassis, from what points read."""
    points = ((build.point[id], value) for id, value in read if id in build.point)
    return {point.red: value for point, value in points if point.quantity == "dc" and point.black == "0"}


def corners_hz(path: SignalPath, read: Mapping[str, float]) -> tuple[float, ...]:
    """The corners of a channel among what points read last, the low one first."""
    from benchtui.forecast.signal_points import point_id

    ids = (point_id(what, path) for what in ("low corner", "high corner"))
    return tuple(read[id] for id in ids if id in read)


def load_plot(build: Build, stage: str, section: str, volts: Mapping[str, float] | None = None) -> Plot:
    """Load lines of a valve section in a stage; `volts` (node = volts to chassis as read) add the measured point.

    Raises KeyError where the section carries no current there, ValueError where the stage does not settle.
    """
    from benchtui.forecast.loadline import load_lines, measured_point

    lines = load_lines(build, stage, section)
    marks = [Mark("operating point", "computed", lines.point.volts, lines.point.amps * _MILLI, "O")]
    notes = [_rest(lines)]
    found = measured_point(build, lines, volts or {})
    if found is not None:
        read, part = found
        marks.append(Mark("operating point", "measured", read.volts, read.amps * _MILLI, "M"))
        watts = show(read.volts * read.amps, Unit.WATT, 3, ascii=True)
        notes.append(
            f"Measured: {show(read.volts, Unit.VOLT, 3)} and {show(read.amps, Unit.AMPERE, 3)}, {watts}; the current "
            f"by the drop across {part}."
        )
    return Plot(
        f"{section} ({lines.type}) in stage {stage}, {lines.mains_v:g} V mains",
        Axis("anode to cathode", "V", 0.0, round_up(lines.top.volts)),
        Axis("anode current", "mA", 0.0, round_up(lines.top.amps * _MILLI)),
        (*_curves(lines), *_lines(lines)),
        tuple(marks),
        notes=(*notes, *_loads(lines)),
    )


def _curves(lines: LoadLines) -> list[Series]:
    name = "anode current at the grid volts named"
    return [
        Series(name, "computed", _milli(zip(curve.volts, curve.amps, strict=True)), ".", f"{curve.grid_v:g} V")
        for curve in lines.curves
    ]


def _lines(lines: LoadLines) -> list[Series]:
    """The dissipation hyperbola, the rated anode volts, and both load lines, on top of one another in this order."""
    found, top = [], round_up(lines.top.amps * _MILLI)
    reach = round_up(lines.top.volts)
    if lines.rated_w is not None and lines.rated_w < reach * top / _MILLI:
        volts = [reach * (k + 1) / 80 for k in range(80)]
        bent = tuple((v, lines.rated_w / v * _MILLI) for v in volts if lines.rated_w / v * _MILLI <= top)
        found.append(
            Series(f"{show(lines.rated_w, Unit.WATT)} of anode dissipation", "rating", bent, ":", style="dotted")
        )
    if lines.rated_v is not None and lines.rated_v < reach:
        edge = ((lines.rated_v, 0.0), (lines.rated_v, top))
        found.append(Series(f"{show(lines.rated_v, Unit.VOLT)} on the anode", "rating", edge, "!", style="dotted"))
    for name, ohm, sign, style in (
        ("load line for direct current", lines.steady_ohm, "d", "dashed"),
        ("load line for signals", lines.signal_ohm, "s", "solid"),
    ):
        at = lines.point
        ends = ((0.0, (at.amps + at.volts / ohm) * _MILLI), (at.volts + at.amps * ohm, 0.0))
        found.append(Series(name, "computed", ends, sign, style=style, weight="bold"))  # type: ignore[arg-type]
    return found


def _milli(points: object) -> tuple[tuple[float, float], ...]:
    return tuple((x, y * _MILLI) for x, y in points)  # type: ignore[attr-defined]


def _rest(lines: LoadLines) -> str:
    at = lines.point
    watts = show(at.volts * at.amps, Unit.WATT, 3)
    share = f" of {show(lines.rated_w, Unit.WATT)}" if lines.rated_w is not None else ""
    screen = f", screen {show(lines.screen_v, Unit.VOLT, 3)}" if lines.screen_v is not None else ""
    return (
        f"Computed: {show(at.volts, Unit.VOLT, 3)} and {show(at.amps, Unit.AMPERE, 3)}, grid "
        f"{show(lines.grid_v, Unit.VOLT, 3)}{screen}, all to the cathode; {watts}{share} on the anode."
    )


def _loads(lines: LoadLines) -> list[str]:
    steady, signal = (show(ohm, Unit.OHM, 3) for ohm in (lines.steady_ohm, lines.signal_ohm))
    notes = [
        f"The loads are the whole circuit's: {steady} for direct current, {signal} for signals at 1 kHz (computed)."
    ]
    if lines.opposite:
        notes.append(f"Push-pull with {', '.join(lines.opposite)}, both conducting: where one has cut off, it is half.")
    if lines.screen_share > 0.02:
        notes.append(f"In the curves the screen follows the anode by {100 * lines.screen_share:.0f} %.")
    elif lines.screen_v is not None:
        notes.append("In the curves the screen stays where it stands at rest.")
    return notes


def emptying_plot(build: Build, gate: GateForecast) -> Plot | None:
    """How the reservoirs of `gate` empty after switch-off; None where nothing is charged."""
    from benchtui.forecast.emptying import emptying

    seconds = [each.slowest_s for each in gate.reservoirs if isfinite(each.slowest_s) and each.slowest_s > 0.0]
    end_s = round_up(1.25 * max(seconds, default=60.0))
    found = emptying(build, gate, end_s)
    if found is None:
        return None
    parts = {each.id: " ".join(each.parts) for each in gate.reservoirs}
    series = tuple(
        Series(parts[id], "computed", tuple(zip(found.times_s, run, strict=True)), _SIGNS[k % len(_SIGNS)], id)
        for k, (id, run) in enumerate(found.volts.items())
    )
    level = found.threshold_v
    under = Band(f"{show(level, Unit.VOLT)}, under which it counts as discharged", "computed", level, level)
    top = max(volts for run in found.volts.values() for volts in run)
    return Plot(
        "After switch-off at the highest mains, valves cold, fuses and switches open",
        Axis("after switch-off", "s", 0.0, end_s),
        Axis("across it", "V", 0.0, round_up(top) if top > 0.0 else 1.0),
        series,
        bands=(under,),
        notes=("A computed fall says when it is not before. Only a reading says that a capacitor is discharged.",),
    )


_SIGNS = "abcdefghijk"


def response_plot(
    build: Build, path: SignalPath, corners_hz: Sequence[float] = (), levels: Sequence[tuple[float, float]] = ()
) -> Plot:
    """The response of a channel with its feedback closed; `corners_hz` are the corners as read.

    `levels` are (Hz, dB against the test tone) of captures.
    Raises ValueError where it cannot be computed.
    """
    from benchtui.forecast.response import SPAN_HZ, channel_response
    from benchtui.sound.response import CORNER_DB

    found = channel_response(build, path)
    low, high = (bool(isfinite(hz)) for hz in (found.low_hz, found.high_hz))
    corners = " and ".join(
        [show(found.low_hz, Unit.HERTZ, 3)] * low + [show(found.high_hz, Unit.HERTZ, 3)] * high
    )  # fmt: skip
    marks = [Mark("corner, 3 dB down", "measured", hz, -CORNER_DB, "M") for hz in corners_hz]
    notes = [f"Computed: 3 dB down at {corners}." if corners else "Computed: nowhere 3 dB down."]
    marks += [Mark("level of a capture", "measured", hz, db, "c") for hz, db in levels]
    notes += [_heard(corners_hz, levels), *_too_good(build, path)]
    channel = f" {build.channels[path.channel]}" if path.channel in build.channels else ""
    return Plot(
        f"Response{channel} from {path.input} to {path.load}, feedback {'closed' if path.feedback else 'not fitted'}, "
        f"{build.mains.volts:g} V mains",
        Axis("frequency", "Hz", *SPAN_HZ, log=True),
        Axis(f"against {found.tone_hz:g} Hz", "dB", -_DEPTH_DB, round_up(max(6.0, *found.db))),
        (Series("load volts for the same input volts", "computed", tuple(zip(found.hz, found.db, strict=True)), "."),),
        tuple(marks),
        (Band("3 dB down", "computed", -CORNER_DB, -CORNER_DB),),
        tuple(notes),
    )


def _heard(corners_hz: Sequence[float], levels: Sequence[tuple[float, float]]) -> str:
    told = [f"3 dB down at {' and '.join(show(hz, Unit.HERTZ, 3) for hz in corners_hz)}"] if corners_hz else []
    told += [f"{len(levels)} levels by captures"] if levels else []
    return f"Measured: {'; '.join(told)}." if told else "Nothing of it was measured."


def _too_good(build: Build, path: SignalPath) -> list[str]:
    """What the build file does not tell, so that the upper end is computed better than it is."""
    part = build.output_transformer[path.transformer]
    lacks = " or ".join(["leakage"] * (not part.leakage) + ["capacitance"] * (not part.capacitance))
    said = f"The build file tells no {lacks} of {path.transformer}: the upper end is lower than computed."
    return [said] if lacks else []
