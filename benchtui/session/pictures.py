"""Plots of what the forecast computes and the record holds: load lines, and how reservoirs empty."""

from __future__ import annotations

from collections.abc import Mapping
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

_MILLI = 1e3


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
