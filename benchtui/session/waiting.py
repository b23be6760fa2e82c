"""The wait between the two rounds: what a reservoir falls to meanwhile as computed, and what a reading in it tells."""

from __future__ import annotations

from math import exp, isfinite, log

from benchtui.procedure.plan import Reservoir, wait_s
from benchtui.session import figures
from benchtui.session.bench import Bench
from benchtui.session.tables import table
from benchtui.session.view import Banner, Course

#: A fall from less than this is none that a meter would show.
_LEAST_V = 0.1

#: Points of the curve.
_POINTS = 31


def fall(bench: Bench) -> Course | None:
    """The computed fall of the reservoir under the meter, from its reading in round 1; None where none is known."""
    reservoir, begin_v = bench.reservoir(bench.ask.subject), bench.notebook.round_1.get(bench.ask.subject)
    if reservoir is None or begin_v is None or abs(begin_v) < _LEAST_V:
        return None
    tau_s = _time_constant_s(reservoir, bench.plan.settings.threshold_v)
    if tau_s is None:
        return None
    whole_s = wait_s(bench.plan, bench.phase)
    times_s = tuple(whole_s * k / (_POINTS - 1) for k in range(_POINTS))
    caption = table("words")["wait"]["caption"].format(name=reservoir.name, begin=figures.volts(begin_v))
    values = tuple(abs(begin_v) * exp(-t / tau_s) for t in times_s)
    return Course(caption, "V", times_s, values, bench.state.gate.wait_s, None)


def noted(bench: Bench, id: str, value_v: float) -> Banner:
    """What is said of `value_v`, under the threshold, read at reservoir `id` in the wait; `bench` is before it."""
    words, begin_v = table("words")["wait"], bench.notebook.round_1.get(id)
    if begin_v is not None and abs(value_v) > abs(begin_v) + _LEAST_V:
        told = words["risen"].format(value=figures.volts(value_v), begin=figures.volts(begin_v))
        return Banner("info", told, (words["risen_why"],))
    return Banner("info", words["noted"].format(value=figures.volts(value_v)))


def _time_constant_s(reservoir: Reservoir, threshold_v: float) -> float | None:
    """Seconds to fall to 1/e with cold valves, by the computed fall to the threshold; None without a bleeder."""
    if not reservoir.bled or not isfinite(reservoir.slowest_s) or not isfinite(reservoir.highest_v):
        return None
    falls = log(max(reservoir.highest_v / threshold_v, 1.0))
    return reservoir.slowest_s / falls if falls > 0.0 and reservoir.slowest_s > 0.0 else None
