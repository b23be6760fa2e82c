"""Plots of what the forecast computes and the record holds: load lines, and how reservoirs empty."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from benchtui.buildfile.models import Build
from benchtui.plots.model import Axis, Band, Mark, Plot, Series
from benchtui.plots.ticks import round_up
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

if TYPE_CHECKING:
    from benchtui.circuit.discharge import Decay
    from benchtui.forecast.loadline import LoadLines

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
    if lines.rated_w is not None:
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


def decay_plot(build: Build, decay: Decay, names: Mapping[str, str], threshold_v: float) -> Plot:
    """How the capacitors of `decay` (one build) empty after switch-off; `names` are those to be drawn, with words."""
    drawn = [(name, decay.names.index(name)) for name in names if name in decay.names]
    ends = [float(s) for s in decay.seconds_to(threshold_v)[0, [k for _, k in drawn]] if 0.0 < s < float("inf")]
    end_s = round_up(1.25 * max(ends, default=60.0))
    times = [end_s * k / 150 for k in range(151)]
    volts = {name: [abs(float(decay.volts_at(t)[0, k])) for t in times] for name, k in drawn}
    top = max((v for run in volts.values() for v in run), default=1.0)
    series = tuple(
        Series(names[name], "computed", tuple(zip(times, run, strict=True)), "abcdefghijk"[k % 11], name)
        for k, (name, run) in enumerate(volts.items())
    )
    return Plot(
        "After switch-off at the highest mains, valves cold, fuses and switches open",
        Axis("after switch-off", "s", 0.0, end_s),
        Axis("across it", "V", 0.0, round_up(top)),
        series,
        bands=(
            Band(
                f"{show(threshold_v, Unit.VOLT)}, under which it counts as discharged",
                "computed",
                threshold_v,
                threshold_v,
            ),
        ),
        notes=("Computed falls say when it is not before. Only a reading says that a capacitor is discharged.",),
    )
